"""For each sensor that throws: how long a relay in its place would have held the coil."""

from __future__ import annotations

from dataclasses import dataclass, field

# Records that begin an event; a throw that follows belongs to the event before it.
_EVENTS = ("change", "rest", "chatter", "order", "start", "position", "clear")


@dataclass
class Held:
    """A sensor that throws turnouts: how long it was closed from a throwing hit until it was open again.

    The time runs from the closing that made the hit to the last opening before the next hit, so a magnet that
    rests and chatters counts as one; what it was open in between is left out.
    """

    throws: int = 0  # hits that threw
    turnouts: dict[str, None] = field(default_factory=dict)  # in the order in which they came
    longest_ms: int = 0  # closed time of the longest such closing, chatter added up
    closings: int = 0  # of that longest one
    total_ms: int = 0


@dataclass
class _Contact:
    """The raw contact of one sensor."""

    level: int = 0
    since: int = 0  # of this level
    closed_ms: int = 0  # before `since`
    closings: int = 0
    hit_closed_ms: int = -1  # closed_ms at the closing of the throwing hit; -1: none
    hit_closings: int = 0
    opened_closed_ms: int = 0  # closed_ms at the last opening
    opened_closings: int = 0


class Relays:
    """Follows raw contacts and tells which hit threw what."""

    def __init__(self) -> None:
        self.held: dict[str, Held] = {}
        self._contacts: dict[str, _Contact] = {}
        self._cause = ""  # the sensor whose hit is being carried out

    def take(self, t: int, kind: str, name: str, value: int) -> None:
        """One record."""
        if kind == "edge":
            self._edge(t, name, value)
        elif kind == "hit":
            contact = self._contacts.get(name)
            if contact is not None:
                self._end(name, contact.opened_closed_ms, contact.opened_closings)
            self._cause = name
        elif kind == "throw" or (kind == "refresh" and value == 0):
            if self._cause:
                self._threw(name)
        elif kind == "opening":
            self._opening(name)
        elif kind in _EVENTS or (kind == "timer" and value == 2):
            self._cause = ""

    def close(self, t: int) -> None:
        """The end, or a reset."""
        for name, contact in self._contacts.items():
            if contact.level:
                self._end(name, contact.closed_ms + t - contact.since, contact.closings)
            elif contact.opened_closed_ms > contact.hit_closed_ms:
                self._end(name, contact.opened_closed_ms, contact.opened_closings)
            else:
                self._end(name, contact.closed_ms, contact.closings)
        self._contacts.clear()
        self._cause = ""

    def _edge(self, t: int, name: str, level: int) -> None:
        contact = self._contacts.setdefault(name, _Contact())
        if level == contact.level:
            return
        if contact.level:
            contact.closed_ms += t - contact.since
        else:
            contact.closings += 1
        contact.level, contact.since = level, t

    def _threw(self, turnout: str) -> None:
        held = self.held.setdefault(self._cause, Held())
        held.turnouts[turnout] = None
        contact = self._contacts.setdefault(self._cause, _Contact())
        if contact.hit_closed_ms < 0:  # once a hit, however many turnouts it throws
            held.throws += 1
            contact.hit_closed_ms = contact.closed_ms
            contact.hit_closings = contact.closings - 1

    def _opening(self, name: str) -> None:
        self._cause = ""
        contact = self._contacts.get(name)
        if contact is not None:
            contact.opened_closed_ms, contact.opened_closings = contact.closed_ms, contact.closings

    def _end(self, name: str, closed_ms: int, closings: int) -> None:
        """The time that belongs to the last throwing hit of this sensor is over."""
        contact = self._contacts[name]
        if contact.hit_closed_ms < 0:
            return
        held = self.held[name]
        closed = closed_ms - contact.hit_closed_ms
        held.total_ms += closed
        if closed > held.longest_ms:
            held.longest_ms, held.closings = closed, closings - contact.hit_closings
        contact.hit_closed_ms = -1
