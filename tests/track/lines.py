"""Small lines of our own, written as layout files: a siding of some tracks, then holding blocks in a row."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass
from functools import lru_cache
from unittest.mock import patch

from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes
from reedway.layout.model import Layout


@dataclass(frozen=True)
class Line:
    """What a line has. Trains stand first in the siding, then from the last holding block backwards."""

    tracks: int = 2
    holds: int = 2
    pairs: bool = True
    leaves: str = "take turns"
    contacts: bool = False
    detectors: bool = False
    trains: int = 2
    switch: bool = False  # track 2 in and out of service
    halt: int = 0  # number of the holding block that a switch takes out of service
    power_routing: bool = False

    def text(self) -> str:
        """The layout file."""
        lines = ["reedway: 1", "layout: Test line", "board: pico", "sensors:"]
        lines += self._sensors()
        if self.detectors:
            lines += [
                "detectors:",
                "  mill taken: {terminal: sensor 23}",
                "  home taken: {terminal: sensor 24}",
            ]
        if self.contacts:
            names = [f"{name} contact" for name in self._turnouts()]
            lines += ["contacts:", *(f"  {name}: {{terminal: sensor 2{i}}}" for i, name in enumerate(names))]
        if self.switch or self.halt:
            name = "second" if self.switch else "halt"
            lines += ["switches:", f"  {name}: {{terminal: panel 1, on: in service, off: out of service}}"]
        lines += ["turnouts:", *self._turnout_lines()]
        names = [*self._tracks(), *self._holds()]
        lines += ["blocks:", *(f"  B {n}: {{terminal: feed {i + 1}}}" for i, n in enumerate(names))]
        lines += ["track_feed: {terminal: track feed}"]
        lines += ["places:", *(f"  {n}: {{block: B {n}}}" for n in names)]
        lines += ["track:", *self._sections()]
        at = (self._tracks() + self._holds()[::-1])[: self.trains]
        lines += ["starts:", f"  all: {{trains: [{', '.join(at)}]}}"]
        return "\n".join(lines) + "\n"

    def _tracks(self) -> list[str]:
        return [f"track {i + 1}" for i in range(self.tracks)]

    def _holds(self) -> list[str]:
        return [f"hold {i + 1}" for i in range(self.holds)]

    def _turnouts(self) -> list[str]:
        return [f"{end} {i + 1}" for end in ("exit", "entry") for i in range(self.tracks - 1)]

    def _turnout_lines(self) -> list[str]:
        lines = []
        for i, name in enumerate(self._turnouts()):
            contact = f", contacts: {{B: {name} contact}}" if self.contacts else ""
            routing = ", power_routing: true" if self.power_routing and name.startswith("exit") else ""
            coils = f"[coil {2 * i + 1}, coil {2 * i + 2}]"
            lines.append(f"  {name}: {{positions: [A, B], coils: {coils}{contact}{routing}}}")
        return lines

    def _spots(self) -> list[tuple[str, str, str]]:
        """(section, sensor, what the train has left there)"""
        last_exit = f"exit {self.tracks - 1}" if self.tracks > 1 else "track 1"
        holds = self._holds()
        found = [("line", "N", last_exit)]
        found += [(hold, f"H{i + 2}", holds[i]) for i, hold in enumerate(holds[1:])]
        found.append(("home", "E", holds[-1]))
        for i, track in enumerate(self._tracks()):
            found.append((track, f"T{i + 1}", "entry 1" if i < 2 and self.tracks > 1 else self._into(i)))
        return found

    def _into(self, i: int) -> str:
        return f"entry {i}" if self.tracks > 1 else "home"

    def _sensors(self) -> list[str]:
        lines = []
        for i, (_, sensor, left) in enumerate(self._spots()):
            if self.pairs:
                lines.append(f"  {sensor}a: {{terminal: sensor {2 * i + 1}, tail_clear_of: {left}}}")
                second = f"terminal: sensor {2 * i + 2}, tail_clear_of: {left}, pair_with: {sensor}a"
                lines.append(f"  {sensor}b: {{{second}}}")
            else:
                lines.append(f"  {sensor}: {{terminal: sensor {i + 1}, tail_clear_of: {left}}}")
        return lines

    def _sections(self) -> list[str]:
        lies = {
            section: f", sensors: [{sensor}a, {sensor}b]" if self.pairs else f", sensors: {sensor}"
            for section, sensor, _ in self._spots()
        }
        tracks, holds = self._tracks(), self._holds()
        chain = ["line", *holds, "home"]
        lines = []
        for i, track in enumerate(tracks):
            to = "line" if self.tracks == 1 else f"exit {max(1, i)}"
            switch = ", used_while: second in service" if self.switch and i == 1 else ""
            lines.append(f"  {track}: {{to: {to}{lies[track]}, leaves: {self.leaves}{switch}}}")
        for i in range(1, self.tracks):
            before = "track 1" if i == 1 else f"exit {i - 1}"
            to = "line" if i == self.tracks - 1 else f"exit {i + 1}"
            lines.append(f"  exit {i}: {{from: [{before}, track {i + 1}], to: {to}}}")
            after = "track 1" if i == 1 else f"entry {i - 1}"
            lines.append(f"  entry {i}: {{to: [{after}, track {i + 1}]}}")
        for section, to in zip(chain, [*chain[1:], ""], strict=True):
            target = to or (f"entry {self.tracks - 1}" if self.tracks > 1 else "track 1")
            used = ", used_while: halt in service" if section == f"hold {self.halt}" else ""
            detector = ""
            if self.detectors and section in ("line", "home"):
                detector = f", detector: {'mill' if section == 'line' else 'home'} taken"
            lines.append(f"  {section}: {{to: {target}{lies.get(section, '')}{detector}{used}}}")
        return lines


def load_unwired(text: str) -> Layout:
    """The layout of a text whose pins do not matter."""
    with patch("reedway.layout.load.check_pins", lambda layout: []):
        return load_bytes("line.yaml", text.encode())


def compile_unwired(layout: Layout) -> Compiled:
    """Its rules, compiled."""
    with ExitStack() as stack:
        stack.enter_context(patch("reedway.boardfile.compile.check_pins", lambda layout: []))
        stack.enter_context(patch("reedway.boardfile.compile.pin_rows", lambda numbering: []))
        return compile_layout(layout)


@lru_cache(maxsize=200)
def compiled(line: Line | str) -> Compiled:
    """A line from its text to its rules; not to be changed by who gets it."""
    return compile_unwired(load_unwired(line if isinstance(line, str) else line.text()))
