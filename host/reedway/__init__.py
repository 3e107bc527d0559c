"""Reedway: plan, check, build, replay and record an automatic model railway that a small board runs."""

__version__ = "0.1.0"
