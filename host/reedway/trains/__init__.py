"""Trains on the track: how they move, where they stand, and where sensors and gaps go for them."""

from reedway.resources import use_firmware

use_firmware()
