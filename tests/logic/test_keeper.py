"""The coil keeper and the feed gate under arbitrary rules, inputs, orders and clock jumps."""

from logic.drive import Player
from logic.runs import SHARED, case, shared_run
from logic.watch import GateWatch, KeeperWatch


def watched(plan: tuple, session: tuple, every_ms: bool, again: str) -> tuple[KeeperWatch, GateWatch]:
    """Plays a session; after each scan the keeper's and the gate's promises are looked at."""
    player = Player(plan, session, records=20_000)
    keeper, gate = KeeperWatch(plan), GateWatch(player.controller, plan)
    told = [0]

    finish = player.finish

    def look(t: int) -> None:
        finish(t)
        try:
            for record in player.out[told[0] :]:
                keeper.record(*record)
            told[0] = len(player.out)
            keeper.instant_over(t, player.controller)
            gate.look()
        except AssertionError as wrong:
            raise AssertionError(f"at {t}: {wrong}; {again}") from wrong

    player.finish = look  # type: ignore[method-assign]
    for step in player.steps:
        player.step(step, every_ms)
    begun = [(t, coil) for coil, times in keeper.pulses.items() for t in times]
    if every_ms:  # each pulse is handed over in the very scan that recorded it
        assert sorted(begun) == sorted((t, coil) for t, coil, _ in player.pulses), again
    return keeper, gate


def test_coils_and_feeds_every_millisecond(seeds) -> None:  # type: ignore[no-untyped-def]
    pulses = newly = waited = 0
    for seed in seeds.of(30_000, 250):
        keeper, gate = watched(*case(seed), True, seeds.again(seed))
        pulses += sum(map(len, keeper.pulses.values()))
        newly, waited = newly + gate.newly, waited + gate.waited
    assert seeds.only is not None or (pulses > 400 and newly > 150 and waited > 400)


def test_coils_and_feeds_in_jumps(seeds) -> None:  # type: ignore[no-untyped-def]
    for seed in seeds.of(31_000, 100):
        plan, session = case(seed, idles=800)
        watched(plan, session, False, seeds.again(seed))


def test_shared_runs_keep_the_coils(seeds) -> None:  # type: ignore[no-untyped-def]
    """The same books over the records alone, as they would be kept over a session log."""
    for seed in seeds.of(0, SHARED):
        plan, _, records = shared_run(seed)
        keeper = KeeperWatch(plan)
        for record in records:
            keeper.record(*record)


def test_the_watch_sees_what_is_wrong() -> None:
    """Tampered records are found: a pulse too long, two at once, one too early, one too many."""
    found = set()
    for seed in range(60):
        plan, _, records = shared_run(seed)
        for name, tamper in TAMPERING.items():
            keeper = KeeperWatch(plan)
            try:
                for record in records:
                    for one in tamper(record):
                        keeper.record(*one)
            except AssertionError:
                found.add(name)
    assert found == set(TAMPERING)


PULSE, PULSE_END = 15, 16
TAMPERING = {
    "longer": lambda r: [(*r[:3], r[3] + 1)] if r[1] == PULSE else [r],
    "cut": lambda r: [(r[0] - 1, *r[1:])] if r[1] == PULSE_END else [r],
    "twice": lambda r: [r, r] if r[1] == PULSE else [r],
    "early": lambda r: [r, (r[0] + 1, PULSE, r[2], 0)] if r[1] == PULSE_END else [r],
}
