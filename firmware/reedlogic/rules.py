"""Rules on words: conditions, the rules of one event, and the standing rules that settle after it."""

from .bare import bare, ptr8, ptr32
from .ring import INDEX
from .tables import table
from .words import (
    EVENT_SHIFT,
    OP_CANCEL,
    OP_CLEAR,
    OP_FOLLOW,
    OP_RESTART,
    OP_SET,
    OP_START,
    OP_THROW_A,
    OP_THROW_B,
    PLAN_AT,
    PLAN_CAUTIONS,
    PLAN_RELAYS,
    PLAN_STANDING,
    R_CLASH,
    W_ASKED,
    W_CAUTION,
    W_HELD,
    W_KNOWN,
    W_LEVEL,
    W_PANEL,
    W_POSITION,
    W_RESTART,
    W_RESTING,
    W_TIMER,
    W_WANTED,
    WORDS,
)

PASSES_MAX = 8  # of the standing rules in one event
EVENT_NUMBERS = 17 << EVENT_SHIFT
SETTLED = -1  # what settled() gives when the rules have come to rest
# What the rules of one event ask for, beside bits to set and to clear: words touched, turnouts, timers.
TOUCHED, TO_A, TO_B, STARTS, RESTARTS, CANCELS = 0, 1, 2, 3, 4, 5


STIRRED = 1 << W_LEVEL | 1 << W_PANEL | 1 << W_RESTING | 1 << W_TIMER | 1 << W_POSITION | 1 << W_KNOWN


def watched_words(standing: tuple, masks: list) -> bool:
    """Add to masks what standing rules read or write: while these bits rest, a pass changes nothing.

    True when no rule changes what itself or an earlier one reads: then a second pass changes nothing.
    """
    is_one_pass = True
    read = [0] * WORDS
    for conditions, acts in standing:
        for j in range(0, len(conditions), 3):
            read[conditions[j]] |= conditions[j + 1]
        for j in range(0, len(acts), 3):
            op, k, mask = acts[j], acts[j + 1], acts[j + 2]
            if op == OP_THROW_A or op == OP_THROW_B:
                k = W_WANTED
                masks[W_KNOWN] |= mask
                is_one_pass = is_one_pass and not read[W_KNOWN] & mask
            elif op == OP_START or op == OP_CANCEL:
                k = W_TIMER
            elif k == W_CAUTION:
                masks[W_HELD] = (1 << 30) - 1
                is_one_pass = is_one_pass and not read[W_HELD]
            masks[k] |= mask
            is_one_pass = is_one_pass and not read[k] & mask
    for k in range(WORDS):
        masks[k] |= read[k]
    return is_one_pass


def add_rules(rules: tuple, to: list) -> None:
    """Append rules (conditions, acts) to a table: where the acts begin, where they end, and both."""
    for conditions, acts in rules:
        acts_at = len(to) + 2 + len(conditions)
        to.append(acts_at)
        to.append(acts_at + len(acts))
        for number in conditions:
            to.append(number)
        for number in acts:
            to.append(number)


def standing_rules(rules: tuple, is_one_pass: bool) -> list:
    """The standing rules in one table: its length, 1 where a second pass changes nothing, the rules."""
    made = table((0, 1 if is_one_pass else 0))
    add_rules(rules, made)
    made[0] = len(made)
    return made


def event_rules(events: tuple) -> list:
    """The rules of all events in one table: where each event's are; then of each where they end, and they."""
    made = table([0] * len(events))
    for i in range(len(events)):
        made[i] = len(made)
        made.append(0)
        add_rules(events[i][1:], made)
        made[made[i]] = len(made)
    return made


def pairs(masks: list, chosen: int) -> list:
    """The words with a mask, of those chosen: the table's length, then word and mask of each."""
    made = table((0,))
    for k in range(WORDS):
        if masks[k] and chosen >> k & 1:
            made.append(k)
            made.append(masks[k])
    made[0] = len(made)
    return made


