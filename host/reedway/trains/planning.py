"""What `plan` finds: each train in each place, each magnet over each sensor, and what is wrong with them."""

from __future__ import annotations

from reedway.boardfile.compile import compile_layout
from reedway.layout.model import Layout
from reedway.trains import kinematics as k
from reedway.trains import standing, window
from reedway.trains.judging import judge_passing, judge_stand, late_throws
from reedway.trains.makeup import Makeup, make_up
from reedway.trains.model import Length, Span, Spot
from reedway.trains.planned import Passing, Plan, Problem, Stand
from reedway.trains.standing import Place
from reedway.trains.times import Times, times_of
from reedway.trains.window import Site


def plan(layout: Layout, worked_out: dict[str, Span]) -> Plan:
    """Everything; `worked_out` has operating lengths by kind of magnet. LayoutError as from `build`."""
    compiled = compile_layout(layout)
    times = {sensor.name: times_of(layout, compiled, sensor) for sensor in layout.sensors}
    stock = [make_up(layout.stock, train, worked_out) for train in layout.stock.trains]
    spots = {spot.name: spot for spot in layout.stock.spots}
    places = {
        length.name: _place(length, spots, times)
        for length in layout.stock.lengths
        if length.dead_end is not None
    }
    sites = [_site(layout, spot, places, times[spot.name]) for spot in layout.stock.spots]
    at = {length.name: _of_length(length, stock) for length in layout.stock.lengths}
    for site in sites:
        at[site.sensor] = at[site.place.name] if site.place else stock
    found = Plan(layout, stock, places, sites, at)
    for length in layout.stock.lengths:
        if length.dead_end is not None:
            _stand(found, length, spots)
    for spot, site in zip(layout.stock.spots, sites, strict=True):
        _pass(found, spot, site)
    for train in layout.stock.trains:
        if train.when_cut == k.REVERSER:
            text = f"train {train.name} steps its reverser when its feed is cut: lock the reverser out"
            found.problems.append(Problem(train.lines["when_cut"], text))
    return found


def _of_length(length: Length, stock: list[Makeup]) -> list[Makeup]:
    names = [str(name) for name in length.trains]
    return [made for made in stock if not names or made.name in names]


def _place(length: Length, spots: dict[str, Spot], times: dict[str, Times]) -> Place:
    cut = length.cut_by.text if length.cut_by else None
    spot = spots.get(cut) if cut else None
    is_here = spot is not None and spot.place is not None and spot.place.text == length.name
    dead = length.dead_end or 0.0
    if cut is None or spot is None or not is_here:
        return Place(length.name, length.live, dead, length.fouling_point)
    return Place(
        length.name, length.live, dead, length.fouling_point, spot.from_gap, times[spot.name].delay_s
    )


def _site(layout: Layout, spot: Spot, places: dict[str, Place], times: Times) -> Site:
    place = places[spot.place.text] if spot.place else None
    length = next((one for one in layout.stock.lengths if place and one.name == place.name), None)
    beyond = spot.beyond
    if beyond is None and spot.clear_of is not None and place is not None:
        beyond = place.live + spot.from_gap
    return Site(
        sensor=spot.name,
        x=spot.from_gap if place else 0.0,
        place=place,
        cuts=length is not None and length.cut_by is not None and length.cut_by.text == spot.name,
        clear_of=spot.clear_of.text if spot.clear_of else "",
        beyond=beyond,
        next_spot=spot.next_spot,
        side=spot.side,
        times=times,
    )


# -- places ---------------------------------------------------------------------------------------------


