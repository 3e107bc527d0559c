"""What `coils` says would make a turnout throw does so when written into the file, and nothing less does."""

from __future__ import annotations

import re

import pytest

from electrics import made
from reedway.electrics import remedies, verdicts
from reedway.electrics.limits import wired_turnouts
from reedway.electrics.parts import Wired

SMALL = "{voltage: 24 V, bank: 4700 uF, charged_through: 220 ohm}"
WEAK = "{voltage: 9 V, cable: 1 m}"


def wired(source: str) -> Wired:
    return wired_turnouts(made.layout(made.section(source=source)))[0]


def answer(source: str) -> str:
    return verdicts.throws(wired(source)).answer


def test_a_bank_too_small() -> None:
    said = remedies.remedies(wired(SMALL))
    micro = int(re.search(r"a bank of (\d+) uF", said[0])[1])
    volts = int(re.search(r"with (\d+) V", said[1])[1])
    assert answer(SMALL) == verdicts.NO
    assert answer(SMALL.replace("4700 uF", f"{micro} uF")) == verdicts.YES
    assert answer(SMALL.replace("24 V", f"{volts} V")) == verdicts.YES
    assert answer(SMALL.replace("24 V", f"{volts - 1} V")) == verdicts.NO
    smaller = max(one for one in remedies.BANK_UF if one < micro)
    assert answer(SMALL.replace("4700 uF", f"{smaller} uF")) == verdicts.NO


def test_a_supply_too_weak() -> None:
    said = remedies.remedies(wired(WEAK))
    volts = int(re.search(r"with (\d+) V", said[0])[1])
    assert [answer(WEAK.replace("9 V", f"{v} V")) for v in (volts - 1, volts)] == [verdicts.NO, verdicts.YES]
    assert len(said) == 1  # no longer pulse helps where the current never gets there


def test_nothing_is_said_of_a_turnout_that_throws_or_of_one_not_measured() -> None:
    assert remedies.remedies(wired(made.BANK)) == []
    unknown = made.section(coil="{resistance: 4.5 ohm, winding_wire: 0.315 mm}")
    assert remedies.remedies(wired_turnouts(made.layout(unknown))[0]) == []


def test_a_pulse_that_is_recommended_throws() -> None:
    assert verdicts.recommended_pulse_ms(wired(SMALL)) is None
    assert verdicts.recommended_pulse_ms(wired(made.BANK)) == pytest.approx(30)
