"""The layout file: is it right, and what will it do?"""

from reedway.resources import use_firmware

use_firmware()
