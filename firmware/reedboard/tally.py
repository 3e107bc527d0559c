"""A small count that needs no computer: hits and longest closing of sensors, pulses, last caution, fault."""

from array import array

from reedlogic.ring import MASK
from reedlogic.words import R_CAUTION, R_FAULT, R_HIT, R_LATE, R_OPENING, R_PULSE

INPUTS, COILS = 30, 14
END = -1


class Tally:
    """Reads the journal a record at a time, in the spare time between scans."""

    def __init__(self, feed) -> None:  # type: ignore[no-untyped-def]
        self.feed = feed
        self.seen = 0  # number of the next record to look at
        self.looked_to = END  # place in the journal up to which all was counted
        self.missed = 0  # records that went before they were looked at
        self.hits = array("I", [0] * INPUTS)
        self.closed_since = array("I", [0] * INPUTS)
        self.longest_ms = array("I", [0] * INPUTS)
        self.pulses = array("I", [0] * COILS)
        self.late = 0
        self.caution = self.caution_kind = self.fault = self.fault_cause = 0
        self.cautions = self.faults = 0
        self.heap_free = 0  # bytes after start-up

    def step(self) -> bool:
        """Count one record; False when all are counted."""
        feed = self.feed
        if feed.journal.next == self.looked_to:
            return False
        oldest = feed.oldest()
        if self.seen < oldest:
            self.missed += oldest - self.seen
            self.seen = oldest
        place = self.seen - oldest
        if place >= feed.journal.held():
            self.looked_to = feed.journal.next
            return False
        self.seen += 1
        self._count(feed.journal, place)
        return True

    def _count(self, journal, place: int) -> None:  # type: ignore[no-untyped-def]
        kind = journal.kind(place)
        which = journal.which(place)
        if kind == R_HIT and which < INPUTS:
            self.hits[which] += 1
            self.closed_since[which] = journal.time(place)
        elif kind == R_OPENING and which < INPUTS:
            closed_ms = (journal.time(place) - self.closed_since[which]) & MASK
            if self.hits[which] and closed_ms > self.longest_ms[which]:
                self.longest_ms[which] = closed_ms
        elif kind == R_PULSE:
            self.pulses[which] += 1
        elif kind == R_LATE:
            self.late += 1
        elif kind == R_CAUTION:
            self.caution = which
            self.caution_kind = journal.value(place)
            self.cautions += 1
        elif kind == R_FAULT:
            self.fault = which
            self.fault_cause = journal.value(place)
            self.faults += 1

    def add_row(self, row: int, sender) -> int:  # type: ignore[no-untyped-def]
        """Append the numbers of one row; returns the next row, or END.

        Rows 0..29: hits and longest closing of an input; 30..43: pulses of a coil; 44: the rest.
        """
        if row < INPUTS:
            sender.add(self.hits[row])
            sender.add(self.longest_ms[row])
        elif row < INPUTS + COILS:
            sender.add(self.pulses[row - INPUTS])
        else:
            for value in range(8):
                sender.add(self._rest(value))
            return END
        return row + 1

    def _rest(self, value: int) -> int:
        if value == 0:
            return self.late
        if value == 1:
            return self.cautions
        if value == 2:
            return self.caution
        if value == 3:
            return self.caution_kind
        if value == 4:
            return self.faults
        if value == 5:
            return self.fault
        if value == 6:
            return self.fault_cause
        return self.heap_free
