"""Derived rules say nothing idle: a condition or act less or turned round is found, or shown to be idle.

All 310 mutants of the four-place rules take some minutes (`python tests/proof/mutants.py`): 157 are refuted,
72 refuted with a single fault or with a train lifted off and set on, 35 shown redundant (16 by an identical
reachable graph, 19 by one that differs only in what relays keep in mind), 46 named as changing order or
throughput only. Here a fixed sample, and some that must be found.
"""

from __future__ import annotations

import pytest

from proof.mutants import ALIKE, BY_A_FAULT, ORDER, REDUNDANT, REFUTED, lines, mutants, verdict

ORIGINALS = lines()
ALL = {mutant.what: mutant for mutant in mutants(ORIGINALS[-1])}

FOUND = [
    ("hold 1 ready in and hold 2 kept out: condition on hold 2 kept dropped", REFUTED),
    ("hold 1 ready in and hold 2 kept out: act on hold 2 kept dropped", REFUTED),
    ("track 2 last in: condition on hold 1 kept dropped", REFUTED),
    ("track 2 last in: act off exit 1 turned", REFUTED),
    ("track 1 kept out: act off entry 1 turned", REFUTED),
    ("H2b due in and H2a half in: act off B hold 1 dropped", REFUTED),
    ("H2b due in and H2a half in: condition on H2a half dropped", BY_A_FAULT),
    ("H2b due in and H2a half in: act off H2a half dropped", BY_A_FAULT),
    ("lifted off hold 2 while hold 2 ready in: act off hold 2 kept dropped", BY_A_FAULT),
]


@pytest.mark.parametrize(("what", "result"), FOUND, ids=[what for what, _ in FOUND])
def test_what_keeps_trains_apart_is_missed(what: str, result: str) -> None:
    meant = [mutant for text, mutant in ALL.items() if what in text]
    assert len(meant) == 1
    assert verdict(ORIGINALS, meant[0].plan) == result


@pytest.mark.parametrize("n", range(5, 310, 31))
def test_every_mutant_has_its_verdict(n: int) -> None:
    mutant = list(ALL.values())[n]
    result = verdict(ORIGINALS, mutant.plan)
    assert result in (REFUTED, BY_A_FAULT, REDUNDANT, ALIKE, ORDER)
    if result == ORDER:
        assert "kept dropped" not in mutant.what or "exit 1 kept" in mutant.what


def test_the_rules_themselves_are_no_mutant() -> None:
    assert verdict(ORIGINALS, ORIGINALS[-1].plan) == REDUNDANT
    assert len(ALL) == 310
