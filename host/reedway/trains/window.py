"""How far a sensor may be moved so that it still serves the whole stock: bounds, and who sets them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from reedway.trains import standing
from reedway.trains.makeup import Makeup
from reedway.trains.standing import Place
from reedway.trains.times import Times

# Kinds of bound.
OFF = "the end of its place"
TAIL = "tail clear at the hit"
PASSES = "magnet passes clear"
NOSE = "nose short of the mark"
STANDS = "tail clear where it stands"
NEXT = "next spot far enough"


@dataclass(frozen=True)
class Site:
    """One sensor by numbers. `place` is None for a sensor where no train stands."""

    sensor: str
    x: float  # from the gap of the place; 0 without a place
    place: Place | None
    cuts: bool  # its hit makes the end of the place dead
    clear_of: str
    beyond: float | None  # from what the train has left to the sensor
    next_spot: float | None
    side: str
    times: Times

    @property
    def at(self) -> float:
        """Where it is, from the gap, else from what the train has left, else from itself."""
        return self.x if self.place is not None else (self.beyond or 0.0)

    @property
    def origin(self) -> str:
        """What `at` counts from."""
        if self.place is not None:
            return "the gap"
        return f"the end of {self.clear_of}" if self.beyond is not None else self.sensor

    def moved(self, by: float) -> Site:
        """The same sensor `by` mm farther on."""
        place = self.place
        if place is not None and self.cuts:
            place = replace(place, cut_x=self.x + by)
        return replace(
            self,
            x=self.x + by,
            place=place,
            beyond=None if self.beyond is None else self.beyond + by,
            next_spot=None if self.next_spot is None else self.next_spot - by,
        )


@dataclass(frozen=True)
class Bound:
    """The sensor may be moved no farther back, or on, than `by`."""

    by: float
    kind: str
    train: str


@dataclass(frozen=True)
class Window:
    """From how far back to how far on the sensor may be moved; empty when low is above high."""

    low: Bound
    high: Bound

    @property
    def is_empty(self) -> bool:
        return self.low.by > self.high.by


def tail_clear(site: Site, made: Makeup) -> float | None:
    """How far the tail is clear when the first magnet makes its hit; None: nothing is asked of it."""
    if site.beyond is None or not made.magnets:
        return None
    first = made.magnets[0]
    return site.beyond - first.operating[1] / 2 + first.from_nose - made.length


def next_needed(site: Site, made: Makeup, worst: bool = False) -> float:
    """How far on the next spot is at least: the nose is ahead of the magnet, and runs on meanwhile.

    Worst: what the hit throws has to wait for another pulse, or is given twice.
    """
    if not made.magnets:
        return 0.0
    first = made.magnets[0]
    time_s = site.times.hit_s + (site.times.throw_worst_s if worst else site.times.throw_s)
    return max(0.0, first.from_nose - first.operating[0] / 2 + made.train.speed[1] * time_s)


def _of_train(site: Site, made: Makeup) -> tuple[list[Bound], list[Bound]]:
    """Bounds that one train sets, back and on."""
    low, high = [], []
    clear = tail_clear(site, made)
    if clear is not None:
        low.append(Bound(-clear, TAIL, made.name))
    if site.next_spot is not None and made.magnets:
        high.append(Bound(site.next_spot - next_needed(site, made), NEXT, made.name))
    place = site.place
    if place is None or not made.magnets:
        return low, high
    first = made.magnets[0]
    if not site.cuts:
        if site.times.warns:
            high.append(Bound(standing.beyond(made, first, place, site.x)[0], PASSES, made.name))
        return low, high
    # The cutting sensor takes the standing train with it, unless the last pick-up is what decides.
    least, most = standing.cases(made, place)
    run_on = least.coast.distance_mm(least.speed)
    rolls = least.speed * least.delay_s + run_on
    if site.times.warns and rolls < first.operating[1]:
        free = made.last_pick_up - first.from_nose - first.operating[1] / 2 + run_on
        high.append(Bound(free - site.x, PASSES, made.name))
    by_pick_up = made.last_pick_up + most.coast.distance_mm(most.speed)
    by_hit = site.x - most.operating / 2 + first.from_nose + most.speed * most.delay_s
    by_hit += most.coast.distance_mm(most.speed)
    high.append(Bound(-math.inf if by_pick_up > place.mark else place.mark - by_hit, NOSE, made.name))
    if made.last_pick_up + run_on + place.live < made.length:
        by_hit = site.x - first.operating[1] / 2 + first.from_nose + rolls
        low.append(Bound(made.length - place.live - by_hit, STANDS, made.name))
    return low, high


def window(site: Site, stock: list[Makeup]) -> Window:
    """The interval that serves all these trains."""
    low, high = [Bound(-math.inf, OFF, "")], [Bound(math.inf, OFF, "")]
    if site.place is not None:
        low = [Bound(-site.place.live - site.x, OFF, "")]
        high = [Bound(site.place.dead - site.x, OFF, "")]
    elif site.beyond is not None:
        low = [Bound(-site.beyond, OFF, "")]
    for made in stock:
        back, on = _of_train(site, made)
        low += back
        high += on
    return Window(max(low, key=lambda bound: bound.by), min(high, key=lambda bound: bound.by))


def remedies(site: Site, stock: list[Makeup]) -> list[str]:
    """Single changes that open an empty window, each tried."""
    found = window(site, stock)
    if not found.is_empty:
        return []
    short = found.low.by - found.high.by
    if math.isinf(short):
        short = _nose_over(site, stock)
    grow = max(1, math.ceil(round(short, 6)))
    tried: list[tuple[str, Site, list[Makeup]]] = []
    place = site.place
    if place is not None:
        # Longer before the gap: with it what must be clear lies farther behind.
        farther = None if site.beyond is None else site.beyond + grow
        longer = replace(site, place=replace(place, live=place.live + grow), beyond=farther)
        tried.append((f"make {place.name} {grow} mm longer before the gap", longer, stock))
        longer = replace(site, place=replace(place, dead=place.dead + grow))
        tried.append((f"make the dead end of {place.name} {grow} mm longer", longer, stock))
    elif site.next_spot is not None:
        longer = replace(site, next_spot=site.next_spot + grow)
        tried.append((f"put the next spot after {site.sensor} {grow} mm farther on", longer, stock))
    for name in dict.fromkeys((found.low.train, found.high.train)):
        for by, way in ((grow, "back"), (-grow, "forward")):
            moved = [_with_magnet(made, by) if made.name == name else made for made in stock]
            if name and all(made is not None for made in moved):
                text = f"put the magnet of the {name} {grow} mm farther {way}"
                tried.append((text, site, [made for made in moved if made is not None]))
    for name in dict.fromkeys((found.low.train, found.high.train)):
        if name:
            left = [made for made in stock if made.name != name]
            tried.append((f"do without the {name} here", site, left))
    return [text for text, other, trains in tried if not window(other, trains).is_empty]


def _nose_over(site: Site, stock: list[Makeup]) -> float:
    """How far the farthest nose stands past the mark by its pick-ups alone."""
    assert site.place is not None
    over = 0.0
    for made in stock:
        most = standing.cases(made, site.place)[1]
        by_pick_up = made.last_pick_up + most.coast.distance_mm(most.speed)
        over = max(over, by_pick_up - site.place.mark)
    return over


def _with_magnet(made: Makeup, by: float) -> Makeup | None:
    """The train with its first magnet moved within where it fits, else within its vehicle."""
    if not made.magnets:
        return None
    first = made.magnets[0]
    at = first.from_nose + by
    within = next((front, rear) for _, front, rear in made.cars if front <= first.from_nose <= rear)
    low, high = first.fits or within
    if not low <= at <= high:
        return None
    return replace(made, magnets=(replace(first, from_nose=at), *made.magnets[1:]))
