"""Runs one command of the replay folder as the command line does."""

from __future__ import annotations

import argparse

from reedway.problems import ReedwayError
from reedway.replay.commands import register


def run(*argv: object) -> tuple[int, str]:
    """Exit code, and the one line of an error where there is one."""
    parser = argparse.ArgumentParser()
    register(parser.add_subparsers())
    args = parser.parse_args([str(arg) for arg in argv])
    try:
        return int(args.run(args)), ""
    except ReedwayError as problem:
        return 1, str(problem)
