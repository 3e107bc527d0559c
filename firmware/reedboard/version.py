"""The version of the firmware."""

VERSION = b"0.1.0"
