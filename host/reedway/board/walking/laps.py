"""One train at a time goes round: which sensors have seen it?"""

from __future__ import annotations

import time

from reedway.board.orders import read_order
from reedway.board.protocol import WATCH_MS
from reedway.board.walking.answers import Seen
from reedway.board.walking.owner import Owner, Turn, turn_word
from reedway.board.walking.steps import SOME_TRAIN, Step, sensors_of
from reedway.board.walking.wires import GONE, Unwatched, Wires
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import w

DONE, STOP, GO = "done", "stop", "go"
LOOK_S = 0.05


class Lap:
    """A lap of one train, with every block fed and the points thrown by the owner's word."""

    def __init__(self, wires: Wires, owner: Owner, steps: list[Step]) -> None:
        self.wires = wires
        self.owner = owner
        self.sensors = sensors_of(steps)
        self.counts: dict[str, int] = {}

    def run(self, step: Step) -> Seen:
        """Until every sensor has seen it, or the owner says done."""
        train = step.name
        if train == SOME_TRAIN:
            self.owner.tell("What is the train called that you set on the track?")
            train = self.owner.text() or SOME_TRAIN
        self.owner.ready(
            f"Set {train} on the track, no other train, its controller at stop. When you press Enter every "
            "block is fed and no rule guards it: drive slowly, a hand at the controller."
        )
        self.owner.tell(
            "  stop (also the stop button): all feeds off; go: on again; throw TURNOUT to POSITION\n"
            "  done: the lap is over\n"
            f"  (should this computer fail or sleep, the feeds go off after {WATCH_MS // 1000} s)"
        )
        self.wires.forget()
        self.wires.feed_all(True)
        try:
            self._listen()
        finally:
            self.wires.feed_all(False)
        missed = [one.name for one in self.sensors if one.name not in self.counts]
        meant = [name for name in missed if self.owner.yes(f"{name} has not seen {train}. Should it have?")]
        more = {"train": train, "missed": meant, "counts": self.counts}
        return Seen([one.name for one in self.sensors if one.name in self.counts], more)

    def _listen(self) -> None:
        names = {one.index: one.name for one in self.sensors}
        while len(self.counts) < len(self.sensors):
            if not self.owner.is_terminal and self._is_over(self.owner.text()):
                return
            end = time.monotonic() + (LOOK_S if self.owner.is_terminal else self.owner.wait_s)
            while time.monotonic() < end and len(self.counts) < len(self.sensors):
                if self._take(names):
                    end = max(end, time.monotonic() + LOOK_S)
                text = self.owner.line(LOOK_S) if self.owner.is_terminal else None
                if text is not None and self._is_over(text):
                    return

    def _take(self, names: dict[int, str]) -> bool:
        touched = [names[index] for index in self.wires.touched() if index in names]
        if self.wires.went_off:
            self.wires.went_off = False
            self.owner.tell(f"  {GONE}; go: on again")
        for name in touched:
            self.counts[name] = self.counts.get(name, 0) + 1
            again = f", {self.counts[name]} times now" if self.counts[name] > 1 else ""
            self.owner.tell(f"  {name}{again}  ({len(self.counts)} of {len(self.sensors)} sensors)")
            self.owner.bell(True)
        return bool(touched)

    def _is_over(self, text: str) -> bool:
        """What the owner typed in the meantime."""
        lower = text.lower()
        if lower == DONE:
            return True
        if lower in (STOP, GO):
            self.wires.feed_all(lower == GO)
        elif lower.startswith("throw "):
            self._throw(text)
        elif text and not (self.owner.touch and self.owner.touch(text)):
            word = turn_word(text, ())
            if word:
                raise Turn(word)
            self.owner.tell("  stop, go, throw TURNOUT to POSITION, done; or skip, back, again, quit")
        elif not text and self.owner.is_terminal:
            missed = [one.name for one in self.sensors if one.name not in self.counts]
            self.owner.tell(f"  not seen yet by {', '.join(missed)}")
        return False

    def _throw(self, text: str) -> None:
        try:
            order, value = read_order(text, self.wires.compiled.names)
        except ReedwayError as problem:
            self.owner.tell(f"  {problem}")
            return
        if order == w.O_THROW:
            waits = "  the coil has to cool first"
            try:
                self.wires.throw(value >> 1, value & 1, lambda: self.owner.tell(waits))
            except Unwatched:
                self.wires.went_off = False
                self.owner.tell(f"  {GONE}, and the throw with it; go: feeds on again")
