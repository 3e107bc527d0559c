"""The fixed layout of the speed measurements: 12 sensors, 4 turnouts, 24 rules of which 11 standing."""

from reedlogic import words as w

SENSORS = 12
CONFIRM_MS, OPENING_MS, REARM_MS = 5, 20, 200
BLOCKS = 4


def hit(sensor):
    return w.E_HIT << w.EVENT_SHIFT | sensor


def at_rules():
    """13 rules: each sensor has one, sensor 0 two."""
    rules = []
    for i in range(SENSORS):
        turnout = 1 << i % 4
        throw = (w.OP_THROW_A if i < 6 else w.OP_THROW_B, 0, turnout)
        taken = (w.OP_SET, w.W_RELAY, 1 << i, w.OP_CLEAR, w.W_RELAY, 1 << (i + 5) % SENSORS)
        more = (
            ((), throw + taken) if i % 3 == 0 else ((w.W_RELAY, 1 << i, 0), taken + (w.OP_START, 0, turnout))
        )
        rules.append((hit(i), more))
    rules[0] += (((w.W_GO, 1, 1), (w.OP_CLEAR, w.W_GO, 1)),)
    return tuple(rules)


def standing_rules():
    """11 rules: three followers, and eight that send trains on and stop them."""
    rules = [((w.W_RELAY, 3 << 2 * i, 3 << 2 * i), (w.OP_FOLLOW, w.W_RELAY, 1 << 20 + i)) for i in range(3)]
    for i in range(BLOCKS):
        ahead, behind, turnout = 1 << i, 1 << i + 4, 1 << i
        free = (w.W_RELAY, ahead | behind, behind, w.W_KNOWN, turnout, turnout)
        rules.append((free, (w.OP_SET, w.W_GO, 1 << i)))
        rules.append(((w.W_RELAY, ahead | 1 << 20, ahead), (w.OP_CLEAR, w.W_GO, 1 << i)))
    return tuple(rules)


def plan(with_rules=True):
    """The plan; without rules everything else stays as it is."""
    inputs = tuple([(w.IN_SENSOR, CONFIRM_MS, OPENING_MS, REARM_MS, 20000) for _ in range(SENSORS)])
    turnouts = tuple([(2 * i, 2 * i + 1, 80, 0, 0, 30000, 4, 10000, w.NONE, w.NONE, 300) for i in range(4)])
    places = tuple([1 << i for i in range(BLOCKS)])
    return (
        (20, 1000, 600000, 0),
        inputs,
        (),
        (),
        (24, 0, 0, 0, 0),
        (BLOCKS, 0),
        places,
        turnouts,
        ((0, 0, 0, 0),),
        (4000, 5000, 6000, 7000),
        (),
        (0, 0),
        (),
        w.NONE,
        at_rules() if with_rules else (),
        standing_rules() if with_rules else (),
        (((), (0, 0, 0, 0), 0, 15, 15),),
    )
