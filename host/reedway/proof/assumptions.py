"""What a verdict takes for granted: printed with every one."""

from __future__ import annotations

from reedlogic import words as w
from reedway.proof.faults import LiftedOff, Reset
from reedway.proof.scene import Scene
from reedway.proof.story import timers_that_matter
from reedway.proof.world import QUEUE_MAX


def assumptions(scene: Scene, lagging: bool, fault: str = "", queue_was_full: bool = True) -> list[str]:
    """Sentences, the general ones first."""
    layout = scene.spots.track.layout
    found = [
        "Trains do not part, and the engine and the magnet are at the head of the train.",
        "At the start each train stands wholly inside the place where its lamp shows it, and that was "
        "confirmed; nobody lifts, pushes or adds a train, holds a place or throws a turnout by hand.",
        "A place holds the longest train: one that has come to its end is inside with its last car; it stops "
        "there when its block stops, as the dead end is longer than the run-on.",
        "Sensors close for trains only, and a magnet has left its sensor before the next thing happens.",
        "A train that can move does so in the end, and so does whatever else can happen again and again.",
    ]
    for sensor in layout.sensors:
        if sensor.tail_clear_of:
            left = " and ".join(text.text for text in sensor.tail_clear_of)
            found.append(f"When {sensor.name} is hit, the whole train has left {left} and all behind it.")
    bare = [t.name for t in layout.turnouts if t.contact_first is None and t.contact_second is None]
    if bare:
        found.append(f"The points move when they get their pulse: {', '.join(bare)} (no position contact).")
    routing = [t.name for t in layout.turnouts if t.power_routing]
    if routing:
        found.append(f"Power-routing points feed only the track they are set for: {', '.join(routing)}.")
    in_time = [section.name for section in layout.track if section.in_time]
    if in_time:
        found.append(
            f"What is asked of {', '.join(in_time)} is thrown before any train comes there: "
            "this rests on set back and run-on."
        )
    timers = timers_that_matter(scene)
    if timers:
        found.append(
            "No times are reckoned with: trains are as fast or slow as they like, and a timer runs out "
            f"before or after anything else that can happen while it runs: {', '.join(timers)}."
        )
    if lagging and queue_was_full:
        found.append(f"At most {QUEUE_MAX} hits wait for the board at a time.")
    if any(section.detector is not None for section in layout.track):
        found.append(
            "A detector is held as long as anything stands in its section, without a gap between cars or "
            "over dirty rails, and is free when nothing does."
        )
    if fault == Reset.name:
        if layout.track_feed is not None:
            found.append("When the track feed opens, a train runs on into one more section at most.")
        found.append("After a reset it is started again with every train where its lamp shows it.")
    if fault == LiftedOff.name:
        found.append("A train is set on only where Reedway takes it: where nothing is kept for another.")
        if lagging:
            found.append("No hit waits any more when a train is lifted off or set on.")
    if fault:
        found.append("Where a fault is tried: that one alone, once in a run, at any moment of it.")
    if _looks_at_sensors(scene):
        found.append("Rules that look whether a sensor is closed, at rest or rearmed see it open.")
    return found


def _looks_at_sensors(scene: Scene) -> bool:
    """Do rules look at what is not explored: sensors closed, at rest, rearmed?"""
    plan = scene.machine.plan
    sensors = sum(1 << i for i, item in enumerate(plan[w.PLAN_GPIO]) if item[0] == w.IN_SENSOR)
    rules = [rule for event in plan[w.PLAN_AT] for rule in event[1:]] + list(plan[w.PLAN_STANDING])
    for conditions, _acts in rules:
        for j in range(0, len(conditions), 3):
            if conditions[j] == w.W_RESTING or (conditions[j] == w.W_LEVEL and conditions[j + 1] & sensors):
                return True
    return any(event[0] >> w.EVENT_SHIFT in (w.E_REARM, w.E_REST) for event in plan[w.PLAN_AT])
