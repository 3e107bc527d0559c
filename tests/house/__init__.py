"""Tests of the source itself: rings, sizes, words."""
