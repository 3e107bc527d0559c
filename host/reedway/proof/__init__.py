"""Can it ever go wrong? Every order of events, by the controller's own answers."""

from reedway.resources import use_firmware

use_firmware()
