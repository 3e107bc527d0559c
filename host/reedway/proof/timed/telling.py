"""A counterexample with its times, in words; and what a verdict against the clock takes for granted."""

from __future__ import annotations

from reedway.proof.faults import Phantom
from reedway.proof.scene import Scene
from reedway.proof.story import effects, sentence
from reedway.proof.timed.judge import TimedStep, TimedVerdict
from reedway.proof.timed.rails import Rails
from reedway.proof.timed.reaction import followed_timers
from reedway.trains.makeup import Makeup

UNTOLD = ("time goes by", "coils and supply are ready again", "takes current beyond", "it is started")


def is_told(step: TimedStep) -> bool:
    return not step.told.text.startswith(UNTOLD)


def timed_story(scene: Scene, verdict: TimedVerdict) -> list[str]:
    """Lines for the terminal."""
    if not verdict.steps:
        return []
    layout = scene.spots.track.layout
    at = [
        f"the {train} in {layout.places[place].name}"
        for train, place in zip(verdict.trains, scene.places, strict=True)
    ]
    lines = [f"At the start ({scene.start}) there stand {', '.join(at)}."]
    for step in verdict.steps:
        if is_told(step):
            does = _effects(scene, step)
            lines.append(f"{seconds(verdict, step)}{sentence(step.told)}{does}")
    jammed = "move again" in verdict.why
    lines.append(f"            {'From here on' if jammed else 'Then'} {verdict.why}.")
    return lines


def _effects(scene: Scene, step: TimedStep) -> str:
    """What the controller does at this step, in brackets."""
    if step.told.event < 0:
        return ""
    machine = scene.machine
    machine.ask(step.logic, step.told.event)
    return effects(scene, machine.explored.records(), followed_timers(scene.machine))


def seconds(verdict: TimedVerdict, step: TimedStep) -> str:
    return f"at {step.ticks * verdict.tick_ms / 1000:6.2f} s: "


def timed_assumptions(scene: Scene, rails: Rails, made: list[Makeup], fault: str) -> list[str]:
    """Sentences, those about times first."""
    tick = rails.clock.tick_ms
    found = [
        f"Times are whole ticks of {tick} ms. Running times are rounded down to the earliest and up to the "
        "latest tick, and what falls into one tick comes in every order: that only adds to what can happen.",
        "The end of a timer may fall anywhere within its tick.",
    ]
    for one in made:
        low, high = one.train.speed
        span = f"{low:g} mm/s" if low == high else f"{low:g} mm/s to {high:g} mm/s"
        found.append(
            f"The {one.name} runs at {span}, is {one.length:g} mm long, and stops when its feed is cut as "
            f"written ({one.train.when_cut})."
        )
    found += [
        "A train that is not fed waits for as long as that lasts; it leaves at once when it is fed, with its "
        "acceleration. A train on live rail does not stop.",
        "Trains do not part. At the start each stands where plan would set it on, and that was confirmed; "
        "nobody lifts, pushes or adds a train, holds a place or throws a turnout by hand.",
        "Lengths and spots are those of the file; rails before the gap of a place stay live.",
        "Points move at some time in their pulse. Coils are never too hot for a throw.",
        "Sensors close for trains only; a sensor is rearmed before the next train comes.",
        "A train that can move does so in the end, and so does whatever else can happen again and again.",
    ]
    layout = scene.spots.track.layout
    bare = [t.name for t in layout.turnouts if t.contact_first is None and t.contact_second is None]
    if bare:
        found.append(f"The points move when they get their pulse: {', '.join(bare)} (no position contact).")
    if fault:
        found.append("Where a fault is tried: that one alone, once in a run, at any tick of it.")
    if fault == Phantom.name:
        found.append(
            "A phantom hit that changes nothing is not followed: if a train comes before the sensor is "
            "rearmed, that train's hit is lost (see the fault 'a hit lost')."
        )
    return found
