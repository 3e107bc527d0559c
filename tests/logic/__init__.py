"""Tests of the ring that decides, on CPython and on MicroPython."""
