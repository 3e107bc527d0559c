"""Tests of the session log: format, reader, writer."""
