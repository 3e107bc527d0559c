"""Is a train fed where it is; and how do the points lie that it comes to: right, wrong, or nobody knows."""

from __future__ import annotations

from reedway.proof.packing import Packing
from reedway.proof.spots import AGAINST, Spots
from reedway.proof.timed.course import Spot

DEAD, LIVE, EITHER = 0, 1, 2


class Feeds:
    """Looks at a packed state of the logic."""

    def __init__(self, spots: Spots, packing: Packing) -> None:
        self.track = spots.track
        self.packing = packing
        self.track_feed = spots.track_feed
        self.needs: dict[int, tuple[int, int, int]] = {-1: (self.track_feed, 0, 0)}
        for i in range(len(self.track.sections)):
            if self.track.place(i) >= 0:
                block = self.track.block(i)
                bit = spots.feeds[block] if block else self.track_feed
                self.needs[i] = (bit, *self._routing(i))

    def _routing(self, place: int) -> tuple[int, int]:
        """The bits of a power-routing turnout that feeds the dead end: lies right, lies wrong."""
        target = self.track.to[place][0]
        turnout = self.track.turnout(target)
        if turnout < 0 or not self.track.is_trailing(target):
            return 0, 0
        if not self.track.layout.turnouts[turnout].power_routing:
            return 0, 0
        position = self.track.position_into(place, target)
        return self._lies(turnout, position), self._lies(turnout, 1 - position)

    def _lies(self, turnout: int, position: int) -> int:
        return 1 << (self.packing.second_at if position else self.packing.first_at) + turnout

    def of(self, spot: Spot, logic: int) -> int:
        """DEAD, LIVE, or EITHER where nobody knows how points lie."""
        feed, right, wrong = self.needs[spot.dead_end]
        if feed and not logic & feed:
            return DEAD
        if not right:
            return LIVE
        if not logic & wrong:
            return LIVE
        return EITHER if logic & right else DEAD

    def ahead(self, head: int, logic: int) -> list[tuple[int, str]]:
        """Where a nose at the end of a section comes to, and why it must not: (section, "" or why)."""
        track = self.track
        if track.is_facing(head):
            turnout = track.turnout(head)
            targets = [t for i, t in enumerate(track.to[head]) if logic & self._lies(turnout, i)]
        else:
            targets = [track.to[head][0]]
        return [(target, self._why_not(head, target, logic)) for target in targets]

    def _why_not(self, head: int, target: int, logic: int) -> str:
        turnout = self.track.turnout(target)
        if turnout < 0:
            return ""
        why = AGAINST.format(self.track.name(target))
        if not logic >> self.packing.known_at + turnout & 1:
            return why
        if self.track.is_trailing(target):
            position = self.track.position_into(head, target)
            if logic & self._lies(turnout, 1 - position):
                return why
        return ""
