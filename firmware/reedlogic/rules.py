"""Rules on words: conditions, the rules of one event, and the standing rules that settle after it."""

from .ring import INDEX
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


class Rules:
    """The words and the rules over them. All rules of one event read the state before it."""

    # Beyond 30 attributes CPython is slower at all of them; slots do not count. To MicroPython it is nothing.
    # fmt: off
    __slots__ = (
        "plan", "journal", "words", "safe", "caution_holds", "at", "at_index", "standing", "is_one_pass",
        "watch", "stirred", "settled", "is_settled", "unsettled_by", "physical", "sets", "clears",
        "touched", "to_a", "to_b", "starts", "restarts", "cancels",
    )
    # fmt: on

    def __init__(self, plan: tuple, journal) -> None:  # type: ignore[no-untyped-def]
        self.plan = plan
        self.journal = journal
        self.words = [0] * WORDS
        self.safe = plan[PLAN_RELAYS][1:5]  # the side each relay takes when two rules of one event disagree
        self.caution_holds = plan[PLAN_CAUTIONS]
        self.at = plan[PLAN_AT]
        self.at_index = bytearray(EVENT_NUMBERS)
        for i in range(len(self.at)):
            self.at_index[self.at[i][0]] = i + 1
        self.standing = plan[PLAN_STANDING]
        masks = [0] * WORDS
        self.is_one_pass = watched_words(self.standing, masks)
        self.watch = tuple([(k, masks[k]) for k in range(WORDS) if masks[k]])
        # of these the words that change between events, before a rule has acted
        self.stirred = tuple([(k, mask) for k, mask in self.watch if STIRRED >> k & 1])
        self.settled = [0] * WORDS  # the words after the last pass
        self.is_settled = False
        self.unsettled_by = -1  # standing rule that changed something last when the passes ran out
        self.physical = 0  # turnouts physically known
        # What the rules of one event ask for; two that disagree are found before anything is done.
        self.sets = [0] * WORDS
        self.clears = [0] * WORDS
        self.touched = 0
        self.to_a = self.to_b = 0
        self.starts = self.restarts = self.cancels = 0

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
        if not place:
            return 0
        rules = self.at[place - 1]
        words = self.words
        fired = 0
        for i in range(1, len(rules)):
            conditions = rules[i][0]
            for j in range(0, len(conditions), 3):
                if words[conditions[j]] & conditions[j + 1] != conditions[j + 2]:
                    break
            else:
                fired |= 1 << (i - 1)
        return fired

    def act(self, now: int, number: int, fired: int) -> None:
        """Carry out the acts of the rules of one event that fired."""
        rules = self.at[self.at_index[number] - 1]
        for i in range(1, len(rules)):
            if fired >> (i - 1) & 1:
                self._collect(rules[i][1])
        self._apply(now)

    def _collect(self, acts: tuple) -> None:
        for j in range(0, len(acts), 3):
            op = acts[j]
            mask = acts[j + 2]
            if op == OP_SET:
                self.sets[acts[j + 1]] |= mask
                self.touched |= 1 << acts[j + 1]
            elif op == OP_CLEAR:
                self.clears[acts[j + 1]] |= mask
                self.touched |= 1 << acts[j + 1]
            elif op == OP_THROW_A:
                self.to_a |= mask
            elif op == OP_THROW_B:
                self.to_b |= mask
            elif op == OP_START:
                self.starts |= mask
            elif op == OP_RESTART:
                self.restarts |= mask
            else:
                self.cancels |= mask

    def _clash(self, now: int, word: int, bits: int) -> None:
        while bits:
            low = bits & -bits
            self.journal.put(now, R_CLASH, INDEX[low % 37], word)
            bits ^= low

    def _apply(self, now: int) -> None:
        """Carry the collected acts into the words; where two disagree, the safe side."""
        words = self.words
        touched = self.touched
        while touched:
            low = touched & -touched
            touched ^= low
            k = INDEX[low % 37]
            sets = self.sets[k]
            clears = self.clears[k]
            self.sets[k] = self.clears[k] = 0
            both = sets & clears
            words[k] = (words[k] | sets) & ~clears
            if both:
                self._clash(now, k, both)
                if k < 4:
                    words[k] |= both & self.safe[k]
            if k == W_CAUTION:
                self._hold(sets & ~clears)
        self.touched = 0
        if self.to_a | self.to_b:
            self.throw(now, self.to_a, self.to_b)
            self.to_a = self.to_b = 0
        started = self.starts | self.restarts
        if started | self.cancels:
            both = started & self.cancels
            if both:
                self._clash(now, W_TIMER, both)
            words[W_RESTART] |= self.restarts & ~both
            words[W_TIMER] = (words[W_TIMER] | started & ~both) & ~(self.cancels & ~both)
            self.starts = self.restarts = self.cancels = 0

    def throw(self, now: int, to_a: int, to_b: int) -> None:
        """Want turnouts in their first (to_a) and second (to_b) position; asked for both: not asked."""
        words = self.words
        both = to_a & to_b
        if both:
            self._clash(now, W_WANTED, both)
            to_a ^= both
            to_b ^= both
        wanted = words[W_WANTED]
        # asked for where it is wanted already: perhaps a refresh
        words[W_ASKED] |= (to_a & ~wanted) | (to_b & wanted)
        words[W_WANTED] = (wanted | to_b) & ~to_a
        self.know()

    def _hold(self, cautions: int) -> None:
        while cautions:
            low = cautions & -cautions
            cautions ^= low
            self.words[W_HELD] |= self.caution_holds[INDEX[low % 37]]

    def is_at_rest(self, watch: tuple) -> bool:
        """True when a pass of the standing rules would change nothing: these words are as after one."""
        if not self.is_settled:
            return False
        words = self.words
        settled = self.settled
        for k, mask in watch:
            if (words[k] ^ settled[k]) & mask:
                return False
        return True

    def settle(self) -> None:
        """The standing rules, in file order, until a pass changes nothing; else unsettled_by is the last."""
        watch = self.watch
        if self.is_at_rest(watch):
            return
        words = self.words
        settled = self.settled
        last = -1
        for _ in range(PASSES_MAX):
            for k, _mask in watch:
                settled[k] = words[k]
            last = self._pass()
            if last < 0:
                self.is_settled = True
                return
            if self.is_one_pass:
                for k, _mask in watch:
                    settled[k] = words[k]
                self.is_settled = True
                return
            for k, _mask in watch:
                if words[k] != settled[k]:
                    break
            else:
                self.is_settled = True
                return
        self.is_settled = False
        self.unsettled_by = last

    def _pass(self) -> int:
        """One pass of the standing rules; returns the last rule that changed a word (-1: none)."""
        words = self.words
        last = -1
        standing = self.standing
        for n in range(len(standing)):
            conditions, acts = standing[n]
            for j in range(0, len(conditions), 3):
                if words[conditions[j]] & conditions[j + 1] != conditions[j + 2]:
                    if acts[0] == OP_FOLLOW and words[acts[1]] & acts[2]:
                        words[acts[1]] &= ~acts[2]
                        last = n
                    break
            else:
                if acts[0] == OP_FOLLOW and words[acts[1]] & acts[2]:
                    continue  # in already
                if self._stand(acts):
                    last = n
        return last

    def _stand(self, acts: tuple) -> bool:
        """Carry out the acts of one standing rule at once; True when a word changed."""
        words = self.words
        changed = False
        for j in range(0, len(acts), 3):
            op = acts[j]
            mask = acts[j + 2]
            k = acts[j + 1]
            if op == OP_FOLLOW or op == OP_SET and k != W_CAUTION:
                if words[k] & mask != mask:
                    words[k] |= mask
                    changed = True
                continue
            if op == OP_CLEAR:
                if words[k] & mask:
                    words[k] &= ~mask
                    changed = True
                continue
            if op == OP_THROW_A or op == OP_THROW_B:
                k = W_WANTED
            elif op == OP_START or op == OP_CANCEL:
                k = W_TIMER
            old = words[k]
            if op == OP_THROW_A or op == OP_CANCEL:
                words[k] = old & ~mask
            else:
                words[k] = old | mask
                if k == W_CAUTION:
                    held = words[W_HELD]
                    self._hold(mask)
                    changed = changed or held != words[W_HELD]
            if words[k] != old:
                changed = True
                if k == W_WANTED:
                    self.know()
        return changed
