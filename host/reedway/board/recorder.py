"""Takes every record the board has, once and in order, into a session log; outlives unplugging and resets."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from reedlogic import words as w
from reedlogic.journal import VALUE_MAX
from reedlogic.ring import MASK
from reedway.board.client import Client, Hello, State
from reedway.board.protocol import Line as WireLine
from reedway.board.sameboard import check_same_board
from reedway.board.timewatch import awake_clock
from reedway.boardfile.compile import Compiled
from reedway.sessionlog.clocks import CLOCK, COMPUTER, clock_text
from reedway.sessionlog.header import INPUTS, Header
from reedway.sessionlog.names import Codec
from reedway.sessionlog.reader import Line
from reedway.sessionlog.writer import LogWriter

CONFIRM_S = 0.2
FINISH_S = 2.0
DRIFT, DRIFT_MS = 0.01, 3000  # board and computer apart by more than this: the board was reset in between


class Recorder:
    """attach() to a port that was opened, then step() as often as possible; a new port: attach() again.

    The board forgets a record only when it was written and flushed here. What is lost (its journal was full)
    is one record `lost`, and then a state from which a replay can go on.
    """

    def __init__(self, compiled: Compiled, path: Path, clock: Callable[[], float] = awake_clock) -> None:
        self._compiled = compiled
        self._codec = Codec(compiled.names)
        self._path = path
        self._clock = clock
        self._log: LogWriter | None = None
        self._client: Client | None = None
        self._next = 0  # number of the next record on the board
        self._time = 0  # of the last one, on the board's ring
        self._t = 0  # the same without an end
        self._is_known = False  # the three above belong to the board as it runs
        self._has_part = False
        self._state: State | None = None  # to be written before record number state.record
        self._is_first = False  # what comes next is the oldest that the board has, older than the state
        self._clocks = (0, 0.0)  # the board's and ours at one moment
        self._confirmed_at = 0.0
        self.count = 0
        self.lost = 0
        self.watch: Callable[[Line], None] | None = None  # is shown every record that was written

    @property
    def log(self) -> LogWriter:
        assert self._log is not None, "attach first"
        return self._log

    @property
    def client(self) -> Client:
        assert self._client is not None, "attach first"
        return self._client

    def attach(self, client: Client) -> Hello:
        """Begin, or go on after an interruption."""
        self._client = client
        hello = client.hello()
        layout = self._compiled.layout
        check_same_board(hello, self._compiled)
        if self._log is None:
            started = datetime.now().astimezone() - timedelta(milliseconds=hello.time)
            clock = started.isoformat(timespec="seconds")
            inputs = {INPUTS: self._compiled.names.inputs}
            header = Header(layout.name, layout.sha256, hello.firmware, clock, inputs)
            self._log = LogWriter(self._path, header, self._codec)
        had_part = self._has_part
        begins = not self._is_known or self._was_reset(hello)
        if begins:
            self._begin_part()
        self._clocks = (hello.time, self._clock())
        if begins and had_part:
            self.note_clock()  # the head of the log knows only of the first part
        self._confirm()
        return hello

    def _was_reset(self, hello: Hello) -> bool:
        """The board's clock did not go on as ours did, or its records count afresh."""
        board_time, our_time = self._clocks
        waited_ms = (self._clock() - our_time) * 1000
        went_on_ms = (hello.time - board_time) & MASK
        apart_ms = abs(went_on_ms - waited_ms)
        return apart_ms > waited_ms * DRIFT + DRIFT_MS or self.client.status().end < self._next

    def _begin_part(self) -> None:
        """From the reset on if the board still has all of it, else what it has, and then a state."""
        oldest = self.client.status().oldest
        state = self.client.state(birth=oldest == 0)
        self.client.inbox.clear()
        self._next = min(oldest, state.record)
        self._time = self._t = state.time
        self._is_known = self._has_part = True
        self._state = state
        if self._next < state.record:  # older than the state: told, but nothing can be replayed from them
            self._is_first = True
        else:
            self._put_state()

    def _put_state(self) -> None:
        """The state that the next record follows."""
        assert self._state is not None
        self._move(self._state.time)
        self.log.state(self._t, self._state.numbers)
        self._state = None

    def step(self) -> int:
        """Take what has come; the number of records written."""
        unasked = [line for line in self.client.poll() if line.kind == "h"]
        if unasked or self.client.unasked:  # the board has begun anew while we listened
            self.client.unasked.clear()
            self._is_known = False
            self.attach(self.client)
        written = self._take()
        if written or self._clock() - self._confirmed_at > CONFIRM_S:
            self._confirm()
        return written

    def _confirm(self) -> None:
        self._confirmed_at = self._clock()
        self.client.confirm(self._next)

    def _take(self) -> int:
        """The records in their order; what comes twice is left out, a missing one is asked for again."""
        inbox = self.client.inbox
        records: list[tuple[int, int, int, int]] = []
        written = 0
        while inbox:
            item = inbox.popleft()
            if not isinstance(item, WireLine):
                written += self._write(records)
                self.log.text(item)
                continue
            number, at, kind, which, value = item.numbers()
            if self._state is not None and number >= self._state.record:
                written += self._write(records)
                self._put_state()
            if number == self._next:
                if self._is_first:
                    self._is_first = False
                    self._time = self._t = at
                    self.log.records([(at, w.R_LOST, 0, min(number, VALUE_MAX))])
                self._move(at)
                self._next += 1
                records.append((self._t, kind, which, value))
            elif number > self._next:
                written += self._write(records)
                self._after_gap(number)
                break
        return written + self._write(records)

    def _move(self, at: int) -> None:
        self._t += (at - self._time) & MASK
        self._time = at

    def _write(self, records: list[tuple[int, int, int, int]]) -> int:
        if not records:
            return 0
        self.log.records(records)
        if self.watch:
            for t, kind, which, value in records:
                self.watch(Line(0, 0, t, *self._codec.by_name(kind, which, value)))
        self.count += len(records)
        written = len(records)
        records.clear()
        return written

    def _after_gap(self, number: int) -> None:
        """Numbers are missing: on the line (the board still has them), or for good."""
        if self.client.status().oldest <= self._next:
            self.client.inbox.clear()
            self._confirm()
            return
        state = self.client.state(birth=False)
        self.client.inbox.clear()
        self._state = None
        self._move(state.time)
        self.lost += state.record - self._next
        self.log.records([(self._t, w.R_LOST, 0, min(state.record - self._next, VALUE_MAX))])
        self.log.state(self._t, state.numbers)
        self._next = state.record

    def now(self) -> int:
        """The board's time as the log counts it, by our clock since we last spoke of time."""
        board_time, our_time = self._clocks
        ahead = board_time + int((self._clock() - our_time) * 1000) - self._time & MASK
        return self._t + ahead if ahead <= MASK >> 1 else self._t

    def remark(self, text: str, with_clock: bool = False) -> None:
        """A line of our own in the log, and what the clock on the wall says, if that has changed."""
        if self._log is not None:
            self._log.text(text, COMPUTER)
            if with_clock:
                self.note_clock()

    def note_clock(self) -> None:
        """Which clock time the board's time is now."""
        self.log.text(clock_text(self.now(), datetime.now().astimezone()), CLOCK)

    def finish(self) -> bool:
        """Take what the board has by now; False when that is too much for a short while: the board keeps it.

        An order that was given just before is on record with the board's next scan, so that is waited for.
        """
        give_up = self._clock() + FINISH_S
        begun = status = self.client.status()
        while status.time == begun.time or self._next < status.end:
            if self._clock() > give_up:
                return False
            self.step()
            if status.time == begun.time:
                status = self.client.status()
        return True

    def close(self) -> None:
        if self._log is not None:
            self._log.close()
