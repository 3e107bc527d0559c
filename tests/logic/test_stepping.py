"""Looking every millisecond, at random times, or only where something happens gives the same records."""

from random import Random

from logic.drive import Player, play
from logic.runs import case, difference
from logic.sessions import RING
from reedlogic.ring import JUMP_MS_MAX

HOUR_MS = 3_600_000  # added to the timers where days go by: some rules start a timer again and again
FOUND = (711_223, 713_033)  # an early look for a deadline that had been dropped cost the keeper its turn


def test_each_millisecond_and_jumps_agree(seeds) -> None:  # type: ignore[no-untyped-def]
    for seed in (*seeds.of(0, 400), *FOUND):
        plan, session = case(seed)
        told = difference(play(plan, session, every_ms=True), play(plan, session))
        assert not told, f"{told}; {seeds.again(seed)}"


def test_looking_at_random_times_changes_nothing(seeds) -> None:  # type: ignore[no-untyped-def]
    """Extra scans between the steps, also where nothing is due; quiet times of up to 37 hours."""
    for seed in seeds.of(5000, 120):
        plan, session = case(seed, idles=JUMP_MS_MAX - 100_000)
        plan = (*plan[:9], tuple(HOUR_MS + ms for ms in plan[9]), *plan[10:])
        rng = Random(seed)
        told = difference(play(plan, session), looked_at(plan, session, rng))
        assert not told, f"{told}; {seeds.again(seed)}"


def looked_at(plan: tuple, session: tuple, rng: Random) -> list:
    player = Player(plan, session)
    for step in player.steps:
        t, _, _, gap, _ = step
        until = t - gap if gap else t - 1
        for _ in range(rng.choice((0, 1, 3))):
            if player.t < until:
                ms = rng.randint(player.t + 1, min(until, player.t + rng.choice((3, 100, JUMP_MS_MAX))))
                player.controller.scan((player.base + ms) & (RING - 1), player.raw, player.panel)
                player.finish(ms)
        player.step(step)
    return player.out


def test_the_place_on_the_ring_does_not_matter(seeds) -> None:  # type: ignore[no-untyped-def]
    """The same session with the ring running over at another moment of it."""
    for seed in seeds.of(6000, 80):
        plan, (_, raw, panel, steps) = case(seed)
        at = [play(plan, (base, raw, panel, steps)) for base in (0, RING - 1, RING - 77, RING // 2 - 99)]
        for other in at[1:]:
            told = difference(at[0], other)
            assert not told, f"{told}; {seeds.again(seed)}"


def test_the_comparison_can_fail(seeds) -> None:  # type: ignore[no-untyped-def]
    """Late scans hide edges: with its gaps taken out of the session the records differ in many runs."""
    differing = 0
    for seed in range(40):
        plan, (base, raw, panel, steps) = case(seed)
        prompt = tuple((t, r, p, 0, orders) for t, r, p, _, orders in steps)
        differing += play(plan, (base, raw, panel, steps)) != play(plan, (base, raw, panel, prompt))
    assert differing > 5
