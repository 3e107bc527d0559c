"""Goes round the layout with the owner: every wire tried, one at a time, and what was seen kept."""

from reedway.resources import use_firmware

use_firmware()
