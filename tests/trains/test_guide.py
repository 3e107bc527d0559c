"""The guide to measuring: its examples come to what it says, and it names keys that are there."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from reedway.layout.keys import BY_NAME
from reedway.trains import kinematics as k

GUIDE = (Path(__file__).parents[2] / "hardware" / "trains.md").read_text(encoding="utf-8")
MEASURING = GUIDE.partition("## The go sensor's window")[0]
LOGS = [json.loads(line) for line in re.findall(r"^    (\{.*\})$", GUIDE, re.M)]


def test_speed_and_operating_length_from_the_log() -> None:
    first, second, closed, opened = (record["t"] for record in LOGS)
    assert 1000 / (second - first) * 1000 == pytest.approx(240, abs=0.1) and "that is 240 mm/s" in GUIDE
    assert (opened - 20) - (closed - 5) == 100
    assert k.Start(240, 1, 240).distance_mm(0.1) == pytest.approx(24) and "100 ms, or 24 mm" in GUIDE


def test_acceleration_and_fouling_point() -> None:
    start = k.Start(0, 160, 1e6)
    assert start.time_s(500) == pytest.approx(2.5) and "160 mm/s2" in GUIDE
    assert k.fouling_mm(46, 6)[0] == 276 and "46 mm apart 276 mm" in GUIDE


def test_its_keys_are_keys() -> None:
    known = {key.name for name in ("vehicles", "trains", "lengths", "spots") for key in BY_NAME[name].keys}
    known |= {"vehicles", "trains", "lengths", "spots", "opening", "confirm"}
    used = set(re.findall(r"`([a-z_]+)(?::[^`]*)?`", MEASURING))
    assert used - known == set()
    assert {"length", "pick_ups", "magnet", "run_on", "run_on_time", "operates_over", "acceleration"} <= used
