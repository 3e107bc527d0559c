"""Will coils, supplies, wires and magnets do it? Arithmetic with published constants."""

from reedway.resources import use_firmware

use_firmware()
