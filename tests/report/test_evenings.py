"""Many evenings: the trend test against scipy, a tiring reed found, a healthy layout left in peace."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from reedway import cli
from reedway.report.trend import mann_kendall
from report.made_evenings import rates
from sessionlog.made import HEADER, record, write_log


def test_trend_and_slope_are_those_of_scipy() -> None:
    stats = pytest.importorskip("scipy.stats")
    rng = random.Random(3)
    for n in (6, 8, 12, 30):
        for _ in range(40):
            values = [rng.choice((rng.random(), rng.randint(0, 4), 2)) for _ in range(n)]
            s = sum(
                (values[j] > values[i]) - (values[j] < values[i]) for i in range(n) for j in range(i + 1, n)
            )
            ours = mann_kendall(values)
            assert ours.slope == pytest.approx(stats.theilslopes(values)[0])
            if abs(s) < 2:
                continue
            # scipy's asymptotic test of tau against time has no continuity correction: |S| for |S| - 1
            p = stats.kendalltau(range(n), values, method="asymptotic").pvalue
            z = stats.norm.isf(p / 2) * (abs(s) - 1) / abs(s)
            assert abs(ours.z) == pytest.approx(z, abs=1e-9) and (ours.z > 0) == (s > 0)
            assert ours.p == pytest.approx(stats.norm.sf(abs(ours.z)))
    assert mann_kendall([1, 1, 1, 1, 1, 1]).z == 0 and mann_kendall([1, 1, 1, 1, 1, 1]).p == 0.5


def test_a_tiring_reed_is_found_and_healthy_ones_raise_no_alarm() -> None:
    found = rates(2)  # the rates over 200 seeds are in DEVELOPERS.md
    assert found["found"] == found["healthy_quiet"] == 1 and found["another_blamed"] == 0


def log(folder: Path, day: int, closed: int, misses: int = 0) -> str:
    lines = []
    t = 1000
    for i in range(20):
        for name in ("N1", "N2", "N3"):
            t += 5000
            if name == "N2" and i < misses:
                continue
            lines.append(record(t, "hit", name))
            lines.append(record(t + (closed if name == "N2" else 90), "opening", name))
    header = HEADER.__class__("Valley", "ab" * 32, "0.1.0", f"2026-11-{day:02d}T19:30:00+01:00")
    return str(write_log(folder / f"{day}.jsonl", *lines, header=header))


def test_the_report_of_many_logs_names_the_reed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    logs = [log(tmp_path, day, 100 - 6 * day, misses=max(0, day - 4)) for day in range(1, 9)]
    assert cli.main(["report", *logs[::-1]]) == 0  # in whatever order they are named
    out = " ".join(capsys.readouterr().out.split())
    assert "Over 8 evenings" in out and "94 -> 52 ms" in out
    assert "N2 seems to tire: over these evenings closed" in out and "N1 seems" not in out
    assert cli.main(["report", "--json", *logs]) == 0
    found = json.loads(capsys.readouterr().out)
    sensors = {sensor["sensor"]: sensor for sensor in found[-1]["over_evenings"]}
    assert [name for name, sensor in sensors.items() if sensor["tiring"]] == ["N2"]
    assert [evening["missed"] for evening in sensors["N2"]["evenings"]][-1] == pytest.approx(4 / 20)
    assert sensors["N3"]["evenings"][-1]["out_of_turn"] == 4
    assert cli.main(["report", *logs[:2]]) == 0
    assert "A trend needs 6 evenings" in capsys.readouterr().out
    assert cli.main(["report", logs[0]]) == 0
    out = capsys.readouterr().out
    assert "evenings" not in out and out.startswith("Valley: 2026-11-01 19:30:0")


def test_evenings_of_several_layouts_are_not_taken_for_one_in_silence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = log(tmp_path, 1, 90)
    other = HEADER.__class__("Hill", "cd" * 32, "0.1.0", "2026-11-02T19:30:00+01:00")
    theirs = str(write_log(tmp_path / "hill.jsonl", record(10, "hit", "N1"), header=other))
    assert cli.main(["report", mine, theirs]) == 0
    out = capsys.readouterr().out
    assert "Careful: these are evenings of 2 layouts (Valley, Hill)." in out
    assert all(len(line) <= 80 for line in out.splitlines())
    assert cli.main(["report", mine, mine]) == 0
    assert "Careful" not in capsys.readouterr().out


def test_what_the_recording_remarks_is_told_and_is_no_device_text(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    remark = json.dumps({"t": None, "kind": "text", "name": "computer", "value": "the board is back"})
    clock = json.dumps({"t": None, "kind": "text", "name": "clock", "value": "5 2026-11-25T19:30:00+01:00"})
    path = write_log(tmp_path / "a.jsonl", record(10, "hit", "N1"), remark, clock)
    assert cli.main(["report", str(path)]) == 0
    assert "The recording says: the board is back" in capsys.readouterr().out
    assert cli.main(["report", str(path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[0]["device_texts"] == 0
