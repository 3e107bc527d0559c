"""The file of one evening: its format, a streaming reader that complains in one line each, and a writer."""

from reedway.resources import use_firmware

use_firmware()