def _stand(found: Plan, length: Length, spots: dict[str, Spot]) -> None:
    """All trains that stand in one place."""
    place = found.places[length.name]
    if length.cut_by is not None and place.cut_x is None:
        text = f"place {length.name}: say in spots where {length.cut_by} is, or its stops cannot be planned"
        found.problems.append(Problem(length.cut_by.line, text))
        return
    sensors = [s.from_gap for s in spots.values() if s.place is not None and s.place.text == length.name]
    worst_s = 0.0
    if length.cut_by is not None:
        worst_s = found.site(length.cut_by.text).times.delay_worst_s
    for made in found.trains_at[length.name]:
        if place.cut_x is not None and not made.magnets:
            text = f"the {made.name} has no magnet to close {length.cut_by}: nothing cuts its feed"
            found.problems.append(Problem(made.train.line, f"{length.name}: {text}; give it a magnet"))
            continue
        stand = _one_stand(made, place, sensors, worst_s)
        found.stands.append(stand)
        judge_stand(found, length, made, stand)
    late_throws(found, place.name)


def _one_stand(made: Makeup, place: Place, sensors: list[float], worst_s: float) -> Stand:
    low, high = standing.noses(made, place)
    most = standing.cases(made, place)[1]
    worst = standing.Case(most.speed, most.coast, most.operating, max(worst_s, most.delay_s))
    first, last = made.first_pick_up, made.last_pick_up
    return Stand(
        place=place.name,
        train=made.name,
        nose=(low, high),
        tail=(low - made.length, high - made.length),
        magnets=[(m.vehicle, (low - m.from_nose, high - m.from_nose)) for m in made.magnets],
        pick_ups=((low - first, high - first), (low - last, high - last)),
        nose_short=place.mark - high,
        nose_short_worst=place.mark - standing.stand_nose(made, place, worst),
        tail_clear=low - made.length + place.live,
        dead_needed=last - first + most.coast.distance_mm(most.speed),
        dead=place.dead,
        set_on=standing.marks(made, place, sensors),
    )


# -- sensors --------------------------------------------------------------------------------------------


def _pass(found: Plan, spot: Spot, site: Site) -> None:
    """All magnets over one sensor."""
    trains = found.trains_at[site.sensor]
    for made in trains:
        if not made.magnets:
            found.problems.append(Problem(made.train.line, f"{site.sensor}: the {made.name} has no magnet"))
        for number, magnet in enumerate(made.magnets):
            passing = _one_passing(made, number, site)
            found.passings.append(passing)
            judge_passing(found, spot, site, magnet, passing, number)
    served = [made for made in trains if made.magnets]
    if served:
        found.windows[site.sensor] = window.window(site, served)
        found.remedies[site.sensor] = window.remedies(site, served)


def _one_passing(made: Makeup, number: int, site: Site) -> Passing:
    magnet, place = made.magnets[number], site.place
    low, high = magnet.operating
    first = number == 0
    return Passing(
        sensor=site.sensor,
        train=made.name,
        vehicle=magnet.vehicle,
        operating=(low, high),
        source=magnet.source,
        closed_ms=1000 * k.dwell_s(low, made.train.speed[1]),
        needed_ms=1000 * site.times.hit_s,
        beyond=standing.beyond(made, magnet, place, site.x) if place else None,
        short_of=standing.short_of(made, magnet, place, site.x) if place else None,
        tail_clear=window.tail_clear(site, made) if first else None,
        next_clear=site.next_spot - window.next_needed(site, made) if first and site.next_spot else None,
        next_clear_worst=(
            site.next_spot - window.next_needed(site, made, worst=True) if first and site.next_spot else None
        ),
        again="" if first else _again(made, number, site),
    )


def _again(made: Makeup, number: int, site: Site) -> str:
    """Why a magnet that is not the first makes another hit."""
    magnet, before = made.magnets[number], made.magnets[number - 1]
    slow = made.train.speed[0]
    open_mm = magnet.from_nose - before.from_nose - (magnet.operating[0] + before.operating[0]) / 2
    open_s = max(0.0, open_mm) / slow
    if site.place is not None:
        if standing.beyond(made, magnet, site.place, site.x)[0] < 0:
            return "it stands short of it or over it, and makes a hit when the train leaves"
        open_s += made.train.coasts()[1].time_s(slow)
    if open_s >= site.times.again_s:
        return f"up to {open_s:.1f} s after the one before it; {site.times.again_s:.1f} s make another"
    return ""
