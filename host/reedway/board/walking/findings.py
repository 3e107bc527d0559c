"""What the answers mean: what is proved, what is not, and which line or wire to change for each fault."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from typing import Any

from reedway.board.walking.answers import Answers, Seen
from reedway.board.walking.steps import FEED, INPUT, LAMP, REST, TRAIN, TURNOUT, Step
from reedway.boardfile.names import TRACK_FEED

NEITHER = "neither, or half-way"
NONE = "none"
SEVERAL = "more than one"


@dataclass(frozen=True)
class Finding:
    """One fault that stands."""

    about: str  # "sensor N1"
    what: str
    change: str
    lines: tuple[int, ...]  # of the layout file


@dataclass
class Outcome:
    """Where a walk stands."""

    path: str
    count: int = 0  # of all steps
    proved: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)  # not tried, or skipped
    findings: list[Finding] = field(default_factory=list)

    def to_json(self) -> dict[str, Any]:
        rows = [asdict(one) | {"file": self.path, "lines": list(one.lines)} for one in self.findings]
        return {"layout_file": self.path, "proved": self.proved, "not_proved": self.open, "findings": rows}

    def lines(self) -> list[str]:
        told = [f"proved: {len(self.proved)} of {self.count}" + _listed(self.proved)]
        if self.open:
            told.append(f"not tried yet: {len(self.open)}" + _listed(self.open))
        for one in self.findings:
            where = f"{self.path}:{one.lines[0]}: " if one.lines else ""
            told.append(f"{where}{one.about}: {one.what}; {one.change}")
        if not self.findings:
            whole = "no fault stands; every wire that this layout names is proved"
            told.append("no fault so far" if self.open else whole)
        return told


def _listed(names: list[str]) -> str:
    return f" ({', '.join(names)})" if names else ""


def outcome_of(path: str, steps: list[Step], answers: Answers) -> Outcome:
    """Every step as proved, open or at fault."""
    outcome = Outcome(path, len(steps))
    look = _Look(steps, answers)
    for step in steps:
        seen = answers.get(step)
        if seen is None:
            outcome.open.append(step.title)
            continue
        found = look.faults(step, seen)
        if found:
            outcome.findings += found
        elif step.key not in look.told:
            outcome.proved.append(step.title)
    return outcome


def faults_of(steps: list[Step], answers: Answers, step: Step) -> list[Finding]:
    """The faults of one step that was just tried; an exchange names both lines."""
    seen = answers.get(step)
    return [] if seen is None else _Look(steps, answers).faults(step, seen)


class _Look:
    """Reads one step's outcome beside those of the others; an exchange is told once, at the first."""

    def __init__(self, steps: list[Step], answers: Answers) -> None:
        self.steps = steps
        self.answers = answers
        self.told: set[str] = set()

    def faults(self, step: Step, seen: Seen) -> list[Finding]:
        if step.key in self.told:
            return []
        table: dict[str, Callable[[Step, Seen], list[Finding]]] = {
            REST: self._rest,
            INPUT: self._input,
            LAMP: self._lamp,
            TURNOUT: self._turnout,
            FEED: self._feed,
            TRAIN: self._train,
        }
        return table[step.kind](step, seen)

    def _named(self, kind: str, name: str) -> Step | None:
        return next((step for step in self.steps if (step.kind, step.name) == (kind, name)), None)

    def _exchanged(self, step: Step, other_name: str, what: str) -> Finding:
        """Another wire than the one asked for; when that other one answered with this one, both lines."""
        other = self._named(step.kind, other_name)
        if other is None:
            return Finding(step.title, what, "see which wire is at which terminal", (step.line,))
        change = f"write `terminal: {other.terminals[0]}` in line {step.line} ({step.name})"
        lines = [step.line]
        seen = self.answers.get(other)
        if seen is not None and seen.seen == [step.name]:
            self.told.add(other.key)
            change += f" and `terminal: {step.terminals[0]}` in line {other.line} ({other.name})"
            change += ", or exchange the two wires at the terminals"
            lines.append(other.line)
        else:
            change += f", or move the wire from {other.terminals[0]} to {step.terminals[0]}"
        return Finding(step.title, what, change, tuple(lines))

    # -- inputs -------------------------------------------------------------------------------------------

    def _rest(self, step: Step, seen: Seen) -> list[Finding]:
        found = []
        for name in seen.seen:
            one = self._named(INPUT, name)
            if one is not None:
                change = (
                    f"take the wire off {one.terminals[0]}: still closed means the board's side, open means "
                    "the wire or the reed; is a magnet left there?"
                )
                found.append(Finding(one.title, "closed with nothing there", change, (one.line,)))
        return found

    def _input(self, step: Step, seen: Seen) -> list[Finding]:
        terminal = step.terminals[0]
        if not seen.seen:
            change = (
                f"bridge {terminal} to ground with a bit of wire and try again: if it closes then, look at "
                "the reed, its magnet and the wire out there; if not, at the terminal and its input parts"
            )
            return [Finding(step.title, "nothing closed: dead", change, (step.line,))]
        if seen.seen == [step.name]:
            if seen.more.get("words") == "exchanged":
                change = f"exchange `on: {step.words[0]}` and `off: {step.words[1]}` in line {step.line}"
                return [Finding(step.title, "reads the wrong way round", change, (step.line,))]
            return []
        if step.name in seen.seen or len(seen.seen) > 1:
            others = ", ".join(name for name in seen.seen if name != step.name)
            change = "wires that touch or run side by side, or a magnet that reaches both; try again slowly"
            return [Finding(step.title, f"others closed as well: {others}", change, (step.line,))]
        return [self._exchanged(step, seen.seen[0], f"{seen.seen[0]} closed in its place")]

    # -- outputs ------------------------------------------------------------------------------------------

    def _lamp(self, step: Step, seen: Seen) -> list[Finding]:
        lit = seen.seen[0] if seen.seen else NONE
        if lit == step.name:
            return []
        if lit == NONE:
            change = f"look at the lamp, its resistor and the wire at {step.terminals[0]}"
            return [Finding(step.title, "stayed dark", change, (step.line,))]
        if lit == SEVERAL:
            change = "wires that touch at the registers"
            return [Finding(step.title, "more than one was lit", change, (step.line,))]
        return [self._exchanged(step, lit, f"{lit} was lit in its place")]

    def _turnout(self, step: Step, seen: Seen) -> list[Finding]:
        first, second = step.words
        lay = seen.seen
        if lay == [second, first]:
            coils = ", ".join(reversed(step.terminals))
            change = (
                f"write `coils: [{coils}]` in line {step.line}, or exchange the two wires of these terminals"
            )
            return [Finding(step.title, "moves the wrong way: its coils are exchanged", change, (step.line,))]
        for position, terminal, where in zip(step.words, step.terminals, lay, strict=True):
            if where == NEITHER:
                change = "a longer `pulse`, a stiff point motor, or a supply too weak (`reedway coils`)"
                return [
                    Finding(step.title, f"the pulse to {position} left it half-way", change, (step.line,))
                ]
            other = self._named(TURNOUT, where.removeprefix("moved: "))
            if other is not None:
                change = (
                    f"{terminal} goes to {other.name}: compare the coil terminals in lines {step.line} and "
                    f"{other.line}, or exchange the wires"
                )
                what = f"the pulse to {position} moved {other.name}"
                return [Finding(step.title, what, change, (step.line, other.line))]
            if where != position:
                change = (
                    f"the coil at {terminal} does nothing: look at its wire, its driver and the coil supply"
                )
                return [Finding(step.title, f"did not move to {position}", change, (step.line,))]
        return self._contacts(step, seen)

    def _contacts(self, step: Step, seen: Seen) -> list[Finding]:
        """Where the points lay as they should: what their contacts said of it."""
        for side, contact in enumerate(step.contacts):
            one = self._named(INPUT, contact) if contact else None
            if one is None:
                continue
            closed = [contact in names for names in seen.more.get("closed", [[], []])]
            if closed == [side == 0, side == 1]:
                continue
            if closed == [side == 1, side == 0]:
                what = f"{contact} closes in the other position"
                other = step.words[1 - side]
                change = f"name it for {other} in `contacts:` of {step.name}, or turn its wires over"
            else:
                what = f"{contact} does not follow the points"
                change = f"look at the contact and its wire at {one.terminals[0]}"
            return [Finding(step.title, what, change, (one.line,))]
        return []

    def _feed(self, step: Step, seen: Seen) -> list[Finding]:
        live = seen.seen[0] if seen.seen else NONE
        if live == step.name:
            if seen.more.get("dead_when_off") is False:
                change = "the relay's other contact is used, it is welded, or a wire goes past the relay"
                return [Finding(step.title, "stays live when off", change, (step.line,))]
            return []
        if live == NONE:
            change = f"look at the feed relay at {step.terminals[0]}, its contact, and the track supply"
            return [Finding(step.title, "its rail stayed dead", change, (step.line,))]
        if live == SEVERAL:
            change = "a gap is bridged, or one relay feeds two; meter across each gap"
            return [Finding(step.title, "more than one rail went live", change, (step.line,))]
        if TRACK_FEED in (live, step.name):
            return [Finding(step.title, f"{live} went live in its place", "see the wires", (step.line,))]
        return [self._exchanged(step, live, f"the rail of {live} went live in its place")]

    def _train(self, step: Step, seen: Seen) -> list[Finding]:
        missed = seen.more.get("missed", [])
        found = []
        for name in missed:
            one = self._named(INPUT, name)
            if one is not None:
                change = (
                    f"if {name} sees other trains, look at this train's magnet: height, side, pole; else at "
                    "the sensor"
                )
                found.append(
                    Finding(
                        f"{seen.more.get('train', step.name)}", f"not seen by {name}", change, (one.line,)
                    )
                )
        return found
