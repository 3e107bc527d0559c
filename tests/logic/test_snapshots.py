"""A snapshot taken anywhere and restored at any time of the ring changes nothing that follows."""

from random import Random

from logic.drive import Player
from logic.runs import case, difference
from logic.sessions import RING
from reedlogic import snapshot


def test_restored_runs_go_on_as_the_first_did(seeds) -> None:  # type: ignore[no-untyped-def]
    """The second controller is new, takes the snapshot at another time of the ring, and does the same."""
    for seed in seeds.of(10_000, 400):
        plan, session = case(seed)
        rng = Random(seed)
        first, second = Player(plan, session), Player(plan, session)
        cut = rng.randrange(len(first.steps))
        for step in first.steps[:cut]:
            first.step(step)
        data = snapshot.save(first.controller, (first.base + first.t) & (RING - 1))
        assert all(isinstance(n, int) and 0 <= n < 1 << 30 for n in data), seeds.again(seed)
        second.base = rng.choice((0, RING - 1, RING - first.t - 30, rng.randrange(RING)))
        second.t, second.raw, second.panel = first.t, first.raw, first.panel
        snapshot.restore(second.controller, data, (second.base + second.t) & (RING - 1))
        again = snapshot.save(second.controller, (second.base + second.t) & (RING - 1))
        assert again == data, seeds.again(seed)
        first.out.clear()
        for step in first.steps[cut:]:
            first.step(step)
            second.step(step)
            a, b = first.controller, second.controller
            assert (a.logic.feeds, a.logic.lamps) == (b.logic.feeds, b.logic.lamps)
            assert a.keeper.supply_out == b.keeper.supply_out
        told = difference(first.out, second.out)
        assert not told, f"cut before step {cut}: {told}; {seeds.again(seed)}"
        assert first.pulses[-1:] == second.pulses[-1:] or not second.pulses


def test_many_snapshots_in_one_run(seeds) -> None:  # type: ignore[no-untyped-def]
    """Moved to a new controller before every step of the session."""
    for seed in seeds.of(11_000, 40):
        plan, session = case(seed)
        first, second = Player(plan, session), Player(plan, session)
        for step in first.steps:
            now = (second.base + second.t) & (RING - 1)
            data = snapshot.save(second.controller, now)
            fresh = Player(plan, session)
            snapshot.restore(fresh.controller, data, now)
            second.controller = fresh.controller
            first.step(step)
            second.step(step)
        told = difference(first.out, second.out)
        assert not told, f"{told}; {seeds.again(seed)}"


def test_a_snapshot_of_other_state_differs() -> None:
    """What is compared does hold the state: two runs apart have different snapshots."""
    seen = set()
    for seed in range(20):
        plan, session = case(seed)
        player = Player(plan, session)
        for step in player.steps[: 1 + len(player.steps) // 2]:
            player.step(step)
            now = (player.base + player.t) & (RING - 1)
            seen.add(tuple(snapshot.save(player.controller, now)))
    assert len(seen) > 200
