"""Random valid plans (what a board file holds); one seed fixes one plan."""

from random import Random

from logic.maker import Maker, mends_rearm
from reedlogic import words as w

Plan = tuple


def random_plan(seed: int, contacts: bool = True, power: bool = True, settled: bool = False) -> Plan:
    """The plan of this seed. Times are small so that much happens in few milliseconds."""
    m = Maker(Random(seed * 2 + 1), contacts, power, settled)
    rng = m.rng
    for kind, most in (("sensor", 4), ("detector", 2), ("switch", 2), ("button", 3)):
        for _ in range(rng.randint(1 if kind == "sensor" else 0, most)):
            m.input(kind)
    turnouts = draw_turnouts(m)
    power_input = m.input("power") if m.power and m.chance(25) else w.NONE
    m.followers = {r for r in range(m.relays) if r < 5 and m.chance(25)}
    if len(m.followers) == m.relays:
        m.followers.discard(0)
    at_rules = m.at_rules()
    late = rng.choice((2, 5, 20))
    pause = rng.choice((1, rng.randint(2, 30), 8 * max((t[2] for t in turnouts), default=5) + late + 1))
    return (
        (late, pause, rng.choice((rng.randint(50, 400), 2000)), 0),
        mends_rearm(m.inputs, at_rules),
        tuple(m.panel),
        draw_orders(m),
        (m.relays, safe_word(m, 0), safe_word(m, 1), 0, 0),
        (m.blocks, rng.randint(0, 1)),
        tuple(0 if m.chance(20) else 1 << rng.randrange(m.blocks) for _ in range(m.places)),
        turnouts,
        draw_supplies(m),
        tuple(rng.choice((rng.randint(1, 20), rng.randint(1, 300))) for _ in range(m.timers)),
        tuple(0 if m.chance(40) else 1 << rng.randrange(m.blocks) for _ in range(m.cautions)),
        (m.notes, m.faults),
        draw_lamps(m),
        power_input,
        at_rules,
        m.standing(),
        draw_starts(m),
    )


def safe_word(m: Maker, word: int) -> int:
    """Relays that go in when two rules clash."""
    return sum(1 << b for b in m.bits(w.W_RELAY + word) if m.chance(30))


def draw_turnouts(m: Maker) -> tuple[tuple, ...]:
    """Coils in any order; a turnout waits only for those earlier in a drawn order, so no ring arises."""
    rng = m.rng
    count = m.turnouts
    coils = list(range(2 * count))
    rng.shuffle(coils)
    order = list(range(count))
    rng.shuffle(order)
    after = [0] * count
    for place, turnout in enumerate(order):
        for earlier in order[:place]:
            if m.chance(30):
                after[turnout] |= 1 << earlier
    turnouts = []
    for i in range(count):
        contacts = [w.NONE, w.NONE]
        if m.contacts and m.chance(30):
            which = rng.choice(((0,), (1,), (0, 1)))
            for side in which:
                contacts[side] = m.input("contact")
        turnouts.append(
            (
                coils[2 * i],
                coils[2 * i + 1],
                rng.randint(5, 40),
                rng.randrange(3),
                after[i],
                rng.choice((rng.randint(1, 50), rng.randint(50, 500))),
                rng.choice((1, 2, 3, 20)),
                rng.choice((rng.randint(10, 100), rng.randint(100, 500))),
                contacts[0],
                contacts[1],
                rng.randint(5, 60),
            )
        )
    return tuple(turnouts)


def draw_supplies(m: Maker) -> tuple[tuple, ...]:
    """Three supplies: one plain, the others with recharge and perhaps an output with lead and trail."""
    supplies = [(0, 0, 0, 0)]
    for _ in range(2):
        output = m.rng.randint(0, 1)
        lead, trail = (m.rng.randint(0, 20), m.rng.randint(0, 20)) if output else (0, 0)
        supplies.append((m.rng.choice((0, m.rng.randint(1, 120))), lead, trail, output))
    return tuple(supplies)


def draw_orders(m: Maker) -> tuple[int, ...]:
    """What the buttons order; a button is free for the rules now and then."""
    flat: list[int] = []
    plain = (w.O_START, w.O_STOP, w.O_GO_ON, w.O_GO_ON, w.O_ACKNOWLEDGE, w.O_GO, w.O_HOLD)
    for number in m.of_kind("button"):
        if m.chance(70):
            order = m.rng.choice(plain)
            value = m.rng.randrange(m.places) if order in (w.O_GO, w.O_HOLD) else 0
            flat += [number, order, w.NONE if order == w.O_START else value]
    return tuple(flat)


def draw_lamps(m: Maker) -> tuple[tuple[int, int], ...]:
    lamps = []
    for source in m.lamps:
        count = {w.L_BELONGS: m.places, w.L_HELD: m.blocks, w.L_FED: m.blocks}.get(source, 1)
        lamps.append((source, m.rng.randrange(count)))
    return tuple(lamps)


def draw_starts(m: Maker) -> tuple[tuple, ...]:
    """One start without switches at the end, so that most sessions can begin."""
    starts = []
    for last in (False,) * m.rng.randint(0, 2) + (True,):
        relays = [sum(1 << b for b in m.bits(w.W_RELAY + word) if m.chance(30)) for word in (0, 1)] + [0, 0]
        free = [relays[0] & ~sum(1 << f for f in m.followers if f < w.WORD_BITS), *relays[1:]]
        switches = {number: m.rng.randint(0, 1) for number in m.of_kind("switch") if m.chance(70)}
        starts.append(
            (
                () if last else switch_conditions(switches),
                tuple(free),
                sum(1 << t for t in range(m.turnouts) if m.chance(50)),
                sum(1 << b for b in range(m.blocks) if m.chance(50)),
                sum(1 << p for p in range(m.places) if m.chance(50)),
            )
        )
    return tuple(starts)


def switch_conditions(switches: dict[int, int]) -> tuple[int, ...]:
    flat: tuple[int, ...] = ()
    for word, first in ((w.W_LEVEL, 0), (w.W_PANEL, w.WORD_BITS)):
        mine = {n - first: on for n, on in switches.items() if first <= n < first + w.WORD_BITS}
        if mine:
            flat += (word, sum(1 << b for b in mine), sum(on << b for b, on in mine.items()))
    return flat
