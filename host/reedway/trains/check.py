"""Stage 4 for trains and lengths: do vehicles, trains, lengths and spots fit each other?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Protocol

from reedway.layout.near import did_you_mean
from reedway.layout.references import name_wrong
from reedway.problems import Complaint
from reedway.trains import kinematics as k
from reedway.trains import makeup, model

if TYPE_CHECKING:
    from reedway.layout.model import Layout, Text

VEHICLES_MAX, TRAINS_MAX, LENGTHS_MAX, SPOTS_MAX = 100, 20, 60, 26


class Named(Protocol):
    """Anything with a name in some line."""

    name: str
    line: int


def check_stock(layout: Layout) -> list[Complaint]:
    """Every complaint about trains and lengths. References get the spelling of the name they mean."""
    check = _Check(layout)
    check.names()
    for vehicle in layout.stock.vehicles:
        check.vehicle(vehicle)
    for train in layout.stock.trains:
        check.train(train)
    for length in layout.stock.lengths:
        check.length(length)
    for spot in layout.stock.spots:
        check.spot(spot)
    return check.found


def _mm(value: float) -> str:
    return f"{value:g} mm"


class _Check:
    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.stock = layout.stock
        self.found: list[Complaint] = []
        self.places = [place.name for place in layout.places]
        others: list[Named] = [*layout.turnouts, *layout.blocks, *layout.track]
        self.sections = list(dict.fromkeys([*self.places, *(other.name for other in others)]))
        self.lengths = {length.name: length for length in self.stock.lengths}

    def complain(self, line: int, message: str) -> None:
        self.found.append(Complaint(self.layout.path, line, message))

    # -- names ----------------------------------------------------------------------------------------

    def names(self) -> None:
        """Names are names, each once; lengths and spots go by names that are there."""
        stock = self.stock
        self._few("vehicles", stock.vehicles, VEHICLES_MAX)
        self._few("trains", stock.trains, TRAINS_MAX)
        self._few("lengths", stock.lengths, LENGTHS_MAX)
        self._few("spots", stock.spots, SPOTS_MAX)
        self._own("vehicle", stock.vehicles)
        self._own("train", stock.trains)
        for length in stock.lengths:
            length.name = self._known(length, "length", self.sections, "place, turnout or section")
        self.lengths = {length.name: length for length in stock.lengths}
        sensors = [sensor.name for sensor in self.layout.sensors]
        for spot in stock.spots:
            spot.name = self._known(spot, "spot", sensors, "sensor")

    def _few(self, section: str, things: Sequence[Named], most: int) -> None:
        if len(things) > most:
            self.complain(
                things[most].line,
                f"{section}: {len(things)} are more than fit; allowed are {most}; "
                f"take {len(things) - most} out",
            )

    def _own(self, one: str, things: Iterable[Named]) -> None:
        first: dict[str, Named] = {}
        for thing in things:
            wrong = name_wrong(thing.name)
            if wrong:
                self.complain(thing.line, f"the {one} name '{thing.name[:40]}' {wrong}")
            before = first.setdefault(thing.name.casefold(), thing)
            if before is not thing:
                self.complain(
                    thing.line,
                    f"the name '{thing.name}' is taken by the {one} '{before.name}' in line {before.line}; "
                    "case does not count; rename one of them",
                )

    def _known(self, thing: Named, one: str, names: list[str], what: str) -> str:
        found = _spelled(thing.name, names)
        if found is None:
            advice = did_you_mean(thing.name, names)
            self.complain(
                thing.line, f"{one} {thing.name}: there is no {what} of this name; one is needed; {advice}"
            )
        return found or thing.name

    def _refer(self, text: Text, names: list[str], where: str, what: str, under: str) -> str | None:
        found = _spelled(text.text, names)
        if found is None:
            advice = did_you_mean(text.text, names) if names else f"add it under {under}"
            self.complain(
                text.line, f"{where}: there is no {what} '{text}'; it must stand under {under}; {advice}"
            )
        return found

    # -- vehicles and trains ----------------------------------------------------------------------------

    def vehicle(self, v: model.Vehicle) -> None:
        """Magnet and pick-ups are within its length."""
        spans = [("pick_ups", v.pick_ups), ("magnet_fits", v.magnet_fits)]
        if v.magnet is not None:
            spans.append(("magnet", (v.magnet, v.magnet)))
        for key, span in spans:
            if span is not None and span[1] > v.length:
                self.complain(
                    v.lines[key],
                    f"{key} of vehicle {v.name}: {_mm(span[1])} from its front is behind its end; "
                    f"allowed are 0 mm to {_mm(v.length)}; measure from the front of this vehicle",
                )
        fits = v.magnet_fits
        if v.magnet is not None and fits is not None and not fits[0] <= v.magnet <= fits[1]:
            self.complain(
                v.lines["magnet"],
                f"magnet of vehicle {v.name}: at {_mm(v.magnet)} none fits; "
                f"allowed are {_mm(fits[0])} to {_mm(fits[1])} by magnet_fits; change one of the two",
            )

    def train(self, train: model.Train) -> None:
        """Its vehicles are there and couple; something drives it; it can be stopped."""
        names = [vehicle.name for vehicle in self.stock.vehicles]
        where = f"vehicles of train {train.name}"
        spelled = [self._refer(text, names, where, "vehicle", "vehicles") for text in train.vehicles]
        if None in spelled:
            return
        for number, name in enumerate(spelled):
            train.vehicles[number] = type(train.vehicles[number])(str(name), train.vehicles[number].line)
        cars = makeup.vehicles_of(self.stock, train)
        for ahead, behind in zip(cars, cars[1:], strict=False):
            rear, front = ahead.couplers[1], behind.couplers[0]
            if rear.text.casefold() != front.text.casefold():
                self.complain(
                    train.lines["vehicles"],
                    f"{where}: the rear of {ahead.name} ({rear}) does not couple to the front of "
                    f"{behind.name} ({front}); like couplers mate; change the order or a coupler",
                )
        if not makeup.drives(cars):
            self.complain(
                train.line,
                f"train {train.name}: nothing drives it; needed is a vehicle with motor: true, and pick_ups "
                "of its own or of a vehicle that is wired through to it; add them",
            )
        self._cut(train)

    def _cut(self, train: model.Train) -> None:
        """What it does without feed, and whether that can be."""
        where = f"train {train.name}"
        needs = {k.SO_FAR: "run_on", k.SO_LONG: "run_on_time"}.get(train.when_cut)
        given = {"run_on": train.run_on, "run_on_time": train.run_on_time_ms}
        if needs and given[needs] is None:
            example = {"run_on": "15 mm to 25 mm", "run_on_time": "300 ms"}[needs]
            self.complain(
                train.lines["when_cut"],
                f"{where}: it {train.when_cut}, and {needs} is missing; it is needed; add {needs}: {example}",
            )
        for key, value in given.items():
            fits = key == needs or (train.when_cut == k.REVERSER and key == "run_on")
            if value is not None and not fits:
                self.complain(
                    train.lines[key],
                    f"{key} of {where}: a train that {train.when_cut} has none; "
                    f"allowed with when_cut: {k.SO_FAR if key == 'run_on' else k.SO_LONG}; change one",
                )
        stops = [length for length in self.stock.lengths if length.dead_end is not None]
        if train.when_cut == k.NEVER and (self.layout.blocks or stops):
            what = f"block {self.layout.blocks[0].name}" if self.layout.blocks else stops[0].name
            self.complain(
                train.lines["when_cut"],
                f"{where}: it never stops, and {what} is to stop it; allowed is a train that stops without "
                "feed; leave it out of this layout, or let the feed reach its motor",
            )

    # -- lengths and spots ------------------------------------------------------------------------------

    def length(self, length: model.Length) -> None:
        """Parts are shorter than the whole."""
        where, dead = f"length {length.name}", length.dead_end
        if dead is not None and dead > length.length:
            self.complain(
                length.lines["dead_end"],
                f"dead_end of {where}: {_mm(dead)} is longer than the whole; allowed are up to "
                f"{_mm(length.length)}; measure again",
            )
        room = length.length if dead is None else dead
        if length.fouling_point >= room:
            self.complain(
                length.lines["fouling_point"],
                f"fouling_point of {where}: {_mm(length.fouling_point)} before the far end leaves no room "
                f"for a nose; allowed are less than {_mm(room)}; measure from the far end back",
            )
        for key in ("cut_by", "trains"):
            if dead is None and key in length.lines:
                self.complain(
                    length.lines[key],
                    f"{key} of {where}: without a dead end no train stands here; it is needed; add dead_end",
                )
        names = [train.name for train in self.stock.trains]
        for number, text in enumerate(length.trains):
            found = self._refer(text, names, f"trains of {where}", "train", "trains")
            length.trains[number] = type(text)(found or text.text, text.line)

    def spot(self, spot: model.Spot) -> None:
        """It is somewhere, and on its place."""
        where = f"spot {spot.name}"
        if spot.place is None and spot.clear_of is None and spot.next_spot is None:
            self.complain(
                spot.line,
                f"{where}: it is nowhere; needed is place, clear_of or next_spot; add for example "
                "next_spot: 600 mm",
            )
            return
        if spot.clear_of is not None:
            found = self._refer(spot.clear_of, self.sections, f"clear_of of {where}", "section", "places")
            spot.clear_of = type(spot.clear_of)(found or spot.clear_of.text, spot.clear_of.line)
            self._as_the_sensor_says(spot, spot.clear_of)
            if spot.place is None and spot.beyond is None:
                self.complain(
                    spot.line, f"{where}: how far behind {spot.clear_of}? beyond is needed; add beyond: 1 m"
                )
        elif spot.beyond is not None:
            self.complain(spot.lines["beyond"], f"beyond of {where}: behind what? add clear_of: exit")
        if spot.place is not None:
            self._on_its_place(spot, spot.place)
        elif spot.set_back is not None or spot.beyond_gap is not None:
            self.complain(spot.line, f"{where}: from which gap? place is needed; add place: track A")

    def _as_the_sensor_says(self, spot: model.Spot, clear_of: Text) -> None:
        """What a spot is clear of is among what its sensor is said to show."""
        sensor = next((one for one in self.layout.sensors if one.name == spot.name), None)
        shown = [] if sensor is None else [str(name) for name in sensor.tail_clear_of]
        if shown and clear_of.text not in shown:
            self.complain(
                clear_of.line,
                f"clear_of of spot {spot.name}: {clear_of} is not among tail_clear_of of the sensor; allowed "
                f"are {', '.join(shown)}; write one of these, or change tail_clear_of",
            )

    def _on_its_place(self, spot: model.Spot, place: Text) -> None:
        where = f"spot {spot.name}"
        with_gap = [name for name, length in self.lengths.items() if length.dead_end is not None]
        found = self._refer(place, with_gap, f"place of {where}", "length with a dead_end", "lengths")
        if found is None:
            return
        spot.place = type(place)(found, place.line)
        length = self.lengths[found]
        if length.live < 0:
            return  # told there
        if (spot.set_back is None) == (spot.beyond_gap is None):
            self.complain(
                spot.line,
                f"{where}: it is before the gap or beyond it; write set_back or beyond_gap, one of them",
            )
            return
        low, high = -length.live, length.dead_end or 0.0
        if not low <= spot.from_gap <= high:
            key = "set_back" if spot.set_back is not None else "beyond_gap"
            self.complain(
                spot.lines[key],
                f"{key} of {where}: {_mm(abs(spot.from_gap))} is off {found}; allowed are up to "
                f"{_mm(-low if key == 'set_back' else high)}; measure from the gap, or mend lengths",
            )


def _spelled(name: str, names: Iterable[str]) -> str | None:
    return {known.casefold(): known for known in names}.get(name.casefold())
