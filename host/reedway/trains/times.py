"""What happens at a sensor in time: closing until the hit counts, the throw or stop its rules make."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.boardfile.compile import Compiled
from reedway.boardfile.throwtimes import throw_time
from reedway.electrics.parts import RELAY_RELEASE_MS
from reedway.electrics.passing import OPERATE_MS
from reedway.layout.model import Layout, Sensor
from reedway.trains.model import Span

SCAN_MS = 1.0


@dataclass(frozen=True)
class Times:
    """Seconds. What is thrown is thrown with nothing else asked for; `worst`: a pulse had just begun."""

    hit_s: float  # closed so long, it is surely a hit
    confirm_s: float
    throw_s: float  # all turnouts that its hit throws are there; 0: it throws none
    throw_worst_s: float
    cut_s: float  # longest from the hit until what it cuts is dead
    cut_worst_s: float
    again_s: float  # open so long, a sensor can make another hit
    warns: bool  # a magnet at rest is told

    @property
    def delay_s(self) -> Span:
        """From the closing to the end being dead."""
        return self.confirm_s, self.hit_s + self.cut_s

    @property
    def delay_worst_s(self) -> float:
        return self.hit_s + self.cut_worst_s


def times_of(layout: Layout, compiled: Compiled, sensor: Sensor) -> Times:
    """The times of one sensor."""
    plan = compiled.plan
    thrown = thrown_by(layout, sensor.name)
    cutting = [i for i in thrown if layout.turnouts[i].power_routing][:1]
    relay_ms = RELAY_RELEASE_MS if not cutting else 0.0

    def total_s(turnouts: list[int], worst: bool) -> float:
        return throw_time(plan, turnouts, worst).total_ms / 1000 if turnouts else 0.0

    return Times(
        hit_s=(sensor.confirm_ms + OPERATE_MS + SCAN_MS) / 1000,
        confirm_s=sensor.confirm_ms / 1000,
        throw_s=total_s(thrown, False),
        throw_worst_s=total_s(thrown, True),
        cut_s=total_s(cutting, False) + relay_ms / 1000,
        cut_worst_s=total_s(cutting, True) + relay_ms / 1000,
        again_s=(sensor.opening_ms + sensor.rearm_ms) / 1000,
        warns=sensor.at_rest_ms > 0,
    )


def thrown_by(layout: Layout, sensor: str) -> list[int]:
    """Numbers of the turnouts that some rule at the sensor's hit throws, in the order of their gang."""
    numbers = {turnout.name.casefold(): i for i, turnout in enumerate(layout.turnouts)}
    gangs = {gang.name.casefold(): [str(t).casefold() for t in gang.turnouts] for gang in layout.gangs}
    found: list[int] = []
    for rule in layout.rules:
        if rule.at is None or " ".join(rule.at.text.casefold().split()) != f"{sensor.casefold()} hit":
            continue
        for act in rule.acts:
            words = " ".join(act.text.casefold().split())
            if words.startswith("throw "):
                name = words[6:].rpartition(" to ")[0]
                found += [numbers[turnout] for turnout in gangs.get(name, [name]) if turnout in numbers]
    return list(dict.fromkeys(found))
