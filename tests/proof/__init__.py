"""Tests of the proof of a layout."""
