"""Counts one session while its records go by: sensors, turnouts, coils, blocks, messages."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from reedway.report.counts import BlockTally, CoilTally, Message, SensorTally, TurnoutTally
from reedway.report.relays import Relays
from reedway.report.strip import Strip
from reedway.sessionlog.clocks import CLOCK, COMPUTER
from reedway.sessionlog.kinds import BY_BUTTON, STATE, TEXT
from reedway.sessionlog.reader import Line
from reedway.sessionlog.tell import caution_words, fault_words


class Tally:
    """All counts of one log. Feed it every line in order, then finish."""

    def __init__(self) -> None:
        self.sensors: dict[str, SensorTally] = {}
        self.levels: dict[str, int] = {}  # switches and detectors: changes
        self.turnouts: dict[str, TurnoutTally] = {}
        self.coils: dict[str, CoilTally] = {}
        self.blocks: dict[str, BlockTally] = {}
        self.messages: dict[tuple[str, str], Message] = {}
        self.modes_ms: dict[str, int] = {}
        self.mode, self.mode_since = "before start", -1
        self.records = self.texts = self.lost = self.lates = self.late_longest_ms = self.resets = 0
        self.first = self.last = -1  # board time, over resets
        self.t_first = -1  # board time as it stands in the log
        self._offset = 0
        self._hit_last: SensorTally | None = None
        self.pairs: Counter[tuple[str, str]] = Counter()  # (sensor, the one hit next)
        self._hit_name = self._hit_before = ""
        self.remarks: list[str] = []  # of the computer: port gone and back, clock set, sleep
        self.relays = Relays()
        self.strip = Strip()
        self._take: dict[str, Callable[[int, str, int], object]] = {
            "hit": self._hit,
            "opening": self._opening,
            "chatter": self._chatter,
            "rest": self._rest,
            "change": self._change,
            "throw": self._throw,
            "deferred": self._deferred,
            "refresh": self._refresh,
            "pulse": self._pulse,
            "pulse end": self._pulse_end,
            "feed": self._feed,
            "note": lambda t, name, _: self._message("note", name, t),
            "caution": lambda t, name, kind: self._caution(t, caution_words(name, kind)),
            "clear": lambda t, name, kind: self._clear(t, caution_words(name, kind)),
            "fault": lambda t, name, cause: self._message("fault", fault_words(name, cause), t),
            "mode": self._mode,
            "order": self._order,
            "late": self._late,
            "lost": self._lost,
        }

    def take(self, line: Line) -> None:
        """Count one line of the log."""
        if line.kind == TEXT:
            if line.name == COMPUTER:
                self.remarks.append(str(line.value))
            elif line.name != CLOCK:
                self.texts += 1
            return
        t = line.t + self._offset
        if t < self.last:  # a reset: time goes on where it stopped
            self.resets += 1
            self._close(self.last)
            self._offset += self.last - t
            t = self.last
        if self.first < 0:
            self.first, self.t_first, self.mode_since = t, line.t, t
        self.last = t
        self.records += 1
        if line.kind == STATE:
            return
        assert isinstance(line.value, int)
        take = self._take.get(line.kind)
        if take is not None:
            take(t, line.name, line.value)
        self.relays.take(t, line.kind, line.name, line.value)
        self.strip.take(t, line.kind, line.name, line.value)

    def finish(self) -> None:
        """The log is over: what still lasts, lasted until its last record."""
        self._close(self.last)

    @property
    def span_ms(self) -> int:
        return self.last - self.first

    def _close(self, t: int) -> None:
        """Whatever lasts ends at t: at the end, and where the board was reset."""
        for sensor in self.sensors.values():
            if sensor.open_hit >= 0:
                sensor.closed_ms.append(t - sensor.open_hit)
            sensor.open_hit = sensor.last_hit = -1
        for coil in self.coils.values():
            coil.since = -1  # cut off: its length is not known
        for block in self.blocks.values():
            if block.since >= 0:
                block.go_ms += t - block.since
            block.since = -1
        for message in self.messages.values():
            if message.since >= 0:
                message.standing_ms += t - message.since
            message.since = -1
        self._mode(t, "before start", 0)
        self.relays.close(t)
        self.strip.close(t)

    # -- one kind each --------------------------------------------------------------------------------

    def _sensor(self, name: str) -> SensorTally:
        return self.sensors.setdefault(name, SensorTally())

    def _hit(self, t: int, name: str, _: int) -> None:
        sensor = self._sensor(name)
        sensor.hits += 1
        if sensor.last_hit >= 0:
            sensor.intervals_ms.append(t - sensor.last_hit)
        sensor.last_hit = sensor.open_hit = t
        self._hit_last = sensor
        if not sensor.is_button:
            if self._hit_name:
                self.pairs[self._hit_name, name] += 1
            self._hit_before, self._hit_name = self._hit_name, name

    def _order(self, _t: int, name: str, _: int) -> None:
        """An order by a button follows the hit that gave it."""
        if name.endswith(BY_BUTTON) and self._hit_last is not None:
            if not self._hit_last.is_button and self._hit_name:  # it stood among the sensors
                self.pairs[self._hit_before, self._hit_name] -= 1
                self._hit_name = self._hit_before
            self._hit_last.is_button = True

    def _opening(self, t: int, name: str, _: int) -> None:
        sensor = self._sensor(name)
        if sensor.open_hit >= 0:
            sensor.closed_ms.append(t - sensor.open_hit)
            sensor.open_hit = -1

    def _chatter(self, _t: int, name: str, closings: int) -> None:
        self._sensor(name).chatter += closings

    def _rest(self, _t: int, name: str, _: int) -> None:
        self._sensor(name).rests += 1

    def _change(self, _t: int, name: str, _: int) -> None:
        self.levels[name] = self.levels.get(name, 0) + 1

    def _turnout(self, name: str) -> TurnoutTally:
        return self.turnouts.setdefault(name, TurnoutTally())

    def _throw(self, _t: int, name: str, _: int) -> None:
        self._turnout(name).throws += 1

    def _deferred(self, _t: int, name: str, _: int) -> None:
        self._turnout(name).deferred += 1

    def _refresh(self, _t: int, name: str, skipped: int) -> None:
        if skipped:
            self._turnout(name).skipped += 1
        else:
            self._turnout(name).refreshes += 1

    def _pulse(self, t: int, name: str, _: int) -> None:
        coil = self.coils.setdefault(name, CoilTally())
        coil.pulses += 1
        coil.since = t

    def _pulse_end(self, t: int, name: str, _: int) -> None:
        coil = self.coils.setdefault(name, CoilTally())
        if coil.since >= 0:
            coil.longest_ms = max(coil.longest_ms, t - coil.since)
            coil.total_ms += t - coil.since
            coil.since = -1

    def _feed(self, t: int, name: str, fed: int) -> None:
        if name not in self.blocks:  # its first change tells what it was before
            self.blocks[name] = BlockTally(since=-1 if fed else self.first)
        block = self.blocks[name]
        block.changes += 1
        if block.since >= 0:
            block.go_ms += t - block.since
        block.since = t if fed else -1

    def _message(self, kind: str, text: str, t: int) -> Message:
        message = self.messages.setdefault((kind, text), Message(kind, text))
        message.count += 1
        if message.first < 0:
            message.first = t
        return message

    def _caution(self, t: int, text: str) -> None:
        message = self._message("caution", text, t)
        if message.since < 0:
            message.since = t

    def _clear(self, t: int, text: str) -> None:
        message = self.messages.get(("caution", text))
        if message is not None and message.since >= 0:
            message.standing_ms += t - message.since
            message.since = -1

    def _mode(self, t: int, name: str, _: int) -> None:
        if self.mode_since >= 0:
            self.modes_ms[self.mode] = self.modes_ms.get(self.mode, 0) + t - self.mode_since
        self.mode, self.mode_since = name, t

    def _late(self, _t: int, _name: str, gap_ms: int) -> None:
        self.lates += 1
        self.late_longest_ms = max(self.late_longest_ms, gap_ms)

    def _lost(self, _t: int, _name: str, count: int) -> None:
        self.lost += count
