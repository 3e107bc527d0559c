"""Tests of the track, its checks and the rules derived from it."""
