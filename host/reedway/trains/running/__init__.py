"""Trains on the track with the real controller in the loop: what `simulate` and `tune` run."""
