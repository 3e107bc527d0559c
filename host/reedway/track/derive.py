"""Derives from the track the rules that keep trains apart, as ordinary sentences with their reasons."""

from __future__ import annotations

from collections.abc import Iterable

from reedway.layout.keys import NAME_LETTERS_MAX
from reedway.layout.model import Layout, Relay, Rule, Text
from reedway.problems import Complaint
from reedway.track.confirming import Confirming, due_times
from reedway.track.derivable import check_derivable, out_of_service
from reedway.track.duetimes import DueTimes
from reedway.track.groups import Group, groups_of
from reedway.track.legs import Leg, Legs, Point
from reedway.track.policy import Policies
from reedway.track.railway import Track


def derive(layout: Layout) -> list[Complaint]:
    """Add the derived relays, timers, rules and start values to a layout; or say why that cannot be."""
    if not layout.rules_derived:
        return []
    legs = Legs(Track(layout))
    complaints = check_derivable(layout, legs)
    times: DueTimes | None = None
    if not complaints and layout.hits_by_running_time:
        times, complaints = due_times(layout, legs)
    if not complaints:
        deriver = Deriver(layout, legs, times)
        deriver.derive()
        layout.relays += deriver.relays
        layout.timers += deriver.confirming.timers if deriver.confirming else []
        layout.rules[:0] = deriver.rules
    return complaints


