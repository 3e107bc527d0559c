"""The board in maintenance: no rule runs, and each output moves by an order of ours."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from reedway.board.client import Client, Status
from reedway.board.protocol import WATCH_MS, Line
from reedway.board.walking.watching import Watch
from reedway.boardfile.compile import Compiled
from reedway.boardfile.numbering import PANEL_BASE, Numbering
from reedway.problems import ReedwayError
from reedway.sessionlog.kinds import MODE_WORDS, w
from reedway.sessionlog.tell import fault_words

MODE_S = 3.0
THROW_S = 90.0  # the heat budget may make a throw wait
CONFIRM_S = 0.5
SEND_S = 0.01
RESET = "z"
RESET_S = 2.0


GONE = (
    f"meanwhile the board took everything off: it had not heard this computer for {WATCH_MS // 1000} s "
    "(asleep, suspended, or the cable?)"
)


class Unwatched(ReedwayError):
    """The board took away what was on, and dropped a throw that waited."""

    def __init__(self) -> None:
        super().__init__(GONE)


@dataclass(frozen=True)
class Record:
    """One record of the board: its own time, kind, which, value."""

    time: int
    kind: int
    which: int
    value: int


class Wires:
    """One talk with the board. All is off again when it ends."""

    def __init__(self, client: Client, compiled: Compiled) -> None:
        self._client = client
        self.compiled = compiled
        layout = compiled.layout
        self.feed_count = len(layout.blocks) + (layout.track_feed is not None)
        self._confirm_ms = {item.index: item.thing.confirm_ms for item in Numbering(layout).inputs}
        self._closed_at: dict[int, int] = {}
        self._next = 0
        self._confirmed_at = 0.0
        self._said: set[int] = set()  # inputs told since they last opened
        self._watch = Watch(client.watch)
        self.alive = client.on_poll = self._watch.alive
        self._unwatched = 0  # as the board counts it
        self.went_off = False  # records() has seen it; whoever tells it sets it back

    def begin(self) -> None:
        """Into maintenance; refused while a show is on."""
        mode = self._client.status().mode
        if mode in (w.M_RUNNING, w.M_STOPPED):
            raise ReedwayError(
                f"the show is on (the board is {MODE_WORDS[mode]}); stop it (the stop button, or `reedway "
                "operate FILE stop`), then walk"
            )
        if mode == w.M_FAULT:
            raise ReedwayError(
                "the board stands at a fault, which `reedway status` names; keep its records with `reedway "
                "record`, and walk again"
            )
        if mode == w.M_BEFORE:
            self._client.order(w.O_MAINTENANCE, 0)
            end = time.monotonic() + MODE_S
            while self._client.status().mode != w.M_MAINTENANCE:
                if time.monotonic() > end:
                    raise ReedwayError(
                        "the board did not go into maintenance; is its firmware older? load it"
                    )
        self.all_off()
        status = self._client.status()
        self._unwatched = status.unwatched
        self._next = status.end
        self._client.confirm(self._next)
        self._watch.begin()

    # -- records ------------------------------------------------------------------------------------------

    def records(self) -> list[Record]:
        """What has come, in order."""
        now = time.monotonic()
        if now - self._confirmed_at > CONFIRM_S:
            self._confirm()
        self._client.poll()
        found = []
        inbox = self._client.inbox
        while inbox:
            item = inbox.popleft()
            if not isinstance(item, Line):
                continue
            number, at, kind, which, value = item.numbers()
            if number == self._next:
                self._next += 1
                found.append(Record(at, kind, which, value))
                if kind == w.R_ORDER and which == w.O_UNWATCHED:
                    self.went_off = True
            elif number > self._next:  # a line was lost: ask for it again, or do without
                inbox.clear()
                self._next = max(self._next, self._client.status().oldest)
                self._confirm()
        return found

    def _confirm(self) -> None:
        self._confirmed_at = time.monotonic()
        self._client.confirm(self._next)

    def forget(self) -> None:
        """What happened until now does not count."""
        self._next = self._client.status().end
        self._client.inbox.clear()
        self._said.clear()
        self._confirm()

    def check_watched(self) -> None:
        """Unwatched when the board took everything off since we last looked."""
        unwatched = self._client.status().unwatched
        self.went_off = False
        if unwatched != self._unwatched:
            self._unwatched = unwatched
            raise Unwatched

    def touched(self) -> list[int]:
        """Inputs that have newly closed for long enough, or whose level has changed."""
        found: list[int] = []
        for record in self.records():
            i = record.which
            if record.kind == w.R_HIT or record.kind == w.R_CHANGE:
                found.append(i)
                self._said.add(i)
            elif record.kind == w.R_EDGE and record.value:
                self._closed_at[i] = record.time
                self._said.discard(i)
            elif record.kind == w.R_EDGE and i in self._closed_at:
                # closings that rearm suppresses are closings of the wire all the same
                lasted = record.time - self._closed_at.pop(i)
                if lasted >= self._confirm_ms.get(i, 0) and i not in self._said:
                    found.append(i)
        return found

    # -- levels -------------------------------------------------------------------------------------------

    def closed(self) -> set[int]:
        """Inputs that are closed now."""
        status = self._client.status()
        return {i for i in self._confirm_ms if _is_closed(status, i)}

    # -- outputs ------------------------------------------------------------------------------------------

    def throw(self, turnout: int, position: int, waits: Callable[[], None]) -> None:
        """One pulse through the keeper, and its end. `waits` is called when the coil must cool first."""
        self._client.order(w.O_ACKNOWLEDGE, 0)  # a contact that did not agree keeps no pulse back here
        self.forget()
        self._client.order(w.O_THROW, 2 * turnout + position)
        end = time.monotonic() + THROW_S
        while time.monotonic() < end:
            for record in self.records():
                if record.kind == w.R_PULSE_END:
                    return
                if record.kind == w.R_ORDER and record.which == w.O_UNWATCHED:
                    raise Unwatched
                if record.kind == w.R_DEFERRED:
                    waits()
                if record.kind == w.R_FAULT:
                    raise ReedwayError(
                        f"the board stands at a fault: {fault_words(f'#{record.which}', record.value)}"
                    )
        raise ReedwayError("the board gave no pulse; `reedway status` tells more")

    def feed(self, index: int, on: bool) -> None:
        """Feed one block, or the track feed, or take the feed away."""
        self._client.order(w.O_FEED, 2 * index + on)
        time.sleep(SEND_S)

    def feed_all(self, on: bool) -> None:
        for index in range(self.feed_count):
            self.feed(index, on)

    def light(self, index: int, lit: bool) -> None:
        """Light or darken one lamp."""
        self._client.order(w.O_LIGHT, 2 * index + lit)
        time.sleep(SEND_S)

    def all_off(self) -> None:
        """Every feed and lamp."""
        self.feed_all(False)
        for index in range(len(self.compiled.layout.lamps)):
            self.light(index, False)

    def end(self) -> None:
        """All off, and a reset: the board is before start again."""
        self._watch.end()
        try:
            self.all_off()
            self._client.say(RESET)
            end = time.monotonic() + RESET_S
            while time.monotonic() < end:
                if any(line.kind == "h" for line in self._client.poll()):
                    return  # a board that begins anew says hello unasked
        except ReedwayError:
            return  # the port goes with the reset, or the board has gone before: all is off


def _is_closed(status: Status, index: int) -> bool:
    word, bit = (status.panel, index - PANEL_BASE) if index >= PANEL_BASE else (status.raw, index)
    return bool(word >> bit & 1)
