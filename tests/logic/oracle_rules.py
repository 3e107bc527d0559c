"""Oracle, rules: event rules, standing rules, followers, timers, cautions, lamps and the feed gate."""

from reedlogic import words as w


class Rules:
    def __init__(self, whole, plan: tuple) -> None:  # type: ignore[no-untyped-def]
        self.whole = whole
        self.plan = plan
        self.at = {event: rules for event, *rules in plan[14]}
        self.relays: set[int] = set()  # relay number
        self.go: set[int] = set()
        self.held: set[int] = set()
        self.ordered: set[int] = set()  # held by an order
        self.timers: set[int] = set()
        self.due: dict[int, int] = {}
        self.left: dict[int, int] = {}  # remaining, while the track power is absent
        self.cautions: set[int] = set()
        self.lit: set[int] = set()  # by rules
        self.shown: set[int] = set()
        self.feeds: set[int] = set()
        self.trains: int = 0
        self.said: set[tuple[int, int]] = set()  # notes and faults of this event
        self.done: set[tuple[str, int, bool]] = set()  # (what, act, standing) that were ever carried out
        self.standing = False

    # ---- reading

    def word(self, word: int) -> int:
        inputs, keeper = self.whole.inputs, self.whole.keeper
        sets = {
            w.W_LEVEL: [i for i, on in inputs.level.items() if on and i < w.WORD_BITS],
            w.W_PANEL: [i - w.WORD_BITS for i, on in inputs.level.items() if on and i >= w.WORD_BITS],
            w.W_RESTING: inputs.resting,
            w.W_POSITION: [i for i, side in keeper.position.items() if side],
            w.W_KNOWN: [i for i in keeper.position if keeper.known(i)],
            w.W_GO: self.go,
            w.W_TIMER: self.timers,
            w.W_HELD: self.held,
            w.W_CAUTION: self.cautions,
        }
        if word < w.W_LEVEL:
            first = word * w.WORD_BITS
            return sum(1 << r - first for r in self.relays if first <= r < first + w.WORD_BITS)
        return sum(1 << bit for bit in sets[word])

    def wrong_bits(self, conditions: tuple) -> list[int]:
        """Inputs of switch conditions that stand otherwise."""
        wrong = []
        for i in range(0, len(conditions), 3):
            word, mask, value = conditions[i : i + 3]
            bits = (self.word(word) ^ value) & mask
            wrong += [b + w.WORD_BITS * (word == w.W_PANEL) for b in range(w.WORD_BITS) if bits >> b & 1]
        return wrong

    def holds(self, conditions: tuple, words: dict | None = None) -> bool:
        for i in range(0, len(conditions), 3):
            word, mask, value = conditions[i : i + 3]
            now = self.word(word) if words is None else words[word]
            if now & mask != value:
                return False
        return True

    def all_words(self) -> dict[int, int]:
        return {word: self.word(word) for word in range(w.W_CAUTION + 1)}

    # ---- one event

    def event(self, t: int, event: int | None, throw=None, place=None, start=None) -> None:  # type: ignore[no-untyped-def]
        """One event, then the turnouts that it asked back to where they lie: each an event of its own."""
        if not self.whole.started:
            self.outputs(t)
            return
        back = self.one_event(t, event, throw, place, start)
        for _ in range(7):
            if not back:
                return
            turnout = min(back)
            back.discard(turnout)
            self.whole.record(t, w.R_POSITION, turnout, self.whole.keeper.position[turnout])
            back |= self.one_event(t, w.E_POSITION << w.EVENT_SHIFT | turnout)
        if back:  # they ask each other back for ever
            self.fault(t, 127, w.F_UNSETTLED)
            self.outputs(t)

    def one_event(self, t: int, event: int | None, throw=None, place=None, start=None) -> set[int]:  # type: ignore[no-untyped-def]
        keeper = self.whole.keeper
        before = self.picture()
        doubtful = [i for i in keeper.wanted if not keeper.known(i)]
        self.said = set()
        asked: set[int] = set()
        restarted: set[int] = set()
        if start:
            self.take_start(start)
        self.place_order(place)
        if throw:
            if keeper.wanted[throw[0]] == throw[1]:
                asked.add(throw[0])
            keeper.wanted[throw[0]] = throw[1]
        if event is not None:
            self.event_rules(t, event, asked, restarted)
        self.standing = True
        culprit = self.standing_rules()
        self.standing = False
        if culprit is not None:
            self.fault(t, culprit, w.F_UNSETTLED)
        self.carry_out(t, before, asked, restarted, start is not None)
        self.outputs(t)
        return {i for i in doubtful if keeper.known(i)}

    def place_order(self, place) -> None:  # type: ignore[no-untyped-def]
        if place and place[0] in (w.O_GO, w.O_HOLD):
            blocks = {b for b in range(self.plan[5][0]) if self.plan[6][place[1]] >> b & 1}
            self.ordered = self.ordered | blocks if place[0] == w.O_HOLD else self.ordered - blocks
            self.held = self.held | blocks if place[0] == w.O_HOLD else self.held - blocks

    def take_start(self, start: tuple) -> None:
        _, relays, positions, go, trains = start
        self.relays = {word * 30 + b for word in range(4) for b in range(30) if relays[word] >> b & 1}
        for turnout in self.whole.keeper.wanted:
            self.whole.keeper.wanted[turnout] = positions >> turnout & 1
        self.go = {b for b in range(30) if go >> b & 1}
        self.trains = trains
        self.timers, self.due, self.left, self.lit, self.cautions = set(), {}, {}, set(), set()

    def event_rules(self, t: int, event: int, asked: set, restarted: set) -> None:
        """All rules of the event read the same state; what they demand is gathered, then done."""
        demands: dict[tuple[str, int], set] = {}
        words = self.all_words()
        for conditions, acts in self.at.get(event, ()):
            if self.holds(conditions, words):
                for key, side in each_act(acts):
                    demands.setdefault(key, set()).add(side)
        for key, sides in sorted(demands.items(), key=lambda item: in_word_order(item[0])):
            side = next(iter(sides))
            if len(sides) > 1 and sides != {w.OP_START, w.OP_RESTART}:
                self.clash(t, *key)
                if key[0] == "relay":
                    side = w.OP_SET if self.plan[4][1 + key[1] // 30] >> key[1] % 30 & 1 else w.OP_CLEAR
                elif key[0] in ("block", "lamp"):
                    side = w.OP_CLEAR
                else:
                    continue
            elif len(sides) > 1:
                side = w.OP_RESTART
            if key[0] == "throw" and self.whole.keeper.wanted[key[1]] == int(side == w.OP_THROW_B):
                asked.add(key[1])
            if side == w.OP_RESTART:
                restarted.add(key[1])
            self.do(key, side)

    def clash(self, t: int, what: str, number: int) -> None:
        words = {"block": w.W_GO, "throw": w.W_WANTED, "timer": w.W_TIMER, "lamp": w.W_LAMP}
        word = number // w.WORD_BITS if what == "relay" else words[what]
        self.whole.record(t, w.R_CLASH, number % w.WORD_BITS, word)

    def do(self, key: tuple[str, int], side: int) -> None:
        what, number = key
        self.done.add((what, side, self.standing))
        if what == "throw":
            self.whole.keeper.wanted[number] = int(side == w.OP_THROW_B)
            return
        if what in ("note", "fault"):
            self.said.add((w.W_NOTE if what == "note" else w.W_FAULT, number))
            return
        bits = {"relay": self.relays, "block": self.go, "timer": self.timers, "lamp": self.lit}
        bits["caution"] = self.cautions
        if side in (w.OP_SET, w.OP_START, w.OP_RESTART):
            bits[what].add(number)
            if what == "caution":
                self.held |= {b for b in range(30) if self.plan[10][number] >> b & 1}
        else:
            bits[what].discard(number)

    def standing_rules(self) -> int | None:
        """Passes until one changes nothing; the rule that changed something last when 8 do not do."""
        last = None
        for _ in range(8):
            first = self.picture()
            for number, (conditions, acts) in enumerate(self.plan[15]):
                before = self.picture()
                holds = self.holds(conditions)
                for key, side in each_act(acts):
                    if side == w.OP_FOLLOW:
                        self.do(key, w.OP_SET if holds else w.OP_CLEAR)
                    elif holds:
                        self.do(key, side)
                if self.picture() != before:
                    last = number
            if self.picture() == first:
                return None
        return last

    def picture(self) -> tuple:
        """All that an act can change."""
        wanted = frozenset(self.whole.keeper.wanted.items())
        return tuple(
            map(
                frozenset,
                (wanted, self.timers, self.relays, self.go, self.lit, self.cautions, self.held, self.said),
            )
        )

    # ---- carrying out

    def carry_out(self, t: int, before: tuple, asked: set, restarted: set, starting: bool) -> None:
        keeper, record = self.whole.keeper, self.whole.record
        wanted, timers, relays, go, lit, cautions, _, _ = before
        for turnout, side in sorted(keeper.wanted.items()):
            if (turnout, side) not in wanted or starting:
                record(t, w.R_THROW, turnout, side)
                keeper.requests.discard(turnout)
                keeper.deferred.pop(turnout, None)
        for turnout in sorted(asked):
            if (turnout, keeper.wanted[turnout]) in wanted and not starting and keeper.known(turnout):
                keeper.asked(t, turnout)
        for timer in sorted(self.timers | timers):
            if timer in self.timers and (timer not in timers or timer in restarted):
                record(t, w.R_TIMER, timer, 1)
                self.set_timer(t, timer)
            elif timer not in self.timers:
                record(t, w.R_TIMER, timer, 0)
                self.due.pop(timer, None)
                self.left.pop(timer, None)
        for kind, new, old in (
            (w.R_RELAY, self.relays, relays),
            (w.R_GO, self.go, go),
            (w.R_LAMP, self.lit, lit),
        ):
            for number in sorted(new ^ old):
                record(t, kind, number, int(number in new))
        for kind, number in sorted(self.said):
            if kind == w.W_NOTE:
                record(t, w.R_NOTE, number)
        for number in sorted(self.cautions - cautions):
            record(t, w.R_CAUTION, number, w.C_RULE)
        for kind, number in sorted(self.said):
            if kind == w.W_FAULT:
                self.fault(t, number, w.F_RULE)

    def set_timer(self, t: int, timer: int) -> None:
        if self.whole.inputs.power_absent():
            self.left[timer] = self.plan[9][timer]
        else:
            self.due[timer] = t + self.plan[9][timer]

    def timer_dues(self, t: int) -> None:
        for timer in range(len(self.plan[9])):
            if self.due.get(timer) == t:
                del self.due[timer]
                self.timers.discard(timer)
                self.whole.record(t, w.R_TIMER, timer, 2)
                self.event(t, w.E_TIMER << w.EVENT_SHIFT | timer)

    def power_changed(self, t: int, level: int) -> None:
        if level:
            self.due |= {timer: t + left for timer, left in self.left.items()}
            self.left = {}
        else:
            self.left = {timer: due - t for timer, due in self.due.items()}
            self.due = {}

    def fault(self, t: int, index: int, cause: int) -> None:
        """Everything at stop; only the first cause is kept."""
        if not self.whole.faulty:
            self.whole.faulty = True
            self.whole.record(t, w.R_FAULT, index, cause)

    def acknowledge(self, t: int) -> None:
        """All cautions go, and the holds that they made; what an order holds stays held."""
        inputs = self.whole.inputs
        for number in sorted(self.cautions):
            self.whole.record(t, w.R_CLEAR, number, w.C_RULE)
        for number in sorted(inputs.warned):
            self.whole.record(t, w.R_CLEAR, number, w.C_REST)
        self.cautions = set()
        inputs.warned = set()
        self.held = set(self.ordered)
        self.whole.faulty = False
        self.event(t, w.E_ACKNOWLEDGE << w.EVENT_SHIFT)

    # ---- outputs

    def outputs(self, t: int) -> None:
        self.whole.tell_mode(t)
        self.feeds_now(t)
        self.lamps_now()

    def feeds_now(self, t: int) -> None:
        count, track = self.plan[5]
        running = self.whole.mode == w.M_RUNNING
        clear = not self.whole.keeper.outstanding()
        feeds = {b for b in self.go - self.held if running and (b in self.feeds or clear)}
        if track and running and (count in self.feeds or clear):
            feeds.add(count)
        for feed in sorted(feeds ^ self.feeds):
            self.whole.record(t, w.R_FEED, feed, int(feed in feeds))
        self.feeds = feeds

    def lamps_now(self) -> None:
        mode, belongs = self.whole.mode, 0
        if mode == w.M_BEFORE and self.whole.chosen() is not None:
            belongs = self.plan[16][self.whole.chosen()][4]
        shown = set()
        for lamp, (source, index) in enumerate(self.plan[12]):
            on = {
                w.L_RULES: lamp in self.lit,
                w.L_BELONGS: belongs >> index & 1,
                w.L_HELD: index in self.held,
                w.L_FED: index in self.feeds,
                w.L_CAUTION: self.cautions or self.whole.inputs.warned,
                w.L_FAULT: mode == w.M_FAULT,
                w.L_RUNNING: mode == w.M_RUNNING,
            }[source]
            if on:
                shown.add(lamp)
        self.shown = shown


def in_word_order(key: tuple[str, int]) -> tuple[int, int]:
    """Clashes are told in the order of the words."""
    what = ("relay", "block", "caution", "lamp", "note", "fault", "throw", "timer")
    return what.index(key[0]), key[1]


def each_act(acts: tuple) -> list[tuple[tuple[str, int], int]]:
    """Acts one by one: ((what, number), op)."""
    flat = []
    names = {w.W_GO: "block", w.W_CAUTION: "caution", w.W_LAMP: "lamp", w.W_NOTE: "note", w.W_FAULT: "fault"}
    for i in range(0, len(acts), 3):
        op, word, mask = acts[i : i + 3]
        for bit in [b for b in range(w.WORD_BITS) if mask >> b & 1]:
            if op in (w.OP_THROW_A, w.OP_THROW_B):
                flat.append((("throw", bit), op))
            elif op in (w.OP_START, w.OP_RESTART, w.OP_CANCEL):
                flat.append((("timer", bit), op))
            elif word < w.W_LEVEL:
                flat.append((("relay", word * w.WORD_BITS + bit), op))
            else:
                flat.append(((names[word], bit), op))
    return flat
