"""One scan and the next: inputs in, outputs out in order, pulses handed over once, late scans told."""

from board.bench import ENTRY_A, EXIT_A, EXIT_B, Bench, w
from reedboard.board import LATE_FAULT_MS, LED

LATE_MS = 20


def test_before_start_nothing_is_on_and_nothing_is_pulsed() -> None:
    bench = Bench()
    bench.close("N1")
    bench.run(3000)
    assert bench.pins.pulses == []
    assert not bench.is_high("Hold") and not bench.is_high("track feed")


def test_start_pulses_each_turnout_once_and_then_feeds() -> None:
    bench = Bench()
    bench.start()
    assert bench.pins.pulses == [(EXIT_A, 80), (ENTRY_A, 50)]
    assert bench.is_high("Hold") and bench.is_high("track feed")
    assert bench.pins.lamp_word == 1 << 1  # `H goes` on lamp 2


def test_a_closed_contact_becomes_a_pulse_after_its_confirm_time() -> None:
    bench = Bench()
    bench.start()
    bench.pins.pulses.clear()
    bench.close("N1")
    bench.run(5)
    assert bench.pins.pulses == []
    bench.run(1)  # confirm is 5 ms from the scan that saw the edge
    assert bench.pins.pulses == [(EXIT_B, 80)]


def test_stop_from_the_panel_cuts_the_feeds_at_once() -> None:
    bench = Bench()
    bench.start()
    bench.close("halt")
    bench.run(10)
    assert not bench.is_high("Hold") and not bench.is_high("track feed")
    assert bench.pins.lamp_word == 0


def test_two_hits_in_one_scan_leave_one_after_the_other() -> None:
    bench = Bench()
    bench.start()
    bench.close("N1")  # throws
    bench.close("N2")  # stops the block
    before = len(bench.pins.toggles)
    bench.run(5)
    order: list[str] = []
    toggle, pulse = bench.pins.toggle, bench.pins.pulse
    bench.pins.toggle = lambda mask: (order.append(f"pins {mask:x}"), toggle(mask))[1]  # type: ignore[method-assign]
    bench.pins.pulse = lambda i, ms: (order.append("pulse"), pulse(i, ms))[1]  # type: ignore[method-assign]
    bench.run(1)
    feed = f"pins {1 << bench.gpio('Hold'):x}"
    assert feed in order and order.index(feed) < order.index("pulse")  # the keeper comes last at an instant
    assert len(bench.pins.toggles) > before


def test_a_feed_is_written_by_toggling_only_what_changed() -> None:
    bench = Bench()
    bench.start()
    bench.pins.toggles.clear()
    bench.close("N2")
    bench.run(20)
    arm = bench.board.terminals.arm
    changes = [mask & ~(arm | LED) for mask in bench.pins.toggles if mask & ~(arm | LED)]
    assert changes == [1 << bench.gpio("Hold")]


def test_the_arm_line_moves_once_a_scan_and_rests_when_a_scan_is_late() -> None:
    bench = Bench()
    arm = bench.board.terminals.arm
    assert arm
    bench.run(10)
    assert sum(bool(mask & arm) for mask in bench.pins.toggles) == 10
    bench.pins.toggles.clear()
    bench.now += LATE_MS + 1
    assert not bench.board.scan(bench.now)
    assert not any(mask & arm for mask in bench.pins.toggles)


def test_a_late_scan_is_a_record_and_a_very_late_one_a_fault() -> None:
    bench = Bench()
    bench.start()
    bench.now += LATE_MS
    assert bench.board.scan(bench.now)
    bench.now += 100
    bench.board.scan(bench.now)
    assert (bench.now, w.R_LATE, 0, 100) in bench.records()
    assert bench.board.logic.mode == w.M_RUNNING
    bench.now += LATE_FAULT_MS + 1
    bench.board.scan(bench.now)
    assert bench.board.logic.mode == w.M_FAULT
    assert [record[1:] for record in bench.records()][-5:].count((w.R_FAULT, 0, w.F_LATE)) == 1
    assert not bench.is_high("Hold")
    assert bench.pins.kept_fault == (w.F_LATE << 7) + 1


def test_a_one_shot_that_is_not_idle_is_a_fault_and_gets_no_word() -> None:
    bench = Bench()
    bench.start()
    bench.pins.pulses.clear()
    bench.pins.idle = False
    bench.close("N1")
    bench.run(10)
    assert bench.pins.pulses == []
    assert bench.board.logic.mode == w.M_FAULT
    assert any(record[1:] == (w.R_FAULT, 0, w.F_OUT_OF_STEP) for record in bench.records())
    assert not bench.board.logic.physical & 1  # that turnout is not known
    bench.run(500)  # nor when the pulse would have ended
    assert not bench.board.logic.physical & 1
    bench.pins.idle = True
    bench.board.ask(w.O_ACKNOWLEDGE, w.NONE)
    bench.run(500)
    assert len(bench.pins.pulses) == 1 and bench.board.logic.physical & 1  # thrown now


def test_time_may_run_over_the_end_of_the_ring() -> None:
    bench = Bench(now=(1 << 29) - 1500)
    for _ in range(3000):
        bench.now = bench.now + 1 & (1 << 29) - 1
        bench.board.scan(bench.now)
        if bench.now == (1 << 29) - 1000:
            bench.board.ask(w.O_START, w.NONE)
    assert bench.is_high("Hold")
    assert not bench.board.late_scans


def test_orders_from_the_line_are_bounded() -> None:
    bench = Bench()
    assert not bench.board.ask(w.O_BOARD_FAULT, 0)  # not the operator's to give
    assert not bench.board.ask(w.O_GO, 1 << 18)
    assert [bench.board.ask(w.O_STOP, 0) for _ in range(9)] == [True] * 8 + [False]


def test_the_tally_counts_without_a_computer() -> None:
    bench = Bench(records=50)
    bench.start()
    for _ in range(3):
        bench.close("N1")
        bench.run(120)
        bench.open("N1")
        for _ in range(2100):
            bench.run(1)
            bench.board.tally.step()
    assert bench.board.tally.hits[0] == 3
    assert bench.board.tally.longest_ms[0] == 120 - 5 + 20  # from confirmed closing to confirmed opening
    assert bench.board.tally.pulses[EXIT_B] >= 1
    assert bench.board.tally.missed == 0
