"""The logic layer of the real controller, driven one event at a time with no clock: for explorers."""

from __future__ import annotations

from reedlogic import orders, snapshot, words
from reedlogic.journal import Journal
from reedlogic.logic import Logic

NOW = 0  # exploration has no clock: every deadline stays at its full length


class Explored:
    """Serves single events on the real logic; the keeper starts nothing.

    A throw that is asked for stays outstanding until in_position() is served; a running timer until
    timer_end(). States are tuples of ints from save(), good as dictionary keys.
    """

    def __init__(self, plan: tuple) -> None:
        self.plan = plan
        self.journal = Journal(400)
        self.logic = Logic(plan, self.journal)
        self.kinds = {i: item[0] for i, item in enumerate(plan[words.PLAN_GPIO])}
        self.kinds.update({30 + i: item[0] for i, item in enumerate(plan[words.PLAN_PANEL])})
        self.after = [turnout[4] for turnout in plan[words.PLAN_TURNOUTS]]

    def save(self) -> tuple[int, ...]:
        """The logic layer as a tuple: equal tuples behave alike from here on."""
        out: list[int] = []
        snapshot.save_logic(self.logic, NOW, out)
        return tuple(out)

    def restore(self, state: tuple[int, ...]) -> None:
        """Put a state from save() back; the journal starts empty."""
        snapshot.restore_logic(self.logic, state, NOW)
        self.journal.clear()

    def records(self) -> list[tuple[int, int, int]]:
        """(kind, which, value) of what happened since restore()."""
        j = self.journal
        return [(j.kind(i), j.which(i), j.value(i)) for i in range(j.held())]

    @property
    def words(self) -> list[int]:
        return self.logic.words

    @property
    def feeds(self) -> int:
        return self.logic.feeds

    @property
    def timers_running(self) -> int:
        return self.logic.words[words.W_TIMER]

    def level(self, index: int) -> int:
        """Confirmed level of an input: 1 closed."""
        word, bit = (words.W_LEVEL, index) if index < 30 else (words.W_PANEL, index - 30)
        return self.logic.words[word] >> bit & 1

    def set_level(self, index: int, closed: int) -> None:
        """Change a level without an event: only to describe how things stand before start."""
        word, bit = (words.W_LEVEL, index) if index < 30 else (words.W_PANEL, index - 30)
        self.logic.words[word] = self.logic.words[word] & ~(1 << bit) | closed << bit

    def hit(self, index: int) -> None:
        """A sensor's hit, or a button pressed; the level stays closed until opening()."""
        self.set_level(index, 1)
        self.logic.journal.put(NOW, words.R_HIT, index, 0)
        self.logic.event(NOW, words.E_HIT << words.EVENT_SHIFT | index)

    def opening(self, index: int) -> None:
        """The sensor's opening."""
        self.set_level(index, 0)
        self.logic.event(NOW, words.E_OPENING << words.EVENT_SHIFT | index)

    def change(self, index: int, closed: int) -> None:
        """A detector, switch or contact changes."""
        self.set_level(index, closed)
        event = words.E_ON if closed else words.E_OFF
        self.logic.event(NOW, event << words.EVENT_SHIFT | index)

    def timer_end(self, timer: int) -> None:
        self.logic.timer_end(NOW, timer)

    def throws_possible(self) -> list[int]:
        """Outstanding turnouts whose gang order allows their pulse now."""
        if not self.logic.may_pulse():
            return []
        out = self.logic.outstanding()
        return [i for i in range(len(self.after)) if out >> i & 1 and not self.after[i] & out]

    def in_position(self, turnout: int) -> None:
        """The turnout's pulse has ended: it lies where it was wanted."""
        self.logic.in_position(NOW, turnout, self.logic.words[words.W_WANTED] >> turnout & 1)

    def order(self, which: int, value: int) -> None:
        """An order of the operator, O_* of reedlogic.words."""
        orders.give(self.logic, NOW, which, value, 0)
