"""The command line: finds the command, runs it, and turns every error a user can cause into one line.

Each folder of commands has a module `commands.py` with

    QUESTION = "Is what I wrote right?"           # heading of its commands in the help
    def register(subparsers) -> None: ...         # add_parser(name, description=..., epilog=...)

Each parser says `set_defaults(run=function)`; `function(args) -> int` is the exit code. The first
sentence of the description is the command's line in `reedway --help`.
"""

from __future__ import annotations

import argparse
import importlib
import io
import os
import re
import sys
import textwrap
from collections.abc import Sequence

from reedway import __version__
from reedway.problems import ReedwayError

# In the order of the help. They are imported in main(), so that a Ctrl-C meanwhile is a Ctrl-C.
FOLDERS = ("layout", "boardfile", "replay", "electrics", "board", "report", "proof", "trains")

INTERRUPTED = 130  # what a shell reports for Ctrl-C
HELP_COLUMNS = 80
PIPE_CLOSED = 141  # ... and for a reader that went away

ABOUT = "Reedway runs an automatic model railway from one layout file and a small board."
EXAMPLES = """\
examples:
  reedway demo                           six minutes of trains in the terminal
  reedway new two-trains my.yaml         a commented layout file to start from
  reedway check my.yaml                  mistakes with lines, and the pins used
  reedway check --schema                 what may stand in a layout file
  reedway build my.yaml --out boards/my  the folder that goes on the board
  reedway replay evening.jsonl --layout my.yaml --compare
                                         what a change would have done
  reedway report evening.jsonl           what happened
  reedway COMMAND --help                 more about one command
"""


class _Formatter(argparse.RawDescriptionHelpFormatter):
    """Wraps a description, leaves the lines of the examples as they are."""

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        if "\n" in text:
            return super()._fill_text(text, width, indent)
        return textwrap.fill(text, width, initial_indent=indent, subsequent_indent=indent)


class _Overview(argparse.ArgumentParser):
    """The top parser: its help lists the commands by the question they answer."""

    groups: list[tuple[str, dict[str, argparse.ArgumentParser]]]

    def read(self, argv: Sequence[str]) -> argparse.Namespace:
        """The command line taken apart; a slip in a command or an option is told with what is near to it."""
        from reedway.layout.near import did_you_mean  # a folder of commands, so not at the top either

        commands = {name: parser for _, group in self.groups for name, parser in group.items()}
        if argv and not argv[0].startswith("-") and argv[0] not in commands:
            near = did_you_mean(argv[0], commands, "reedway --help lists the commands")
            self.error(f"there is no command '{argv[0]}'; {near}")
        args, left = self.parse_known_args(argv)
        if left:
            parser = commands.get(args.command, self)
            parser.error(_not_taken(left[0], parser))
        return args

    def format_help(self) -> str:
        lines = [f"usage: {self.prog} COMMAND ... | --help | --version", "", ABOUT]
        for question, commands in self.groups:
            lines += ["", question]
            for name, parser in commands.items():
                text = f"  {name:<12}{_first_sentence(parser)}"
                lines += textwrap.wrap(text, HELP_COLUMNS, subsequent_indent=" " * 14)
        return "\n".join(lines) + "\n\n" + EXAMPLES


def _not_taken(word: str, parser: argparse.ArgumentParser) -> str:
    """What is wrong with a word that is no argument of this command."""
    from reedway.layout.near import nearest_all

    if not word.startswith("-"):
        return f"'{word}' is one argument too many"
    options = {option.lstrip("-"): option for action in parser._actions for option in action.option_strings}
    near = nearest_all(word.split("=")[0].lstrip("-"), options)
    advice = (
        f"did you mean {' or '.join(options[one] for one in near)}?" if near else f"see {parser.prog} --help"
    )
    return f"there is no option '{word}'; {advice}"


def _first_sentence(parser: argparse.ArgumentParser) -> str:
    return re.split(r"(?<=[.?]) ", parser.description or "")[0].rstrip(".\n")


def build_parser() -> _Overview:
    """The whole command line, one group of commands a folder."""
    parser = _Overview(prog="reedway", description=ABOUT)
    parser.add_argument("--version", action="version", version=f"reedway {__version__}")
    subparsers = parser.add_subparsers(
        dest="command", metavar="COMMAND", parser_class=argparse.ArgumentParser
    )
    parser.groups = []
    for name in FOLDERS:
        folder = importlib.import_module(f"reedway.{name}.commands")
        before = set(subparsers.choices)
        folder.register(subparsers)
        added = {word: sub for word, sub in subparsers.choices.items() if word not in before}
        parser.groups.append((folder.QUESTION, added))
    for sub in subparsers.choices.values():
        sub.formatter_class = _Formatter
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is 0, 1 for what the user has to mend, 2 for a wrong command line."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal that lacks a letter shows ? and goes on
            stream.reconfigure(errors="replace")
    try:
        parser = build_parser()
        args = parser.read(sys.argv[1:] if argv is None else argv)
        if args.command is None:
            parser.print_help()
            return 0
        code = int(args.run(args))
        sys.stdout.flush()
    except ReedwayError as problem:
        print(problem, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        return _pipe_closed()
    return code


def _pipe_closed() -> int:
    """The reader has gone: what Python still wants to flush at exit goes nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    return PIPE_CLOSED
