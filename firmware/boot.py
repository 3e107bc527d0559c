"""Pins first; short, for main.py says why."""

import micropython

micropython.kbd_intr(-1)

from machine import Pin

for g in range(29):
    Pin(g, Pin.IN, Pin.PULL_DOWN)

import reedboard.pads
