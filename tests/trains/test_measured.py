"""`plan --measured`: what a log gives of a train is what the train was like, to the 1 ms of a hit.

The logs are those of simulated trains whose speed and operating length are set, and some written by hand.
"""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from reedway.boardfile.compile import compile_layout
from reedway.cli import main
from reedway.layout.load import load, load_bytes
from reedway.problems import ReedwayError
from reedway.sessionlog.header import Header
from reedway.sessionlog.names import Codec
from reedway.sessionlog.writer import LogWriter
from reedway.trains import measuring
from reedway.trains.makeup import make_up
from reedway.trains.running.commands import simulate
from reedway.trains.running.ground import Ground
from reedway.trains.running.setup import Wish, prepare

CONFIG = Path(__file__).parents[2] / "config"
GO_SENSOR = CONFIG / "three-trains-go-sensor.yaml"
INTERLOCKED = CONFIG / "three-trains-interlocked.yaml"
STARTED = datetime(2026, 11, 25, 20, 0).isoformat() + "+01:00"
# From the layout files, with a tape: N1 1 m behind the exit, line 1.5 m, valley 4 m, Mill Halt 1.5 m, N2 1 m.
N1_TO_N2_MM = 500 + 4000 + 1500 + 1000
LIVE = ('"feed","name":"track feed","value":1', '"feed","name":"Mill","value":1')
LIVE += ('"position","name":"exit","value":0', '"position","name":"entry","value":0')


def recorded(path: Path, log: Path, wish: Wish, *changes: tuple[str, str]) -> None:
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    compiled = compile_layout(load_bytes(str(path), text.encode()))
    layout = compiled.layout
    header = Header(layout.name, layout.sha256, "0.1.0", STARTED)
    with LogWriter(log, header, Codec(compiled.names)) as writer:
        simulate(prepare(compiled, {}), wish, writer)


def measured(path: Path, log: Path, train: str) -> measuring.Measured:
    layout = load(str(path))
    made = make_up(layout.stock, next(one for one in layout.stock.trains if one.name == train), {})
    return measuring.measure(log, Ground(layout), made)


def by_hand(log: Path, *records: str) -> Path:
    """A log of three-trains-go-sensor: feeds on and points set at 1 ms, then `12340 hit N1`."""
    lines = [Header("Three trains, go sensor", "0" * 64, "0.1.0", STARTED).line()]
    lines += [f'{{"t":1,"kind":{one}}}' for one in LIVE]
    for record in records:
        t, kind, name = record.split(" ", 2)
        name, _, value = name.partition(" = ")
        lines.append(f'{{"t":{t},"kind":"{kind}","name":"{name}","value":{value or 0}}}')
    log.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return log


@pytest.mark.parametrize(
    ("path", "train", "speed"),
    [
        (GO_SENSOR, "railcar", 360),
        (GO_SENSOR, "goods train", 240),
        (GO_SENSOR, "milk train", 300),
        (INTERLOCKED, "railcar", 360),
    ],
)
def test_a_known_speed_comes_back(tmp_path: Path, path: Path, train: str, speed: float) -> None:
    """Each passing within what 1 ms more or less makes; the closing within one more at either end."""
    log = tmp_path / "alone.jsonl"
    recorded(path, log, Wish(hours=0.04, start="one train", trains=(train,)))
    found = measured(path, log, train)
    assert len(found.legs) >= 4 and not found.is_other_file
    for leg in found.legs:
        took_ms = leg.distance_mm / speed * 1000
        assert abs(leg.took_ms - took_ms) <= 1, leg
    low, high = found.operating_mm or (0, 0)
    zone = sum(found.made.magnets[0].operating) / 2  # without a seed a span is taken at its middle
    assert abs(low - zone) <= 1.001 * speed / 1000 and abs(high - zone) <= 1.001 * speed / 1000


def test_a_span_of_speeds_comes_back(tmp_path: Path) -> None:
    """A train that is another one at every start; passings with a stop in them are left out."""
    log = tmp_path / "spread.jsonl"
    stops = [(40_000 * n + wait, act) for n in range(1, 14) for wait, act in ((0, "stop"), (900, "go on"))]
    wish = Wish(hours=0.15, start="one train", trains=("railcar",), seed=4, acts=tuple(stops))
    recorded(GO_SENSOR, log, wish, ("speed: 360 mm/s", "speed: 250 mm/s to 350 mm/s"))
    found = measured(GO_SENSOR, log, "railcar")
    low, high = found.speed_mm_s
    assert 249.9 <= low < 270 and 330 < high <= 350.1
    assert found.is_other_file and found.left_out[measuring.CUT_OFF] > 5
    assert len(found.legs) > 10


