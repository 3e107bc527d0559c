"""Puts a layout and the firmware on a board, and brings the layout file back from one."""

from reedway.resources import use_firmware

use_firmware()
