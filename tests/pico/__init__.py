"""Tests of a real MicroPython image in an emulated RP2040."""