def test_by_hand(tmp_path: Path) -> None:
    """7 m in 29.167 s; closed for 115 ms less 15 ms at 240 mm/s, as in hardware/trains.md."""
    log = by_hand(tmp_path / "a.jsonl", "12340 hit N1", "12455 opening N1", "41507 hit N2")
    found = measured(GO_SENSOR, log, "goods train")
    (leg,) = found.legs
    assert (leg.distance_mm, leg.took_ms, leg.closed_ms) == (N1_TO_N2_MM, 29167, 100)
    assert leg.speed_mm_s == pytest.approx(240, abs=0.01) and leg.operating_mm == pytest.approx(24, abs=0.001)


@pytest.mark.parametrize(
    ("between", "why"),
    [
        ("15000 feed Mill = 0", measuring.DEAD),
        ("15000 feed track feed = 0", measuring.DEAD),
        ("15000 mode stopped", measuring.CUT_OFF),
        ("15000 late ", measuring.CUT_OFF),
    ],
)
def test_what_may_have_stood_is_left_out(tmp_path: Path, between: str, why: str) -> None:
    """Even where it is live again a second later."""
    again = [between.replace("15000", "16000").replace(" = 0", " = 1")] if "feed" in between else []
    log = by_hand(tmp_path / "a.jsonl", "12340 hit N1", between, *again, "44000 hit N2")
    with pytest.raises(ReedwayError, match=f"once {why}"):
        measured(GO_SENSOR, log, "goods train")


def test_what_has_just_started_is_left_out(tmp_path: Path) -> None:
    """Rails that came live 4 s before the first hit."""
    off_and_on = ("1000 feed track feed = 0", "8340 feed track feed = 1")
    log = by_hand(tmp_path / "a.jsonl", *off_and_on, "12340 hit N1", "41507 hit N2")
    with pytest.raises(ReedwayError, match=measuring.DEAD):
        measured(GO_SENSOR, log, "goods train")


def test_a_log_that_does_not_tell_the_feeds_gives_nothing(tmp_path: Path) -> None:
    """Begun in mid-show: no feed came on since."""
    log = by_hand(tmp_path / "a.jsonl", "12340 hit N1", "41507 hit N2")
    kept = [line for line in log.read_text(encoding="utf-8").splitlines() if '"feed"' not in line]
    log.write_text("\n".join(kept) + "\n", encoding="utf-8")
    with pytest.raises(ReedwayError, match="the log does not say that it was live"):
        measured(GO_SENSOR, log, "goods train")


def test_with_other_trains_it_is_refused(tmp_path: Path) -> None:
    shipped = CONFIG / "sessions" / "three-trains-go-sensor_ordinary.jsonl"
    with pytest.raises(ReedwayError, match=r"ordinary\.jsonl:17: 3 trains were started \(three trains\)"):
        measured(GO_SENSOR, shipped, "railcar")
    log = by_hand(tmp_path / "a.jsonl", "9000 hit N1", "10000 hit N3", "11000 hit N1", "12000 hit N3")
    with pytest.raises(ReedwayError, match="2 of 4 hits are not of the sensor that follows"):
        measured(GO_SENSOR, log, "railcar")


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its lines, put into the layout file, pass the check; the layout file itself is left as it is."""
    log = tmp_path / "alone.jsonl"
    recorded(GO_SENSOR, log, Wish(hours=0.04, start="one train", trains=("goods train",)))
    words = ["plan", str(GO_SENSOR), "--measured", str(log), "--train", "Goods Train"]
    before = GO_SENSOR.read_bytes()
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "speed: 239 mm/s to 241 mm/s" in said and "Run-on is not in a log" in said
    assert main([*words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["passes"] >= 4 and abs(found["speed_mm_s"][0] - 240) < 0.1
    text = GO_SENSOR.read_text(encoding="utf-8")
    for line in found["layout_lines"]:
        key, _, value = line.strip().partition(": ")
        if value:
            old = {"speed": "speed: 240 mm/s", "operates_over": "operates_over: 19.9 mm to 29 mm"}[key]
            text = text.replace(old, f"{key}: {value}")
    load_bytes("filled.yaml", text.encode())
    assert GO_SENSOR.read_bytes() == before


def test_lines_for_bad_calls(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = str(by_hand(tmp_path / "a.jsonl"))
    for options, why in (
        (["--measured", log], "of which train? Add --train NAME; there are railcar"),
        (["--measured", log, "--train", "railcart"], "there is no such train"),
        (["--train", "railcar"], "add --measured LOG"),
        (["--measured", str(tmp_path / "no.jsonl"), "--train", "railcar"], "there is no such file"),
        (["--measured", log, "--train", "railcar"], "0 hits of sensors in the track"),
    ):
        assert main(["plan", str(GO_SENSOR), *options]) == 1
        assert why in capsys.readouterr().err
