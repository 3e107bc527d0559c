"""The demo: six invented minutes replayed on both interpreters, shown, counted and compared."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from textwrap import wrap

from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load, load_bytes
from reedway.problems import LayoutError, ReedwayError
from reedway.replay.compare import Sameness, compare_files
from reedway.replay.film import screen_of, show
from reedway.replay.machines import HOST, MICROPYTHON, find_micropython
from reedway.replay.outcome import identical
from reedway.replay.picture import WIDTH, Live, Picture
from reedway.replay.session import open_session
from reedway.report.figures import figures, read_session
from reedway.report.text import relay_lines, strip_lines
from reedway.resources import config_folder
from reedway.sessionlog.reader import LogReader
from reedway.sessionlog.tell import Teller

LAYOUT = "three-trains-go-sensor"
FILM_S = 18.0
SLIP = (b"rearm: 2 s", b"rearm: 2")  # what the bad file of the demo has in place of what is right
NEXT = """\
What to type next:
  reedway new two-trains my.yaml        a commented layout file to start from
  reedway check my.yaml                 mistakes with their lines
  reedway replay LOG --layout my.yaml --compare
                                        what a change would have done
  reedway report LOG                    what happened in a session"""

Both = tuple[Path, Path | None]
Tamper = Callable[[Both], None]


def demo_files() -> tuple[Path, Path]:
    """Layout and session of the demo."""
    config = config_folder()
    return config / f"{LAYOUT}.yaml", config / "sessions" / f"{LAYOUT}_demo.jsonl"


def write_both(folder: Path) -> Both:
    """Replay the demo's session on the host and, where there is one, on MicroPython."""
    layout, log = demo_files()
    with open_session(log, str(layout)) as session:
        host = session.replay(HOST, folder / f"{HOST}.jsonl")
        if find_micropython() is None:
            return host, None
        return host, session.replay(MICROPYTHON, folder / f"{MICROPYTHON}.jsonl")


def compare_folder(folder: Path) -> Sameness:
    """Compare the two files that a demo left in a folder."""
    return compare_files(folder / f"{HOST}.jsonl", folder / f"{MICROPYTHON}.jsonl")


def conclude(sameness: Sameness) -> int:
    """Say where two files differ, and last how many records are identical; the exit code."""
    if not sameness.same:
        print(f"MicroPython and CPython differ: {sameness.where}")
    print(identical(sameness))
    return int(not sameness.same)


def run_demo(folder: Path, tamper: Tamper | None = None) -> int:
    """The whole demo; its files go into the folder. `tamper`, for tests, gets them before the comparison."""
    layout_path, _ = demo_files()
    print("Reedway demo: six invented minutes of three trains on the Lindholt Valley line.")
    print("The recorded contacts go through the rules of the layout file once more.\n")
    both = write_both(folder)
    host, micropython = both
    _show(layout_path, host)
    _tell(host)
    _bad_file(layout_path)
    print(f"\n{NEXT}\n")
    if micropython is None:
        records = sum(1 for _ in LogReader(host))
        print("There is no MicroPython for this machine, so this was the host half only:")
        print(f"{records:,} records made by CPython, compared with nothing")
        return 0
    if tamper is not None:
        tamper(both)
    return conclude(compare_files(host, micropython))


def _show(layout_path: Path, records: Path) -> None:
    layout = load(str(layout_path))
    teller = Teller(compile_layout(layout).names)
    screen = screen_of(sys.stdout)
    reader = LogReader(records)
    lines = [line for line in reader if line.t >= 0]
    if lines:
        live = Live(layout, teller)
        show(lines, reader.header, Picture(layout, screen.colours), live, screen, FILM_S)


def _tell(records: Path) -> None:
    """The strip over time, and what relays would have done."""
    session = read_session(str(records))
    print("\nThe six minutes at a glance (reedway report):")
    for line in strip_lines(session.tally, session.header):
        print(line)
    for line in relay_lines(figures(session)["relays"]):
        print(line)


def _bad_file(layout_path: Path) -> None:
    """What a slip in a layout file looks like."""
    source = layout_path.read_bytes()
    right, wrong = (text.decode() for text in SLIP)
    print(f'\nAnd when somebody writes "{wrong}" for "{right}":')
    try:
        load_bytes("my.yaml", source.replace(*SLIP, 1))
    except LayoutError as slip:
        for complaint in slip.complaints:
            print("\n".join(wrap(str(complaint), WIDTH, initial_indent="  ", subsequent_indent="      ")))
        return
    raise ReedwayError(f"the demo's slip was not found in {layout_path}")
