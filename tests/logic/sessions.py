"""Random sessions: raw words, orders and late scans over time; one seed fixes one session."""

from random import Random

from reedlogic import words as w

RING = 1 << 29
# A step: (t unwrapped ms, raw word, panel word, gap of a late scan or 0, ((order, value), ...))
Step = tuple[int, int, int, int, tuple[tuple[int, int], ...]]
Session = tuple[
    int, int, int, tuple[Step, ...]
]  # ring time at t = 0, first raw word, first panel word, steps


class Sketch:
    """Level changes of all inputs and orders, gathered by time before they become steps."""

    def __init__(self, rng: Random, plan: tuple, span: int) -> None:
        self.rng = rng
        self.plan = plan
        self.span = span
        self.flips: dict[int, list[tuple[int, int]]] = {}  # t -> (input, level)
        self.orders: dict[int, list[tuple[int, int]]] = {}

    def flip(self, t: int, number: int, level: int) -> None:
        if 0 < t < self.span:
            self.flips.setdefault(t, []).append((number, level))

    def times(self, number: int) -> tuple[int, ...]:
        inputs = self.plan[2] if number >= w.WORD_BITS else self.plan[1]
        return inputs[number % w.WORD_BITS]

    def bounce(self, t: int, number: int, level: int) -> int:
        """A contact comes to `level` with bounces shorter than its confirm time."""
        for _ in range(self.rng.choice((0, 0, 1, 3))):
            self.flip(t, number, level)
            t += self.rng.randint(1, 2)
            self.flip(t, number, 1 - level)
            t += self.rng.randint(1, 2)
        self.flip(t, number, level)
        return t

    def gesture(self, t: int, number: int) -> None:
        """One thing that happens to an input: a pass, a glitch, an exact closing, a stay, chatter."""
        rng = self.rng
        _, confirm, opening, rearm, rest = self.times(number)
        what = rng.choice(("pass", "pass", "pass", "glitch", "exact", "stay", "chatter"))
        if what == "pass":
            t = self.bounce(t, number, 1) + confirm + rng.randint(0, 40)
            self.bounce(t, number, 0)
        elif what == "glitch":
            self.flip(t, number, 1)
            self.flip(t + rng.randint(1, confirm), number, 0)
        elif what == "exact":  # opens and closes exactly when something is confirmed
            self.flip(t, number, 1)
            self.flip(t + confirm, number, 0)
            self.flip(t + confirm + opening + rng.choice((0, 0, rearm)), number, 1)
            self.flip(t + confirm + opening + rearm + confirm + rng.randint(0, 20), number, 0)
        elif what == "stay":
            self.bounce(t, number, 1)
            self.bounce(t + max(rest, 1) + rng.randint(-5, 60) + confirm, number, 0)
        else:
            for _ in range(rng.randint(2, 12)):
                self.flip(t, number, 1)
                t += confirm + rng.randint(-1, 6)
                self.flip(t, number, 0)
                t += opening + rng.randint(-1, max(1, rearm))

    def order(self, t: int) -> None:
        rng, places = self.rng, len(self.plan[6])
        turnouts = max(1, len(self.plan[7]))
        which = rng.choice("sgggaaaphtttnuloob")
        order = {
            "s": (w.O_STOP, 0),
            "g": (w.O_GO_ON, 0),
            "a": (w.O_ACKNOWLEDGE, 0),
            "p": (w.O_GO, rng.randrange(places)),
            "h": (w.O_HOLD, rng.randrange(places)),
            "t": (w.O_THROW, rng.randrange(turnouts) * 2 + rng.randint(0, 1)),
            "n": (w.O_SET_ON, rng.randrange(places)),
            "l": (w.O_LIFT_OFF, rng.randrange(places)),
            "u": (rng.randint(w.O_GO, w.O_LIFT_OFF), rng.choice((29, 40))),  # unknown place
            "o": (w.O_START, rng.choice((w.NONE, rng.randrange(len(self.plan[16])), 20))),
            "b": (w.O_BOARD_FAULT, rng.choice((w.F_LATE, w.F_OUT_OF_STEP, w.F_BOARD)) * 64 + t % 3),
        }[which]
        if which in "ub" and rng.randrange(4):
            order = (w.O_GO, rng.randrange(places))
        self.orders.setdefault(t, []).append(order)


