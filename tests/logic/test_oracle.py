"""The ring against a second model of DESIGN section 4: every record, in order, and every output."""

from logic.drive import Player
from logic.oracle import Oracle
from logic.runs import case, difference
from reedlogic import words as w


class Beside:
    """The oracle of one session, a step at a time."""

    def __init__(self, plan: tuple, session: tuple) -> None:
        _, raw, panel, _ = session
        self.oracle = Oracle(plan)
        self.raw = raw | panel << w.WORD_BITS
        self.t = 0
        self.oracle.begin(self.raw)

    def step(self, step: tuple) -> None:
        t, raw, panel, gap, orders = step
        for ms in range(self.t + 1, t - gap + (1 if gap else 0)):
            self.oracle.instant(ms, self.raw)
        self.raw = raw | panel << w.WORD_BITS
        self.t = t
        if gap:
            self.oracle.late(t, gap, self.raw, orders)
        else:
            self.oracle.instant(t, self.raw, orders)

    def outputs(self) -> tuple[int, int, int]:
        """Feeds, lamps, supplies as words."""
        sets = (self.oracle.rules.feeds, self.oracle.rules.shown, self.oracle.keeper.closed)
        feeds, lamps, supplies = (sum(1 << bit for bit in bits) for bits in sets)
        return feeds, lamps, supplies


def compare(seed: int, again: str) -> Oracle:
    plan, session = case(seed, 500, False)
    player, beside = Player(plan, session), Beside(plan, session)
    for step in player.steps:
        player.step(step)
        beside.step(step)
        c = player.controller
        outputs = (c.logic.feeds, c.logic.lamps, c.keeper.supply_out)
        assert outputs == beside.outputs(), f"outputs at {step[0]}; {again}"
    told = difference(player.out, beside.oracle.records)
    assert not told, f"{told}; {again}"
    return beside.oracle


def test_the_ring_does_what_the_text_says(seeds) -> None:  # type: ignore[no-untyped-def]
    """Hundreds of random sessions; together they carry out every act, in both kinds of rule where allowed."""
    done: set[tuple[str, int, bool]] = set()
    for seed in seeds.of(20_000, 150):
        done |= compare(seed, seeds.again(seed)).rules.done
    if seeds.only is None:
        both = [("relay", w.OP_SET), ("relay", w.OP_CLEAR), ("block", w.OP_SET), ("block", w.OP_CLEAR)]
        both += [("throw", w.OP_THROW_A), ("throw", w.OP_THROW_B), ("timer", w.OP_START)]
        both += [("timer", w.OP_CANCEL), ("lamp", w.OP_SET), ("lamp", w.OP_CLEAR)]
        both += [("caution", w.OP_SET), ("fault", w.OP_SET)]
        wanted = {(what, op, standing) for what, op in both for standing in (False, True)}
        wanted |= {("timer", w.OP_RESTART, False), ("note", w.OP_SET, False)}
        assert wanted - done == set()


def test_the_oracle_can_disagree() -> None:
    """A ring that rearms one millisecond late is found out in most sessions."""
    found = 0
    for seed in range(20_000, 20_020):
        plan, session = case(seed, 500, False)
        later = tuple((kind, *times, rearm + 1, rest) for kind, *times, rearm, rest in plan[1])
        player, beside = Player((plan[0], later, *plan[2:]), session), Beside(plan, session)
        for step in player.steps:
            player.step(step)
            beside.step(step)
        found += difference(player.out, beside.oracle.records) != ""
    assert found > 5


def test_a_request_at_a_pulses_end_comes_before_the_end_of_refresh_every() -> None:
    """A pulse's end comes first in its millisecond, then the end of another turnout's `refresh_every`."""
    compare(906_745, "seed 906745")
