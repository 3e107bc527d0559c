"""A counterexample told as a story: what will happen on the layout, step by step, and what to change."""

from __future__ import annotations

from reedlogic import words as w
from reedway.proof.judge import Verdict
from reedway.proof.scene import Scene
from reedway.proof.told import Told

EFFECTS_MAX = 6


def story(scene: Scene, verdict: Verdict) -> list[str]:
    """Lines for the terminal."""
    if not verdict.steps and not verdict.why:
        return []
    lines = [_beginning(scene)]
    for number, (told, state) in enumerate(zip(verdict.steps, verdict.way, strict=False), 1):
        lines.append(f"{number:3}. {sentence(told)}{_effects(scene, told, state)}")
    lines.append(_end(verdict))
    return lines


def sentence(told: Told) -> str:
    """`The railcar leaves track A and comes into exit.`"""
    text = " ".join([told.who, told.text] if told.who else [told.text])
    if told.notes:
        text += ", " + ", ".join(told.notes)
    return text[0].upper() + text[1:] + "."


def _beginning(scene: Scene) -> str:
    layout = scene.spots.track.layout
    at = [
        f"{train} in {layout.places[place].name}"
        for train, place in zip(scene.trains, scene.places, strict=True)
    ]
    text = ", ".join(at)
    return f"At the start ({scene.start}) there stand {text}."


def _end(verdict: Verdict) -> str:
    if verdict.is_bad and "move again" not in verdict.why:
        return f"     Then {verdict.why}."
    return f"     From here on {verdict.why}."


def _effects(scene: Scene, told: Told, state: int) -> str:
    """What the controller does at this step, in brackets."""
    if told.event < 0:
        return ""
    machine = scene.machine
    machine.ask(state & machine.all, told.event)
    said = [text for record in machine.explored.records() if (text := _effect(scene, *record))]
    if len(said) > EFFECTS_MAX:
        said = [*said[:EFFECTS_MAX], "..."]
    return f" ({'; '.join(said)})" if said else ""


def _effect(scene: Scene, kind: int, which: int, value: int) -> str:
    layout = scene.spots.track.layout
    if kind == w.R_FEED:
        name = layout.blocks[which].name if which < len(layout.blocks) else "the track feed"
        return f"{name} {'goes' if value else 'stops'}"
    if kind == w.R_THROW:
        turnout = layout.turnouts[which]
        return f"{turnout.name} is to be thrown to {turnout.second if value else turnout.first}"
    if kind == w.R_TIMER and value == 1:
        return f"the timer {layout.timers[which].name} starts"
    if kind == w.R_CAUTION:
        return "a caution"
    if kind == w.R_FAULT:
        return "a fault: everything stops"
    return ""


def advice(scene: Scene, verdict: Verdict) -> list[str]:
    """What to change."""
    layout = scene.spots.track.layout
    if verdict.fault in ("a phantom hit", "a sensor stuck closed") and verdict.is_bad:
        return [
            "What to change: put a second sensor just behind each one that says what a train has left, and "
            "join the two with pair_with; then no single phantom hit does harm (safe_rules: derived)."
        ]
    if verdict.fault == "a turnout that does not move" and verdict.is_bad:
        bare = [t.name for t in layout.turnouts if t.contact_first is None and t.contact_second is None]
        return [
            f"What to change: give {' and '.join(bare) or 'the turnouts'} a position contact (contacts: of "
            "the turnout); then a block goes only when the points really lie right."
        ]
    if verdict.fault == "the board reset" and verdict.is_bad and layout.track_feed is None:
        return [
            "What to change: give the track a feed that falls open (track_feed:); without it trains on rails "
            "that no block controls run on after a reset, and stop is not stop."
        ]
    if verdict.fault and verdict.is_bad:
        return ["What to change: this fault has to be kept out by care; the layout does not notice it."]
    if not verdict.is_bad:
        return []
    lines = []
    if verdict.rests_on_times:
        lines.append(
            "This rests on running times: there are orders of events in which all goes well for ever, and "
            "others in which it does not. Only the speed of your trains decides which it is."
        )
    if "both in" in verdict.why:
        section = verdict.why.rsplit(" in ", 1)[1]
        lines.append(
            f"What to change: send a train towards {section} only when the one before has left it with its "
            "last car, as a sensor farther on shows; leave it to safe_rules: derived, or take one train off, "
            "or add a place where a train can wait before it."
        )
    elif "thrown under" in verdict.why or "not known to lie right" in verdict.why:
        turnout = next((t.name for t in layout.turnouts if f" {t.name} " in f" {verdict.why} "), "it")
        lines.append(
            f"What to change: throw {turnout} only while it is empty, and let a train go towards it only by "
            "a block that goes: no block newly goes while a throw is outstanding."
        )
    elif "move again" in verdict.why:
        lines.append(
            "What to change: look at the last step. Either a rule that lets a train go is missing there, or "
            "there are as many trains as places, so that nobody can move: take one off or add a place."
        )
    return lines