class Rules:
    """The words and the rules over them. All rules of one event read the state before it."""

    # Beyond 30 attributes CPython is slower at all of them; slots do not count. To MicroPython it is nothing.
    # fmt: off
    __slots__ = (
        "plan", "journal", "words", "safe", "caution_holds", "at", "at_index", "standing", "watch", "stirred",
        "settled", "is_settled", "unsettled_by", "physical", "sets", "clears", "asked",
    )
    # fmt: on

    def __init__(self, plan: tuple, journal) -> None:  # type: ignore[no-untyped-def]
        self.plan = plan[:PLAN_AT] + ((), ()) + plan[PLAN_STANDING + 1 :]  # these two are in tables below
        self.journal = journal
        self.words = table([0] * WORDS)
        self.safe = plan[PLAN_RELAYS][1:5]  # the side each relay takes when two rules of one event disagree
        self.caution_holds = table(plan[PLAN_CAUTIONS])
        self.at_index = bytearray(EVENT_NUMBERS)
        self.at = event_rules(plan[PLAN_AT])
        for i in range(len(plan[PLAN_AT])):
            self.at_index[plan[PLAN_AT][i][0]] = i + 1
        masks = [0] * WORDS
        is_one_pass = watched_words(plan[PLAN_STANDING], masks)
        self.standing = standing_rules(plan[PLAN_STANDING], is_one_pass)
        self.watch = pairs(masks, (1 << WORDS) - 1)
        # of these the words that change between events, before a rule has acted
        self.stirred = pairs(masks, STIRRED)
        self.settled = table([0] * WORDS)  # the words after the last pass
        self.is_settled = False
        self.unsettled_by = SETTLED  # standing rule that changed something last when the passes ran out
        self.physical = 0  # turnouts physically known
        # What the rules of one event ask for; two that disagree are found before anything is done.
        self.sets = table([0] * WORDS)
        self.clears = table([0] * WORDS)
        self.asked = table([0] * 6)

    def holds(self, conditions: tuple) -> bool:
        """True when every (word, mask, value) of the flat tuple holds."""
        words = self.words
        for j in range(0, len(conditions), 3):
            if words[conditions[j]] & conditions[j + 1] != conditions[j + 2]:
                return False
        return True

    def know(self) -> None:
        """known = physically known AND wanted = position."""
        words = self.words
        words[W_KNOWN] = self.physical & ~(words[W_WANTED] ^ words[W_POSITION])

    def run_at(self, now: int, number: int) -> None:
        """The `at` rules of one event: all conditions first, then all acts."""
        fired = self.fired(number)
        if fired:
            self.act(now, number, fired)

    def fired(self, number: int) -> int:
        """Bit i: rule i of this event holds."""
        place = self.at_index[number]
        return fired_of(self.words, self.at, place - 1) if place else 0

    def act(self, now: int, number: int, fired: int) -> None:
        """Carry out the acts of the rules of one event that fired."""
        collect(self.at, self.at_index[number] - 1, fired, self.sets, self.clears, self.asked)
        self._apply(now)

    def _clash(self, now: int, word: int, bits: int) -> None:
        while bits:
            low = bits & -bits
            self.journal.put(now, R_CLASH, INDEX[low % 37], word)
            bits ^= low

    def _apply(self, now: int) -> None:
        """Carry the collected acts into the words; where two disagree, the safe side."""
        words = self.words
        asked = self.asked
        if asked[TOUCHED] >> W_CAUTION & 1:
            self._hold(self.sets[W_CAUTION] & ~self.clears[W_CAUTION])
        clashed = set_and_clear(words, self.sets, self.clears, asked[TOUCHED])
        asked[TOUCHED] = 0
        for k in range(WORDS if clashed else 0):
            both = self.sets[k]
            if both:
                self.sets[k] = 0
                self._clash(now, k, both)
                if k < 4:
                    words[k] |= both & self.safe[k]
        if asked[TO_A] | asked[TO_B]:
            self.throw(now, asked[TO_A], asked[TO_B])
            asked[TO_A] = asked[TO_B] = 0
        started = asked[STARTS] | asked[RESTARTS]
        cancelled = asked[CANCELS]
        if started | cancelled:
            both = started & cancelled
            if both:
                self._clash(now, W_TIMER, both)
            words[W_RESTART] |= asked[RESTARTS] & ~both
            words[W_TIMER] = (words[W_TIMER] | started & ~both) & ~(cancelled & ~both)
            asked[STARTS] = asked[RESTARTS] = asked[CANCELS] = 0

    def throw(self, now: int, to_a: int, to_b: int) -> None:
        """Want turnouts in their first (to_a) and second (to_b) position; asked for both: not asked."""
        both = to_a & to_b
        if both:
            self._clash(now, W_WANTED, both)
        want(self.words, to_a & ~both, to_b & ~both, self.physical)

    def _hold(self, cautions: int) -> None:
        while cautions:
            low = cautions & -cautions
            cautions ^= low
            self.words[W_HELD] |= self.caution_holds[INDEX[low % 37]]

    def settle(self) -> None:
        """The standing rules, in file order, until a pass changes nothing; else unsettled_by is the last."""
        if self.is_settled and is_as(self.words, self.settled, self.watch):
            return
        left = come_to_rest(
            self.words, self.settled, self.watch, self.standing, self.physical, self.caution_holds, INDEX
        )
        self.is_settled = left == SETTLED
        if left != SETTLED:
            self.unsettled_by = left


@bare
def fired_of(words: ptr32, rules: ptr32, event: int) -> int:
    """Bit i: the conditions of rule i of an event hold."""
    fired = 0
    bit = 1
    at = rules[event]
    end = rules[at]
    at += 1
    while at < end:
        acts = rules[at]
        j = at + 2
        while j < acts and words[rules[j]] & rules[j + 1] == rules[j + 2]:
            j += 3
        if j == acts:
            fired |= bit
        bit <<= 1
        at = rules[at + 1]
    return fired