class Deriver:
    """Writes the rules. `relays` and `rules` are what is added to the layout."""

    def __init__(self, layout: Layout, legs: Legs, times: DueTimes | None = None) -> None:
        self.layout = layout
        self.legs = legs
        self.track = legs.track
        self.groups = groups_of(legs)
        self.relays: list[Relay] = []
        self.rules: list[Rule] = []
        self._taken = {relay.name.casefold() for relay in layout.relays}
        self._taken |= {timer.name.casefold() for timer in layout.timers}
        self._names: dict[tuple[object, ...], str] = {}
        self.line = 0
        self.policies = Policies(self)
        self.confirming = Confirming(self, times) if times is not None else None

    def derive(self) -> None:
        """Everything, in the order in which it is read best."""
        for point, legs in self._points().items():
            self.line = self.track.sections[legs[0].start].line
            self._act(point, legs)
        for group in self._all_groups():
            self._detected(group)
        for place in self.legs.places:
            self.line = self.track.sections[place].line
            self.policies.calls(place)
            for leg in self.legs.all:
                if leg.start == place:
                    self._send(leg)
        for place in self.legs.places:
            self.line = self.track.sections[place].line
            self._by_hand(place)
        self._starts()

    # -- names ----------------------------------------------------------------------------------------

    def relay(self, key: tuple[object, ...], name: str) -> str:
        """The relay for `key`; made the first time, with this name or one like it."""
        if key not in self._names:
            self._names[key] = self.unique(name)
            self.relays.append(Relay(self._names[key], self.line, safe_in=False))
        return self._names[key]

    def unique(self, name: str) -> str:
        """This name, or one like it that nothing has yet."""
        unique, n = name[:NAME_LETTERS_MAX].rstrip(), 1
        while unique.casefold() in self._taken:
            n += 1
            unique = f"{name[: NAME_LETTERS_MAX - 3].rstrip()} {n}"
        self._taken.add(unique.casefold())
        return unique

    def kept(self, group: Group) -> str:
        return self.relay(("kept", group), f"{group.name} kept")

    def left(self, group: Group) -> str:
        return self.relay(("left", group), f"{group.name} left")

    def ready(self, place: int) -> str:
        return self.relay(("ready", place), f"{self.track.name(place)} ready")

    def due(self, point: Point) -> str:
        others = {other for other in self._points() if other.sensor == point.sensor}
        places = [self.track.name(i) for i in point.frees if self.track.place(i) >= 0]
        tail = f" from {places[-1]}" if len(others) > 1 and places else ""
        return self.relay(("due", point), f"{point.sensor} due{tail}")

    def half(self, sensor: str) -> str:
        return self.relay(("half", sensor), f"{sensor} half")

    def rule(self, at: str, conditions: Iterable[str], acts: Iterable[str], why: str) -> None:
        """One rule; without `at` a standing one."""
        event = Text(at, self.line) if at else None
        wanted = [Text(text, self.line) for text in conditions]
        done = [Text(text, self.line) for text in acts]
        self.rules.append(Rule(self.line, event, wanted, done, why, derived=True))

    # -- what a sensor shows ----------------------------------------------------------------------------

    def _points(self) -> dict[Point, list[Leg]]:
        found: dict[Point, list[Leg]] = {}
        for leg in self.legs.all:
            for point in leg.points:
                found.setdefault(point, []).append(leg)
        return found

    def _act(self, point: Point, legs: list[Leg]) -> None:
        """A train that is due has come: free what it has left, make it ready at its place."""
        second = self.track.sensor_of[point.sensor]
        due = self.due(point)
        conditions, acts = [f"{due} in"], [f"drop out {due}"]
        if second.pair_with is not None:
            first = second.pair_with.text
            half = self.half(first)
            self.rule(
                f"{first} hit",
                [f"{due} in"],
                [f"pull in {half}"],
                f"a train is due here; it counts only when {point.sensor} is hit next",
            )
            conditions.append(f"{half} in")
            acts.append(f"drop out {half}")
        why = []
        if point.frees:
            for group in self._groups(point.frees):
                acts.append(self._free(group))
            acts += [f"{block} stops" for block in self._blocks(point.frees)]
            why.append(f"the whole train has left {self.track.names(point.frees)}")
        if point.arrives:
            place = legs[0].end
            acts.append(f"pull in {self.ready(place)}")
            why.append(f"it has come to {self.track.name(place)}")
        if self.confirms(point):
            assert self.confirming is not None
            self.confirming.rules(point, acts, " and ".join(why))
        else:
            self.rule(f"{point.sensor} hit", conditions, acts, " and ".join(why))

    def confirms(self, point: Point) -> bool:
        """Does a hit at this point count by running time? Pairs need no clock."""
        return self.confirming is not None and self.track.sensor_of[point.sensor].pair_with is None

    def _free(self, group: Group) -> str:
        return f"pull in {self.left(group)}" if self._detectors(group) else f"drop out {self.kept(group)}"

    def _detected(self, group: Group) -> None:
        """A section with a detector is free when a sensor has said so and nothing is left in it."""
        detectors = self._detectors(group)
        if detectors:
            left, kept = self.left(group), self.kept(group)
            self.rule(
                "",
                [f"{left} in", *(f"{name} free" for name in detectors)],
                [f"drop out {left}", f"drop out {kept}"],
                f"the train has left {self.track.names(group.sections)}, and no car stands there",
            )

    def _detectors(self, group: Group) -> list[str]:
        found = (self.track.sections[i].detector for i in group.sections)
        return [text.text for text in found if text is not None]

    def _groups(self, sections: Iterable[int]) -> list[Group]:
        return list(dict.fromkeys(self.groups[i] for i in sections))

    def _all_groups(self) -> list[Group]:
        return self._groups(range(len(self.track.sections)))

    def _blocks(self, sections: Iterable[int]) -> list[str]:
        return list(dict.fromkeys(block for i in sections if (block := self.track.block(i))))

    # -- who is sent where ------------------------------------------------------------------------------

    def _send(self, leg: Leg) -> None:
        """A train that is ready is sent when everything up to the end of the next place is free."""
        track = self.track
        groups = self._groups(leg.sections)
        conditions = [f"{self.ready(leg.start)} in"]
        conditions += [f"{self.kept(group)} out" for group in groups]
        conditions += [f"{name} free" for group in groups for name in self._detectors(group)]
        switch = track.sections[leg.end].used_while
        if switch is not None:
            conditions.append(switch.text)
        for passed in leg.passes:
            switch = track.sections[passed].used_while
            assert switch is not None
            conditions.append(out_of_service(self.layout, switch))
        acts = [f"drop out {self.ready(leg.start)}"]
        acts += [f"pull in {self.kept(group)}" for group in groups]
        acts += [f"pull in {self.due(point)}" for point in leg.points]
        if self.confirming is not None:
            acts += [f"start {self.confirming.timer(p)}" for p in leg.points if self.confirms(p)]
        for turnout, position in leg.throws:
            acts.append(f"throw {track.name(turnout)} to {track.positions(turnout)[position]}")
        acts += [f"{track.block(place)} goes" for place in (leg.start, *leg.passes)]
        if not any(point.arrives for point in leg.points):
            acts.append(f"pull in {self.ready(leg.end)}")
        free = track.names(leg.sections)
        are = "are" if len(leg.sections) > 1 else "is"
        for more, also, reason in self.policies.of(leg.start):
            why = f"{free} {are} free" + (f"; {reason}" if reason else "")
            self.rule("", conditions + more, acts + also, why)

    # -- by hand ----------------------------------------------------------------------------------------

    def _by_hand(self, place: int) -> None:
        """A train set on or lifted off a place."""
        name = self.track.name(place)
        ready = self.ready(place)
        groups = [self.kept(group) for group in self._groups((*self.legs.behind[place], place))]
        self.rule(
            f"train lifted off {name}",
            [f"{ready} in"],
            [f"drop out {ready}", *(f"drop out {kept}" for kept in groups), *self.policies.forgets(place)],
            f"no train stands in {name} any more",
        )
        self.rule(
            f"train set on {name}",
            [f"{kept} out" for kept in groups],
            [f"pull in {ready}", *(f"pull in {kept}" for kept in groups)],
            f"a train stands in {name}",
        )

    # -- starts -----------------------------------------------------------------------------------------

    def _starts(self) -> None:
        """Relays that begin in, for each start."""
        for start in self.layout.starts:
            names = []
            for text in start.trains_at:
                place = self.track.number[text.text]
                names.append(self.ready(place))
                names += [self.kept(group) for group in self._groups((*self.legs.behind[place], place))]
            names += self.policies.begin(len(start.trains_at))
            start.relays_in += [Text(name, start.line) for name in dict.fromkeys(names)]
