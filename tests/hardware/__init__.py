"""Tests of what hardware/ says: netlists and numbers."""
