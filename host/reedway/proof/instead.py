"""Tries what else an owner can do: rules from the track in place of his own, another start, a train less."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_underived
from reedway.layout.model import Layout
from reedway.problems import Complaint, LayoutError, ReedwayError
from reedway.proof.judge import Limits, is_sound
from reedway.proof.scene import scenes
from reedway.track.derive import derive

COMPLAINTS_MAX = 3


@dataclass
class Instead:
    """What came of trying derived rules in place of the written ones."""

    is_proved: bool = False
    complaints: list[Complaint] = field(default_factory=list)  # why no rules can be derived
    states: int = 0


def is_start_proved(compiled: Compiled, start: int, limits: Limits) -> bool:
    """One start, the switches that it leaves open either way, with either reaction of the board."""
    try:
        made = scenes(compiled, start)
    except ReedwayError:
        return False
    return all(is_sound(scene, lagging, limits)[0] for scene in made for lagging in (False, True))


def derived_instead(layout: Layout, start: int, limits: Limits) -> Instead:
    """The same track, trains and start with derived rules only."""
    made = _derived(layout)
    if isinstance(made, list):
        return Instead(complaints=made[:COMPLAINTS_MAX])
    return Instead(is_proved=is_start_proved(made, start, limits))


def with_a_train_less(layout: Layout, start: int, limits: Limits) -> str:
    """The place whose train is best taken off, derived rules given; "" if that helps nowhere."""
    for text in reversed(layout.starts[start].trains_at):
        made = _derived(layout, start, text.text)
        if isinstance(made, Compiled) and is_start_proved(made, start, limits):
            return text.text
    return ""


def smaller_starts(compiled: Compiled, start: int, limits: Limits) -> list[str]:
    """Other starts of the file with fewer trains that are proved."""
    starts = compiled.layout.starts
    return [
        other.name
        for i, other in enumerate(starts)
        if len(other.trains_at) < len(starts[start].trains_at) and is_start_proved(compiled, i, limits)
    ]


def _derived(layout: Layout, start: int = -1, without: str = "") -> Compiled | list[Complaint]:
    """The layout with derived rules only, and at one start no train in one place."""
    made = load_underived(layout.path, layout.source)
    made.rules_derived = True
    made.rules = []
    made.relays = []
    for i, one in enumerate(made.starts):
        one.relays_in, one.go = [], []
        if i == start:
            one.trains_at = [text for text in one.trains_at if text.text != without]
    complaints = derive(made)
    if complaints:
        return complaints
    try:
        return compile_layout(made)
    except LayoutError as error:
        return error.complaints
