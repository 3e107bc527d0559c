"""The talk between computer and board: commands once each, records until confirmed, state, status, tally."""

from board.bench import Bench, w
from board.host import Host
from reedboard.journalfeed import SILENCE_MS, WINDOW
from reedboard.link import PROTOCOL
from reedboard.marks import MAINTENANCE, RESET
from reedlogic.keeper import PULSE
from reedlogic.snapshot import save
from reedway.board.protocol import Line, Splitter, encode


def answers(lines: list) -> list[tuple]:
    return [line.fields for line in lines if line.kind == "a"]


def test_hello_says_who_and_why() -> None:
    bench = Bench()
    bench.board.reset_cause, bench.board.kept_fault = 1, 513
    host = Host(bench)
    hello = host.hear()[0]
    assert hello.kind == "h"
    assert hello.fields == (PROTOCOL, "0.1.0", "2040", "ab" * 32, 1, 513, 1000, w.M_BEFORE)
    assert [line.kind for line in host.say("h", PROTOCOL)] == ["a", "h"]


def test_nothing_is_carried_out_before_a_hello() -> None:
    bench = Bench()
    host = Host(bench)
    assert answers(host.say("o", w.O_START, w.NONE)) == [(1, 3)]
    assert bench.board.order_count == 0


def test_a_command_that_comes_twice_is_carried_out_once() -> None:
    bench = Bench()
    host = Host(bench)
    host.say("h", PROTOCOL)
    assert answers(host.say("o", w.O_STOP, 0)) == [(2, 0)]
    assert answers(host.say("o", w.O_STOP, 0, again=True)) == [(2, 0)]
    assert bench.board.order_count == 1


def test_a_command_out_of_order_is_not_carried_out() -> None:
    bench = Bench()
    host = Host(bench)
    host.say("h", PROTOCOL)
    host.sequence += 5
    assert answers(host.say("o", w.O_STOP, 0)) == [(7, 3)]
    assert bench.board.order_count == 0
    host.say("h", PROTOCOL)
    assert answers(host.say("o", w.O_STOP, 0)) == [(9, 0)]


def test_unknown_commands_are_answered_and_do_nothing() -> None:
    bench = Bench()
    host = Host(bench)
    host.say("h", PROTOCOL)
    assert answers(host.say("y")) == [(2, 2)]
    assert answers(host.say("o", 1)) == [(3, 2)]
    assert answers(host.say("q", 1)) == [(4, 2)]


def play(bench: Bench) -> None:
    """A start and a few hits: more records than a window holds."""
    bench.start()
    for name in ("N1", "N3", "N2"):
        bench.close(name)
        bench.run(100)
        bench.open(name)
        bench.run(100)


def test_records_are_sent_up_to_a_window_and_kept_until_confirmed() -> None:
    bench = Bench()
    play(bench)
    expected = bench.records()
    assert len(expected) > WINDOW
    host = Host(bench)
    host.hear()
    first = [line.numbers() for line in host.confirm(0)]
    assert [numbers[0] for numbers in first] == list(range(WINDOW))
    assert [numbers[1:] for numbers in first] == expected[:WINDOW]
    assert bench.board.controller.journal.held() == len(expected)
    # the last ten did not arrive: the computer asks again from there
    again = [line.numbers() for line in host.confirm(WINDOW - 10)]
    assert [numbers[1:] for numbers in again] == expected[WINDOW - 10 :][:WINDOW]
    assert bench.board.controller.journal.held() == len(expected) - (WINDOW - 10)


def test_without_a_listener_records_rest_and_the_oldest_go() -> None:
    bench = Bench(records=10)
    host = Host(bench)
    host.hear()
    host.confirm(0)
    bench.start()
    bench.now += SILENCE_MS
    bench.run(1)
    assert [line.kind for line in host.hear()] == []
    total = bench.board.journal_feed.end()
    assert bench.board.journal_feed.oldest() == total - 10
    numbers = [line.numbers()[0] for line in host.confirm(0)]
    assert numbers == list(range(total - 10, total))  # the gap in the numbers says how many were lost


def test_state_comes_whole_and_is_the_snapshot_of_that_moment() -> None:
    bench = Bench()
    bench.start()
    host = Host(bench)
    host.say("h", PROTOCOL)
    expected = save(bench.board.controller, bench.board.last)
    lines = [line.numbers() for line in host.say("s") if line.kind == "s"]
    assert {line[:3] for line in lines} == {(bench.board.journal_feed.end(), bench.now, len(expected))}
    got = [value for line in lines for value in line[4:]]
    assert got == expected
    assert [line[3] for line in lines] == list(range(0, len(expected), 12))


def test_status_and_tally() -> None:
    bench = Bench()
    bench.start()
    while bench.board.tally.step():
        pass
    host = Host(bench)
    host.say("h", PROTOCOL)
    status = next(line for line in host.say("q") if line.kind == "q").numbers()
    assert status[0] == bench.now and status[1] == w.M_RUNNING and status[4] == 0b11
    rows = [line.numbers() for line in host.say("t") if line.kind == "t"]
    assert len(rows) == 45
    assert rows[30][1] == 1 and rows[32][1] == 1  # the two coils that the start pulsed


def test_reset_into_maintenance_is_refused_while_trains_run() -> None:
    bench = Bench()
    bench.start()
    host = Host(bench)
    host.say("h", PROTOCOL)
    assert answers(host.say("m")) == [(2, 1)]
    assert bench.board.reset_to == 0
    bench.close("N1")
    bench.run(10)
    host.say("o", w.O_STOP, 0)
    bench.run(1)
    assert bench.board.keeper.phase == PULSE  # it is not cut
    assert answers(host.say("z")) == [(4, 1)]
    bench.run(90)
    assert answers(host.say("z")) == [(5, 0)]
    assert bench.board.reset_to == RESET
    idle = Bench()
    host = Host(idle)
    host.say("h", PROTOCOL)
    assert answers(host.say("m")) == [(2, 0)]
    assert idle.board.reset_to == MAINTENANCE


def test_a_computer_that_sends_without_end_is_answered_and_gets_records() -> None:
    bench = Bench()
    bench.start()
    pins = bench.pins
    pins.to_board.extend(encode("h", 0, PROTOCOL) + encode("k", 0, 0) + encode("s", 1))
    for _ in range(2000):
        bench.run(1)
        while len(pins.to_board) < 64:
            pins.to_board.extend(b"no line of ours" + encode("w", 0))
        for _ in range(4):
            bench.link.step(bench.now)
    lines = Splitter().feed(bytes(pins.from_board))
    kinds = [line.kind for line in lines if isinstance(line, Line)]
    assert {"h", "a", "s", "r"} <= set(kinds) and kinds.count("r") > 10
