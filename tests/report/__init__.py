"""Tests of the report: every figure against an independent count."""