@bare
def collect(rules: ptr32, event: int, fired: int, sets: ptr32, clears: ptr32, asked: ptr32) -> int:
    """What the rules of an event that fired ask for."""
    at = rules[event] + 1
    while fired:
        j = rules[at]
        at = rules[at + 1]
        if fired & 1:
            while j < at:
                op = rules[j]
                k = rules[j + 1]
                mask = rules[j + 2]
                j += 3
                if op == OP_SET:
                    sets[k] |= mask
                    asked[TOUCHED] |= 1 << k
                elif op == OP_CLEAR:
                    clears[k] |= mask
                    asked[TOUCHED] |= 1 << k
                elif op == OP_THROW_A:
                    asked[TO_A] |= mask
                elif op == OP_THROW_B:
                    asked[TO_B] |= mask
                elif op == OP_START:
                    asked[STARTS] |= mask
                elif op == OP_RESTART:
                    asked[RESTARTS] |= mask
                else:
                    asked[CANCELS] |= mask
        fired >>= 1
    return 0


@bare
def set_and_clear(words: ptr32, sets: ptr32, clears: ptr32, touched: int) -> int:
    """Into the words touched; gives all bits both set and cleared, which by word stay in `sets`."""
    clashed = 0
    k = 0
    while touched:
        if touched & 1:
            both = sets[k] & clears[k]
            words[k] = (words[k] | sets[k]) & ~clears[k]
            clears[k] = 0
            sets[k] = both
            clashed |= both
        touched >>= 1
        k += 1
    return clashed


@bare
def want(words: ptr32, to_a: int, to_b: int, physical: int) -> int:
    """Turnouts wanted in their first and second position, none in both; what is known then."""
    wanted = words[W_WANTED]
    # asked for where it is wanted already: perhaps a refresh
    words[W_ASKED] |= (to_a & ~wanted) | (to_b & wanted)
    wanted = (wanted | to_b) & ~to_a
    words[W_WANTED] = wanted
    words[W_KNOWN] = physical & ~(wanted ^ words[W_POSITION])
    return wanted


@bare
def is_as(words: ptr32, settled: ptr32, watch: ptr32) -> int:
    """1 when the watched bits are as they were after the last pass."""
    j = 1
    end = watch[0]
    while j < end:
        k = watch[j]
        if (words[k] ^ settled[k]) & watch[j + 1]:
            return 0
        j += 2
    return 1


@bare
def come_to_rest(
    words: ptr32, settled: ptr32, watch: ptr32, rules: ptr32, physical: int, holds: ptr32, index: ptr8
) -> int:
    """Passes of the standing rules until one changes nothing; if too many, the rule that did last."""
    last = SETTLED
    left = PASSES_MAX
    while left:
        left -= 1
        j = 1
        while j < watch[0]:
            settled[watch[j]] = words[watch[j]]
            j += 2
        last = SETTLED
        n = 0
        at = 2
        while at < rules[0]:
            j = at + 2
            act = rules[at]
            at = rules[at + 1]
            while j < act and words[rules[j]] & rules[j + 1] == rules[j + 2]:
                j += 3
            if j < act:  # does not hold
                k = rules[act + 1]
                if rules[act] == OP_FOLLOW and words[k] & rules[act + 2]:
                    words[k] &= ~rules[act + 2]
                    last = n
                act = at
            while act < at:
                op = rules[act]
                k = rules[act + 1]
                mask = rules[act + 2]
                act += 3
                if op == OP_THROW_A or op == OP_THROW_B:
                    k = W_WANTED
                elif op == OP_START or op == OP_CANCEL:
                    k = W_TIMER
                old = words[k]
                if op == OP_CLEAR or op == OP_THROW_A or op == OP_CANCEL:
                    words[k] = old & ~mask
                else:
                    words[k] = old | mask
                if words[k] != old:
                    last = n
                    if k == W_WANTED:
                        words[W_KNOWN] = physical & ~(words[W_WANTED] ^ words[W_POSITION])
                while k == W_CAUTION and mask and op == OP_SET:  # hold its blocks
                    low = mask & -mask
                    mask ^= low
                    held = holds[index[low % 37]]
                    if held & ~words[W_HELD]:
                        words[W_HELD] |= held
                        last = n
            n += 1
        if last == SETTLED:
            return SETTLED
        j = 1
        while j < watch[0] and words[watch[j]] == settled[watch[j]]:
            j += 2
        if j == watch[0]:
            return SETTLED
        if rules[1]:  # a second pass would change nothing
            while j < watch[0]:
                settled[watch[j]] = words[watch[j]]
                j += 2
            return SETTLED
    return last
