"""Tests of the board: firmware around the ring, and the host's end of the line."""
