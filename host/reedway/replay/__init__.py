"""What would the logic have done? Recorded inputs through the rules again, on CPython and MicroPython."""

from reedway.resources import use_firmware

use_firmware()
