"""What the board's own lamp says, for one layout: the numbers that it flashes, with the owner's names.

The lamp itself is firmware/reedboard/blink.py; a test reads each number off that lamp and looks it up here.
"""

from __future__ import annotations

from dataclasses import dataclass

from reedlogic import words as w
from reedway.boardfile.names import Names

REST_KIND, STRAYED_KIND, UNMOVED_KIND, RULE_KIND, FAULT_KIND = 1, 2, 3, 4, 5

# What the lamp does, what that means.
STEADY = (
    ("lit", "trains run"),
    ("1 s lit, 1 s dark", "stopped"),
    ("a short flash every 4 s", "waits for a start"),
    ("flickers fast", "maintenance, wires are tried"),
    ("dark", "no power, or no program: the coils' supply is off by the arm line"),
)
KINDS = {
    REST_KIND: (
        "magnet at rest on a sensor",
        "Nothing burns: its one pulse is over, other trains go on. Move that train a little when it suits.",
    ),
    STRAYED_KIND: (
        "a turnout moved by itself",
        "Look: a train may be on it. Set the points by hand, then acknowledge.",
    ),
    UNMOVED_KIND: (
        "a turnout did not move",
        "Look what blocks the points, clear it, then acknowledge: it is thrown once more.",
    ),
    RULE_KIND: ("a caution of your rules", "Do what it says, then acknowledge."),
    FAULT_KIND: ("fault: everything is at stop", "See right each train, then acknowledge."),
}
FAULTS = {
    w.F_RULE: "a fault of your rules",
    w.F_UNSETTLED: "rules do not settle. Comes again: run by hand, mend the layout file",
    w.F_DEFERRED: "a throw was put off too long. Wait a minute: a coil is warm or its supply weak",
    w.F_OUT_OF_STEP: "coil keeper out of step. Comes again: plug out, spare board",
    w.F_LATE: "the board was too slow. Pull the computer's cable; comes again: spare board",
    w.F_BOARD: "board file refused. Load it again",
}


@dataclass(frozen=True)
class Code:
    """Two numbers in flashes and what they stand for."""

    kind: int
    number: int
    name: str


def codes(names: Names) -> list[Code]:
    """Every pair of numbers that the lamp of this layout can flash."""
    sensors = [(i, name) for i, name in enumerate(names.inputs) if names.input_kinds[i] == "sensor"]
    found = [Code(REST_KIND, i + 1, name) for i, name in sensors]
    for kind in (STRAYED_KIND, UNMOVED_KIND):
        found += [Code(kind, i + 1, turnout[0]) for i, turnout in enumerate(names.turnouts)]
    found += [Code(RULE_KIND, i + 1, words) for i, words in enumerate(names.cautions)]
    for cause, words in FAULTS.items():
        if cause == w.F_RULE and names.faults:
            words = " / ".join(names.faults)
        found.append(Code(FAULT_KIND, cause + 1, words))
    return found
