"""How long throws take, against the ring itself, driven millisecond by millisecond."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from boardfile import valley
from reedlogic import words as w
from reedlogic.controller import Controller
from reedlogic.keeper import PULSE
from reedway.boardfile.compile import compile_layout
from reedway.boardfile.throwtimes import throw_time
from reedway.layout.load import load
from reedway.resources import config_folder

EXAMPLES = [
    p for p in sorted(config_folder().glob("*.yaml")) if p.stem not in ("sensor-logger", "two-trains")
]
LIMIT_MS = 30_000
NO_CONTACT = valley.HEAD.replace(", contacts: {B: exit contact}", "")


class Railway:
    """A ring with its inputs, stepped each millisecond."""

    def __init__(self, plan: tuple[Any, ...], panel: int) -> None:
        self.ring = Controller(plan, 2000)
        self.now, self.raw, self.panel = 0, 0, panel
        self.all = (1 << len(plan[7])) - 1
        self.ring.begin(0, 0, panel)

    def order(self, *orders: tuple[int, int]) -> None:
        for which, value in orders:
            self.ring.order(self.now, which, value)
        self.ring.settle(self.now)

    def until_known(self) -> int:
        """Milliseconds until all turnouts are known to lie where they are wanted."""
        begun = self.now
        while self.now - begun < LIMIT_MS:
            if self.ring.logic.words[w.W_KNOWN] == self.all:
                return self.now - begun
            self.step()
        raise AssertionError("not known in time")

    def step(self) -> None:
        self.now += 1
        self.ring.scan(self.now, self.raw, self.panel)
        assert self.now < 10 * 120_000

    def rest(self, time_ms: int) -> None:
        """Let coils cool and refreshes be due again."""
        self.now += time_ms
        self.ring.scan(self.now, self.raw, self.panel)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_start_of_each_example(path: Path) -> None:
    plan = compile_layout(load(str(path))).plan
    conditions = plan[16][0][0]
    panel = conditions[2] if conditions else 0
    railway = Railway(plan, panel)
    railway.order((w.O_START, w.NONE))
    assert railway.until_known() == throw_time(plan, list(range(len(plan[7]))), worst=False).total_ms


HEADS = {
    "one supply for two": NO_CONTACT,
    "one supply for all": NO_CONTACT.replace("coil 6]}", "coil 6], supply: bank}"),
    "each its own": NO_CONTACT.replace(", supply: bank", "").replace("terminal: supply 1", "trail: 0 ms"),
    "long trail": NO_CONTACT.replace("trail: 30 ms", "trail: 500 ms").replace(
        "recharge: 1500", "recharge: 0"
    ),
    "owner's pause": NO_CONTACT.replace("board: pico", "board: pico\nlimits: {coil_pause: 3 s}"),
    "long gang": NO_CONTACT.replace("ends: [exit, entry]", "ends: [yard, exit, entry]").replace(
        "{coils: [coil 5", "{positions: [A, B], supply: bank, coils: [coil 5"
    ),
}


@pytest.mark.parametrize("head", HEADS.values(), ids=HEADS)
@pytest.mark.parametrize("members", [[0], [2], [0, 1], [0, 1, 2]])
def test_throws_from_rest_and_right_after_another_pulse(head: str, members: list[int]) -> None:
    head = head.replace(", trail: 30 ms, trail: 0 ms", ", trail: 30 ms")
    plan = valley.compiled("", head).plan
    usual, longest = (throw_time(plan, members, worst).total_ms for worst in (False, True))
    railway = Railway(plan, 1)
    railway.order((w.O_START, w.NONE))
    railway.until_known()

    def throw_all_over() -> list[tuple[int, int]]:
        wanted = railway.ring.logic.words[w.W_WANTED]
        return [(w.O_THROW, 2 * i + (1 - (wanted >> i & 1))) for i in members]

    railway.rest(120_000)
    railway.order(*throw_all_over())
    assert railway.until_known() == usual
    measured = []
    for other in range(3):
        railway.rest(120_000)
        lies = railway.ring.logic.words[w.W_WANTED] >> other & 1
        railway.order((w.O_THROW, 2 * other + lies))  # a refresh
        while railway.ring.keeper.phase != PULSE:
            railway.step()
        railway.order(*throw_all_over())
        measured.append(railway.until_known())
    lead_ms = max(row[1] for row in plan[8])
    assert max(measured) <= longest
    if len({row[3] for row in plan[7]}) == 1 or len(members) == 1:
        assert max(measured) >= longest - lead_ms


@pytest.mark.parametrize("alone", [True, False])
def test_a_contact_that_agrees_in_the_last_moment_of_the_second_try(alone: bool) -> None:
    yard = "  yard: {coils: [coil 5, coil 6]}\n"
    plan = valley.compiled("", valley.HEAD.replace(yard, "" if alone else yard)).plan
    railway = Railway(plan, 1)
    wait_ms, confirm_ms = plan[7][0][10], plan[1][4][1]
    railway.order((w.O_START, w.NONE))
    # exit is wanted in B and has a contact there; the others follow when it has agreed
    while not railway.ring.keeper.retried & 1 or not railway.ring.keeper.waiting & 1:
        railway.step()
    for _ in range(wait_ms - confirm_ms - 2):
        railway.step()
    railway.raw = 1 << 4
    begun = railway.now
    took = begun + railway.until_known()
    throw = throw_time(plan, list(range(len(plan[7]))), worst=True)
    bound_ms = throw.total_ms - throw.steps[0].waits_ms  # here nothing was pulsed before
    assert took <= bound_ms
    if alone:  # else yard is pulsed while exit waits for its contact
        assert took >= bound_ms - 2
    assert railway.ring.logic.unmoved == 0


def test_steps_are_told_in_order() -> None:
    plan = valley.compiled().plan
    steps = throw_time(plan, [1, 0], worst=True).steps
    assert [(step.turnout, step.retry) for step in steps] == [(0, False), (0, True), (1, False)]
    assert [step.contact_ms for step in steps] == [300, 300, 0]
    assert (
        sum(s.waits_ms + s.lead_ms + s.pulse_ms + s.contact_ms for s in steps)
        == throw_time(plan, [0, 1], worst=True).total_ms
    )
