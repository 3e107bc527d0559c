"""The words that stand for the numbers of records, orders, modes and causes in a session log."""

from __future__ import annotations

from reedlogic import words as w


def _named(prefix: str, *others: str) -> dict[int, str]:
    """Number -> word of every constant with this prefix: R_PULSE_END is 'pulse end'."""
    found = {}
    for constant, number in vars(w).items():
        if constant.startswith(prefix) and constant not in others:
            found[number] = constant[len(prefix) :].lower().replace("_", " ")
    return found


KIND_WORDS = _named("R_", "R_KINDS")
KINDS = {word: number for number, word in KIND_WORDS.items()}
ORDER_WORDS = _named("O_", "O_FROM_BUTTON")
MODE_WORDS = {
    w.M_BEFORE: "before start",
    w.M_RUNNING: "running",
    w.M_STOPPED: "stopped",
    w.M_FAULT: "fault",
    w.M_MAINTENANCE: "maintenance",
}
TEXT = "text"  # what the board printed and is no record of ours
STATE = KIND_WORDS[w.R_STATE]
BY_BUTTON = ", by button"  # no name of a layout holds a comma
