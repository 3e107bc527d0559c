"""Shipped layouts with one thing changed, and what the shipped sessions come to with them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from examples.make_sessions import CONFIG
from reedway.replay.session import open_session

NAMES = (
    "coil-protector",
    "sensor-logger",
    "two-trains",
    "three-trains-go-sensor",
    "three-trains-interlocked",
    "three-trains-pairs",
    "three-trains-running-times",
)
LAYOUTS = [CONFIG / f"{name}.yaml" for name in NAMES]
SESSIONS = sorted(path for name in NAMES for path in (CONFIG / "sessions").glob(f"{name}_*.jsonl"))


def layout_of(session: Path) -> Path:
    return CONFIG / f"{session.name.split('_')[0]}.yaml"


def sessions_of(layout: Path) -> list[Path]:
    return [session for session in SESSIONS if layout_of(session) == layout]


@dataclass(frozen=True)
class Change:
    """One change of a layout file."""

    what: str
    source: str


def without_each_rule(layout: Path) -> Iterator[Change]:
    """The file without its first rule, without its second, ..."""
    source = layout.read_text(encoding="utf-8")
    head, found, rest = source.partition("\nrules:\n")
    if not found:
        return
    rules, tail = re.split(r"^(?=\S)", rest + "#", maxsplit=1, flags=re.M)
    starts = [m.start() for m in re.finditer(r"^  - ", rules, re.M)]
    for start, end in zip(starts, [*starts[1:], len(rules)], strict=True):
        changed = head + found + rules[:start] + rules[end:] + tail
        line = source.count("\n", 0, len(head) + len(found) + start) + 1
        yield Change(f"{layout.name} without the rule on line {line}", changed)


def with_other_times(layout: Path) -> Iterator[Change]:
    """The file with another confirm time, and another pulse where there is one."""
    source = layout.read_text(encoding="utf-8")
    for key, old, new in (("confirm", "5 ms", "7 ms"), ("pulse", "80 ms", "70 ms")):
        line = f"\n  {key}: {old}"
        if line in source:
            yield Change(f"{layout.name} with {key}: {new}", source.replace(line, f"\n  {key}: {new}", 1))


def records(session: Path, layout: Path, machine: str, folder: Path) -> list[str]:
    """The records of a session replayed with a layout, one line each."""
    to = folder / f"{machine}.jsonl"
    with open_session(session, str(layout)) as opened:
        opened.replay(machine, to)
    return to.read_text(encoding="utf-8").splitlines()[1:]
