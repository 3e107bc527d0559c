"""Which rails were live, and since when, as a session log tells it."""

from __future__ import annotations

from reedway.trains.running.ground import NEAR_MM, Ground

ALWAYS_MS = -(10**12)
RailAt = tuple[int, int]  # section, number of the rail in it
Way = tuple[tuple[int, float], ...]  # sections one after the other, and where each begins


class LiveRails:
    """Feeds and turnouts as recorded; what no record has told yet counts as dead."""

    def __init__(self, ground: Ground) -> None:
        layout = ground.layout
        self.ground = ground
        self._feeds = {block.name: number for number, block in enumerate(layout.blocks)}
        self._feeds["track feed"] = len(layout.blocks)
        self._turnouts = {turnout.name: number for number, turnout in enumerate(layout.turnouts)}
        self.forget()

    def forget(self) -> None:
        """A new part of the log: nothing is known."""
        self._on = 0
        self._lies: dict[int, int] = {}
        self.since: dict[RailAt, int] = {}  # ms; only rails that are live
        self._look(ALWAYS_MS)

    def record(self, t: int, kind: str, name: str, value: int) -> None:
        """One record of the log."""
        if kind == "feed" and name in self._feeds:
            bit = 1 << self._feeds[name]
            self._on = self._on | bit if value else self._on & ~bit
        elif kind == "position" and name in self._turnouts:
            self._lies[self._turnouts[name]] = value
        else:
            return
        self._look(t)

    def _look(self, t: int) -> None:
        for i, section in enumerate(self.ground.sections):
            for number, rail in enumerate(section.rails):
                is_fed = self._on & rail.needs == rail.needs
                if is_fed and (not rail.ways or any(self._lies.get(one) == at for one, at in rail.ways)):
                    self.since.setdefault((i, number), t)
                else:
                    self.since.pop((i, number), None)

    def were_live(self, rails: set[RailAt], t: int) -> bool:
        """All of these are live, and have been since `t`."""
        return all(self.since.get(rail, t + 1) <= t for rail in rails)


def rails_of(ground: Ground, way: Way, low: float, high: float) -> set[RailAt]:
    """The rails from `low` to `high` on a way; where points lead on from its ends, those of both tracks."""
    pieces = list(way)
    first, begins = way[0]
    _grow(ground, pieces, first, begins, low, back=True)
    last, begins = way[-1]
    _grow(ground, pieces, last, begins, high, back=False)
    found: set[RailAt] = set()
    for i, origin in pieces:
        section = ground.sections[i]
        starts = [origin + rail.start for rail in section.rails] + [origin + section.length]
        for number in range(len(section.rails)):
            if starts[number] < high + NEAR_MM and starts[number + 1] > low - NEAR_MM:
                found.add((i, number))
    return found


def _grow(
    ground: Ground, pieces: list[tuple[int, float]], i: int, begins: float, until: float, back: bool
) -> None:
    """Add the sections beyond one end of a way until `until` is reached."""
    end = begins + ground.sections[i].length
    if (begins <= until if back else end >= until) or len(pieces) > 10 * len(ground.sections):
        return
    for other in ground.track.before[i] if back else ground.track.to[i]:
        origin = begins - ground.sections[other].length if back else end
        pieces.append((other, origin))
        _grow(ground, pieces, other, origin, until, back)
