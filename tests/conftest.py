"""Property-based tests choose the same cases in every run, and no test is judged by its time."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("suite", deadline=None, derandomize=True, database=None)
settings.load_profile("suite")
