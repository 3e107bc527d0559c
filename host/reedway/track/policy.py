"""When a train leaves its place: what each policy adds to the conditions of being sent."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedway.track.model import GO_SENSOR, PARTNER, WHEN_FREE

if TYPE_CHECKING:
    from reedway.track.derive import Deriver

Case = tuple[list[str], list[str], str]  # further conditions, further acts, reason
ALONE = "alone"


class Policies:
    """Policies of the places of one layout, by their relays."""

    def __init__(self, deriver: Deriver) -> None:
        self.deriver = deriver
        self.legs = deriver.legs
        self.track = deriver.track

    def of(self, place: int) -> list[Case]:
        """Cases in any of which a train that is ready in `place` may go."""
        policy = self.track.sections[place].leaves
        mates = self.legs.siblings(place)
        if policy == GO_SENSOR:
            called = self._called(place)
            sensor = self.track.sections[place].go_sensor
            return [
                ([f"{called} in"], [f"drop out {called}"], f"a train has come to {sensor} meanwhile"),
                ([f"{self._alone()} in"], [], "it is the only train"),
            ]
        if policy == WHEN_FREE or len(mates) < 2:
            return [([], self._turn(place), "")]
        cases: list[Case] = []
        for last in mates:
            cases += self._after(place, last, mates, needs_partner=policy == PARTNER)
        if policy == PARTNER:
            cases.append(([f"{self._alone()} in"], self._turn(place), "it is the only train"))
        return cases

    def _after(self, place: int, last: int, mates: list[int], needs_partner: bool) -> list[Case]:
        """Cases when `last` was the last to go: nobody who comes before this one in turn is ready."""
        at = mates.index(last)
        order = mates[at + 1 :] + mates[: at + 1]
        before = order[: order.index(place)]
        conditions = [f"{self._last(last)} in"]
        conditions += [f"{self.deriver.ready(mate)} out" for mate in before]
        reason = f"the last to go was from {self.track.name(last)}"
        acts = self._turn(place)
        if not needs_partner:
            return [(conditions, acts, reason)]
        return [
            (
                [*conditions, f"{self.deriver.ready(mate)} in"],
                acts,
                f"{reason}, and a train waits in {self.track.name(mate)}",
            )
            for mate in mates
            if mate != place and mate not in before
        ]

    def _turn(self, place: int) -> list[str]:
        """Acts that remember who went last, where anybody asks."""
        mates = self.legs.siblings(place)
        if not self._have_turns(mates):
            return []
        others = [f"drop out {self._last(mate)}" for mate in mates if mate != place]
        return [f"pull in {self._last(place)}", *others]

    def _have_turns(self, mates: list[int]) -> bool:
        return len(mates) > 1 and any(
            self.track.sections[mate].leaves not in (WHEN_FREE, GO_SENSOR) for mate in mates
        )

    def _last(self, place: int) -> str:
        return self.deriver.relay(("last", place), f"{self.track.name(place)} last")

    def _called(self, place: int) -> str:
        return self.deriver.relay(("called", place), f"{self.track.name(place)} called")

    def _alone(self) -> str:
        return self.deriver.relay((ALONE,), ALONE)

    def calls(self, place: int) -> None:
        """The rule of the go sensor."""
        section = self.track.sections[place]
        if section.leaves == GO_SENSOR:
            self.deriver.rule(
                f"{section.go_sensor} hit",
                [f"{self.deriver.ready(place)} in"],
                [f"pull in {self._called(place)}"],
                f"the train that waits in {section.name} may leave when the way is free",
            )

    def forgets(self, place: int) -> list[str]:
        """Acts when the train of a place is lifted off."""
        if self.track.sections[place].leaves == GO_SENSOR:
            return [f"drop out {self._called(place)}"]
        return []

    def begin(self, trains: int) -> list[str]:
        """Relays that are in at a start with so many trains."""
        names = []
        done: set[int] = set()
        for place in self.legs.places:
            mates = self.legs.siblings(place)
            if place not in done and self._have_turns(mates):
                names.append(self._last(mates[-1]))
            done.update(mates)
        policies = {self.track.sections[place].leaves for place in self.legs.places}
        if trains == 1 and policies & {PARTNER, GO_SENSOR}:
            names.append(self._alone())
        return names
