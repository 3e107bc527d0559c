"""Tests of replay, comparison and demo."""
