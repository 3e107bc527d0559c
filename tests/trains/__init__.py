"""Tests of trains: how they move, where they stand, what `plan` says."""
