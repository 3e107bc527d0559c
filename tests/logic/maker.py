"""Draws inputs, conditions, acts and rules of a random plan."""

from random import Random

from reedlogic import words as w

Triples = tuple[int, ...]
SENSOR_TIMES = (1, 5, 1, 8)  # confirm from, to; opening from, to
READABLE = (
    w.W_RELAY,
    w.W_RELAY + 1,
    w.W_LEVEL,
    w.W_PANEL,
    w.W_RESTING,
    w.W_POSITION,
    w.W_KNOWN,
    w.W_GO,
    w.W_TIMER,
    w.W_HELD,
    w.W_CAUTION,
)


class Maker:
    """Draws the parts of one plan; what later parts refer to is kept as counts and lists."""

    def __init__(self, rng: Random, contacts: bool = True, power: bool = True, settled: bool = False) -> None:
        self.rng = rng
        self.contacts = contacts
        self.power = power
        self.settled = settled  # few faults, so that the run goes on
        self.inputs: list[Triples] = []
        self.panel: list[Triples] = []
        self.kinds: dict[int, str] = {}  # input -> sensor, detector, switch, button, contact, power
        self.relays = rng.choice((3, 6, 33))
        self.followers: set[int] = set()
        self.blocks = rng.randint(1, 4)
        self.places = rng.randint(1, 4)
        self.turnouts = rng.randint(0, 4) if contacts else rng.randint(1, 4)
        self.timers = rng.randint(1, 4)
        self.cautions = rng.randint(1, 3)
        self.notes = rng.randint(1, 2)
        self.faults = rng.randint(0, 1)
        self.lamps = tuple(
            w.L_RULES if rng.randrange(2) else rng.randint(1, w.L_RUNNING) for _ in range(rng.randint(0, 5))
        )
        self.free_lamps = [i for i, source in enumerate(self.lamps) if source == w.L_RULES]
        self.feeding: set[int] = set()  # sensors whose hit throws or feeds

    def chance(self, percent: int) -> bool:
        return self.rng.randrange(100) < percent

    # ---- inputs

    def input(self, kind: str) -> int:
        """One input at a GPIO or at the panel; its number."""
        rng = self.rng
        on_panel = kind in ("switch", "button", "detector", "contact") and self.chance(40)
        place = self.panel if on_panel else self.inputs
        number = len(place) + (w.WORD_BITS if on_panel else 0)
        a, b, c, d = SENSOR_TIMES
        confirm, opening = rng.randint(a, b), rng.randint(c, d)
        if kind == "sensor":
            rearm = rng.choice((0, 1, rng.randint(1, 50), rng.randint(1, 50)))
            if number in self.feeding:
                rearm = max(rearm, 1)
            rest = rng.choice((0, rng.randint(20, 200), rng.randint(20, 200)))
            place.append((w.IN_SENSOR, confirm, opening, rearm, rest))
        else:
            place.append((w.IN_BUTTON if kind == "button" else w.IN_LEVEL, confirm, opening, 0, 0))
        self.kinds[number] = kind
        return number

    def of_kind(self, *kinds: str) -> list[int]:
        return [number for number, kind in sorted(self.kinds.items()) if kind in kinds]

    # ---- conditions and acts

    def bits(self, word: int) -> list[int]:
        """The bits of a word that this plan uses."""
        if word in (w.W_RELAY, w.W_RELAY + 1):
            first = (word - w.W_RELAY) * w.WORD_BITS
            return list(range(max(0, min(w.WORD_BITS, self.relays - first))))
        if word == w.W_LEVEL:
            return [number for number in self.kinds if number < w.WORD_BITS]
        if word == w.W_PANEL:
            return [number - w.WORD_BITS for number in self.kinds if number >= w.WORD_BITS]
        if word == w.W_RESTING:
            return self.of_kind("sensor")
        counts = {w.W_GO: self.blocks, w.W_HELD: self.blocks, w.W_TIMER: self.timers}
        counts |= {w.W_CAUTION: self.cautions}
        return list(range(counts.get(word, self.turnouts)))

    def conditions(self, most: int = 3, words: tuple[int, ...] = READABLE) -> Triples:
        masks: dict[int, int] = {}
        values: dict[int, int] = {}
        for _ in range(self.rng.randint(0, most)):
            word = self.rng.choice(words)
            bits = self.bits(word)
            if not bits:
                continue
            bit = 1 << self.rng.choice(bits)
            if masks.get(word, 0) & bit:
                continue
            masks[word] = masks.get(word, 0) | bit
            values[word] = values.get(word, 0) | (bit if self.chance(50) else 0)
            if word == w.W_POSITION:  # "lies there and known"
                masks[w.W_KNOWN] = masks.get(w.W_KNOWN, 0) | bit
                values[w.W_KNOWN] = values.get(w.W_KNOWN, 0) | bit
        return tuple(n for word in sorted(masks) for n in (word, masks[word], values[word]))

    def act(self, standing: bool) -> tuple[int, int, int] | None:
        """One act (op, word, mask) or None where the drawn kind has no target."""
        rng = self.rng
        kind = rng.choice("rrrrbbbtttsssl" + ("" if standing else "xn") + ("c" if self.chance(40) else "b"))
        if kind == "r":
            free = [r for r in range(self.relays) if r not in self.followers]
            relay = rng.choice(free)
            word, bit = relay // w.WORD_BITS, 1 << relay % w.WORD_BITS
            return rng.choice((w.OP_SET, w.OP_CLEAR)), w.W_RELAY + word, bit
        if kind == "b":
            op = rng.choice((w.OP_SET, w.OP_SET, w.OP_CLEAR))
            return op, w.W_GO, 1 << rng.randrange(self.blocks)
        if kind == "t" and self.turnouts:
            mask = 1 << rng.randrange(self.turnouts)
            if self.chance(30):
                mask |= 1 << rng.randrange(self.turnouts)
            return rng.choice((w.OP_THROW_A, w.OP_THROW_B)), 0, mask
        if kind == "s":
            return rng.choice((w.OP_START, w.OP_START, w.OP_CANCEL)), 0, 1 << rng.randrange(self.timers)
        if kind == "x":
            return w.OP_RESTART, 0, 1 << rng.randrange(self.timers)
        if kind == "l" and self.free_lamps:
            return rng.choice((w.OP_SET, w.OP_CLEAR)), w.W_LAMP, 1 << rng.choice(self.free_lamps)
        if kind == "n":
            return w.OP_SET, w.W_NOTE, 1 << rng.randrange(self.notes)
        if kind == "c":
            if self.faults and self.chance(8 if self.settled else 35):
                return w.OP_SET, w.W_FAULT, 1 << rng.randrange(self.faults)
            return w.OP_SET, w.W_CAUTION, 1 << rng.randrange(self.cautions)
        return None

    def acts(self, standing: bool, most: int = 3) -> Triples:
        """Acts of one rule that do not contradict each other, one triple per op and word."""
        merged: dict[tuple[int, int], int] = {}
        taken: set[tuple[str, int, int]] = set()
        for _ in range(self.rng.randint(1, most)):
            act = self.act(standing)
            if act is None:
                continue
            op, word, mask = act
            group = "throw" if op in (w.OP_THROW_A, w.OP_THROW_B) else "timer" if op >= w.OP_START else "bit"
            bits = [b for b in range(w.WORD_BITS) if mask >> b & 1 and (group, word, b) not in taken]
            taken.update((group, word, b) for b in bits)
            if bits:
                merged[op, word] = merged.get((op, word), 0) | sum(1 << b for b in bits)
        return tuple(n for (op, word), mask in merged.items() for n in (op, word, mask))

    # ---- rules

    def at_rules(self) -> tuple[tuple, ...]:
        events = [kind << w.EVENT_SHIFT for kind in range(w.E_START, w.E_ACKNOWLEDGE + 1)]
        kinds = {"sensor": range(w.E_HIT, w.E_REST + 1), "button": (w.E_HIT, w.E_OPENING)}
        for number, kind in self.kinds.items():
            own = kinds.get(kind, (w.E_ON, w.E_OFF))
            weight = 3 if kind == "sensor" else 1
            events += [
                e << w.EVENT_SHIFT | number for e in own if e != w.E_REST or number < w.WORD_BITS
            ] * weight
        events += [w.E_TIMER << w.EVENT_SHIFT | t for t in range(self.timers)] * 3
        events += [w.E_POSITION << w.EVENT_SHIFT | t for t in range(self.turnouts)] * 2
        for kind in range(w.E_GO, w.E_LIFT_OFF + 1):
            events += [kind << w.EVENT_SHIFT | place for place in range(self.places)]
        rules: dict[int, list[tuple]] = {}
        for _ in range(self.rng.randint(2, 24)):
            acts = self.acts(standing=False)
            if acts:
                rules.setdefault(self.rng.choice(events), []).append((self.conditions(), acts))
        return tuple((event, *rules[event]) for event in sorted(rules))

    def standing(self) -> tuple[tuple, ...]:
        rules = []
        for relay in sorted(self.followers):
            word, bit = relay // w.WORD_BITS, 1 << relay % w.WORD_BITS
            conditions = self.conditions(3, tuple(x for x in READABLE if x != w.W_RELAY + word))
            if not self.settled and self.chance(5):  # in while out: never settles
                conditions = (w.W_RELAY + word, bit, 0)
            rules.append((conditions, (w.OP_FOLLOW, w.W_RELAY + word, bit)))
        for _ in range(self.rng.choice((0, 1, 3, 6))):
            acts, conditions = self.acts(standing=True, most=2), self.conditions()
            if acts and conditions:
                rules.append((conditions, acts))
        stop = self.conditions(4)
        if self.faults and stop and self.chance(5 if self.settled else 25):
            rules.append((stop, (w.OP_SET, w.W_FAULT, 1)))
        return tuple(rules)


def mends_rearm(inputs: list[Triples], at_rules: tuple[tuple, ...]) -> tuple[Triples, ...]:
    """A rearm of 0 is refused for a sensor whose hit throws or feeds: those get 1 ms."""
    mended = list(inputs)
    for event, *rules in at_rules:
        kind, number = event >> w.EVENT_SHIFT, event & w.NONE
        if kind == w.E_HIT and number < len(inputs) and inputs[number][0] == w.IN_SENSOR:
            acts = [(a[i], a[i + 1]) for _, a in rules for i in range(0, len(a), 3)]
            if any(op in (w.OP_THROW_A, w.OP_THROW_B) or word == w.W_GO for op, word in acts):
                kind_, confirm, opening, rearm, rest = inputs[number]
                mended[number] = (kind_, confirm, opening, max(rearm, 1), rest)
    return tuple(mended)
