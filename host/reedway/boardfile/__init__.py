"""What goes on the board: sentences, compiler, pins, board folder."""

from reedway.resources import use_firmware

use_firmware()
