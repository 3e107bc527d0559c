"""One step each: tell the owner what comes, do it, ask or hear what happened."""

from __future__ import annotations

import time
from collections.abc import Callable

from reedway.board.walking.answers import Seen
from reedway.board.walking.findings import NEITHER, NONE, SEVERAL
from reedway.board.walking.owner import AGAIN, Owner, Turn, turn_word
from reedway.board.walking.steps import FEED, INPUT, LAMP, REST, TURNOUT, Step
from reedway.board.walking.wires import Unwatched, Wires
from reedway.boardfile.names import TRACK_FEED

SETTLE_S = 0.4  # what closes so soon after the first belongs to the same wave of the magnet
LOOK_S = 0.05
TOUCH_S = 3.0  # for a virtual board to tell of a touch before the next line is read
INPUT_TASKS = {
    "sensor": "wave a magnet over sensor {name} ({terminal})",
    "detector": "put a car or a finger where detector {name} ({terminal}) sees it, and take it away",
    "button": "press button {name} ({terminal})",
    "switch": "turn switch {name} ({terminal}) over, and back",
    "contact": "move the points of contact {name} ({terminal}) to and fro by hand",
    "power": "switch the track supply off and on: {name} ({terminal}) must see it",
}
ALONG_WITH_OTHERS = ("contact", "detector")


class Rounds:
    """Does a step on the board with the owner."""

    def __init__(self, wires: Wires, owner: Owner, steps: list[Step]) -> None:
        self.wires = wires
        self.owner = owner
        self.steps = steps
        self._inputs = {step.index: step for step in steps if step.kind == INPUT}
        self._warned: set[str] = set()

    def do(self, step: Step) -> Seen:
        """One step; Turn when the owner wants another, or when the board took away what was to be seen."""
        table: dict[str, Callable[[Step], Seen]] = {
            REST: self._rest,
            INPUT: self._input,
            LAMP: self._lamp,
            TURNOUT: self._turnout,
            FEED: self._feed,
        }
        try:
            return table[step.kind](step)
        except Unwatched as problem:
            self.owner.tell(f"  {problem}; once more:")
            raise Turn(AGAIN) from None

    def _names(self, kind: str) -> list[str]:
        return [step.name for step in self.steps if step.kind == kind and step.name != TRACK_FEED]

    # -- inputs -------------------------------------------------------------------------------------------

    def _rest(self, _: Step) -> Seen:
        self.owner.ready("Take every magnet and train off the sensors, and let go of every button.")
        closed = self.wires.closed()
        quiet = [step for i, step in self._inputs.items() if step.input_kind in ("sensor", "button")]
        return Seen([step.name for step in quiet if step.index in closed])

    def _input(self, step: Step) -> Seen:
        self.wires.forget()
        task = INPUT_TASKS[step.input_kind].format(name=step.name, terminal=step.terminals[0])
        self.owner.tell(f"Now {task}{step.note}. Enter when you have done so and nothing happens:")
        names = self._closings()
        if step.input_kind in ALONG_WITH_OTHERS and step.name in names:
            names = [step.name]  # the other contact of the same points, the sensor under the same car
        seen = Seen(names)
        if step.input_kind == "switch" and seen.seen == [step.name]:
            on = step.index in self.wires.closed()
            reads = step.words[0 if on else 1]
            if not self.owner.yes(f"  It reads: {step.name} {reads}. Is that how it stands?"):
                seen.more["words"] = "exchanged"
        return seen

    def _closings(self) -> list[str]:
        """Names of the inputs that close, from the first on for a moment; nothing: none did."""
        self._heard_enter()
        found: list[str] = []
        quiet_until = 0.0
        end = time.monotonic() + self.owner.wait_s
        while time.monotonic() < end:
            for index in self.wires.touched():
                if not found:
                    end = time.monotonic() + SETTLE_S
                name = self._inputs[index].name if index in self._inputs else f"input {index}"
                if name not in found:
                    found.append(name)
            if self.owner.is_terminal and not found and time.monotonic() > quiet_until:
                text = self.owner.line(LOOK_S)
                if text is not None and self._is_enough(text):
                    end = min(end, time.monotonic() + LOOK_S)
                elif text is not None:
                    quiet_until = time.monotonic() + TOUCH_S
            else:
                time.sleep(LOOK_S)
        return found

    def _heard_enter(self) -> None:
        """Not at a terminal, the line comes first and the listening after it."""
        if not self.owner.is_terminal:
            self._is_enough(self.owner.text())

    def _is_enough(self, text: str) -> bool:
        """An empty line: waits no longer. Anything else is a word, or a touch on a virtual board."""
        word = turn_word(text, ())
        if word:
            raise Turn(word)
        if text and not (self.owner.touch and self.owner.touch(text)):
            self.owner.tell("  skip, back, again, quit, or an empty line")
        return not text

    # -- lamps --------------------------------------------------------------------------------------------

    def _lamp(self, step: Step) -> Seen:
        self.wires.light(step.index, True)
        try:
            names = self._names(LAMP)
            question = f"One lamp is lit now: {step.name} ({step.terminals[0]}). Which do you see?"
            lit = self.owner.ask(question, [*names, NONE, SEVERAL])
            self.wires.check_watched()
            return Seen([lit])
        finally:
            self.wires.light(step.index, False)

    # -- coils --------------------------------------------------------------------------------------------

    def _turnout(self, step: Step) -> Seen:
        lies: list[str] = []
        closed: list[list[str]] = []
        others = [f"moved: {name}" for name in self._names(TURNOUT) if name != step.name]
        for side, position in enumerate(step.words):
            first = "" if step.key in self._warned else " Fingers off the points and the motor."
            self._warned.add(step.key)
            self.owner.ready(
                f"{step.name}: one pulse to {position} comes ({step.terminals[side]}) when you press Enter."
                f"{first}"
            )
            self.wires.throw(step.index, side, self._tell_waiting)
            lies.append(
                self.owner.ask(
                    f"Where do the points of {step.name} lie now?", [*step.words, NEITHER, *others]
                )
            )
            now = self.wires.closed()
            closed.append([name for name in step.contacts if name and self._index_of(name) in now])
        return Seen(lies, {"closed": closed})

    def _index_of(self, name: str) -> int:
        return next((i for i, step in self._inputs.items() if step.name == name), -1)

    def _tell_waiting(self) -> None:
        self.owner.tell("  the coil has to cool first; the pulse comes by itself")

    # -- feeds --------------------------------------------------------------------------------------------

    def _feed(self, step: Step) -> Seen:
        is_track = step.name == TRACK_FEED
        feeds = [one for one in self.steps if one.kind == FEED]
        for one in feeds:
            if one.name == TRACK_FEED:
                self.wires.feed(one.index, True)
        self.wires.feed(step.index, True)
        try:
            if is_track:
                question = "The track feed is on, every block is off. Is a rail live that no block controls?"
                live = TRACK_FEED if self.owner.yes(question) else NONE
            else:
                question = (
                    f"Block {step.name} ({step.terminals[0]}) is fed now. Which rail is live (lamp or meter)?"
                )
                live = self.owner.ask(question, [*self._names(FEED), NONE, SEVERAL])
            self.wires.check_watched()
            self.wires.feed(step.index, False)
            dead = live == NONE or self.owner.yes(f"{step.title} is off again. Is it dead now?")
            return Seen([live], {"dead_when_off": dead})
        finally:
            self.wires.feed_all(False)