def random_session(
    seed: int,
    plan: tuple,
    span: int = 1500,
    idles: int = 0,
    lates: bool = True,
    upkeep: bool = True,
) -> Session:
    """A session of about `span` ms for this plan; with `idles` quiet times up to that long lie between."""
    rng = Random(seed * 2)
    sketch = Sketch(rng, plan, span)
    inputs = [*range(len(plan[1])), *(w.WORD_BITS + i for i in range(len(plan[2])))]
    first = sum(1 << i for i in inputs if rng.randrange(8) == 0)
    for _ in range(rng.choice((5, 20, 40)) if inputs else 0):
        t = rng.randrange(1, span)
        for _ in range(rng.choice((1, 1, 1, 2, 4))):  # several at the same instant
            sketch.gesture(t, rng.choice(inputs))
    begin = rng.choice((1, rng.randrange(1, 60)))
    choice = rng.choice((w.NONE, w.NONE, rng.randrange(len(plan[16]))))
    maintenance = rng.randrange(40) == 0 and upkeep
    if rng.randrange(30):
        sketch.orders[begin] = [(w.O_MAINTENANCE, 0) if maintenance else (w.O_START, choice)]
    for _ in range(rng.choice((0, 2, 8, 20))):
        sketch.order(rng.randrange(1, span))
    ring_time = rng.choice((0, rng.randrange(RING), RING - rng.randrange(1, span), RING // 2 - 3))
    gaps = draw_gaps(rng, plan[0][0], span) if lates and rng.randrange(2) else []
    steps = to_steps(sketch, first, gaps)
    if idles:
        steps = with_idles(steps, rng, idles)
    mask = (1 << w.WORD_BITS) - 1
    return ring_time, first & mask, first >> w.WORD_BITS, steps


def to_steps(sketch: Sketch, first: int, gaps: list[tuple[int, int]]) -> tuple[Step, ...]:
    """Steps at each time where something changes; what happens inside a gap is seen at its end."""

    def seen(t: int) -> int:
        return next((b for a, b in gaps if a < t < b), t)

    flips: dict[int, list[tuple[int, int]]] = {}
    orders: dict[int, list[tuple[int, int]]] = {}
    for t in sorted(sketch.flips):
        flips.setdefault(seen(t), []).extend(sketch.flips[t])
    for t in sorted(sketch.orders):
        orders.setdefault(seen(t), []).extend(sketch.orders[t])
    length = {b: b - a for a, b in gaps}
    steps, levels, mask = [], first, (1 << w.WORD_BITS) - 1
    for t in sorted({*flips, *orders, *length, sketch.span}):
        for number, level in flips.get(t, ()):
            levels = levels & ~(1 << number) | level << number
        steps.append((t, levels & mask, levels >> w.WORD_BITS, length.get(t, 0), tuple(orders.get(t, ()))))
    return tuple(steps)


def draw_gaps(rng: Random, late_ms: int, span: int) -> list[tuple[int, int]]:
    """Times without a scan (last scan, late scan), each longer than late_ms; some touch."""
    gaps, t = [], rng.randrange(span)
    while t < span and len(gaps) < 4:
        length = late_ms + rng.choice((1, rng.randint(1, 10), rng.randint(1, 200)))
        if t + length < span:
            gaps.append((t, t + length))
        t += length + rng.choice((0, 1, rng.randrange(span)))
    return gaps


def with_idles(steps: tuple[Step, ...], rng: Random, longest: int) -> tuple[Step, ...]:
    """The same steps with long quiet times between, each cut into jumps of at most 2^27 ms."""
    idle, moved = 0, []
    for t, raw, panel, gap, orders in steps:
        if moved and not gap and rng.randrange(8) == 0:
            for _ in range(rng.choice((1, 1, 6))):
                jump = rng.randint(1, longest)
                idle += jump
                moved.append((moved[-1][0] + jump, moved[-1][1], moved[-1][2], 0, ()))
        moved.append((t + idle, raw, panel, gap, orders))
    return tuple(moved)
