"""What to change: only what was tried, with what came of it; the rest is called untried."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.proof.blame import Blame
from reedway.proof.cure import Cure, Tried, try_changes
from reedway.proof.edits import SWAP
from reedway.proof.instead import Instead, derived_instead, smaller_starts, with_a_train_less
from reedway.proof.judge import Limits, Verdict, is_sound
from reedway.proof.rulenames import listed
from reedway.proof.scene import Scene, open_switches, scenes
from reedway.proof.tracing import Moment

CURES_SHOWN = 3
STATES_MAX = 100_000  # of one proof of something else that is tried
UNTRIED = "What to change (not tried here): "


@dataclass
class Advice:
    """Why it comes to what the story tells, and what to change."""

    why: list[str] = field(default_factory=list)
    change: list[str] = field(default_factory=list)
    rests_on_times: bool = False


def advise(
    scene: Scene, verdict: Verdict, moments: list[Moment], limits: Limits, earlier: list[Cure]
) -> Advice:
    """For a verdict that is bad. `earlier` are cures of the starts told before, and get more."""
    blame = Blame(scene, verdict, moments)
    advice = Advice(blame.told(""))
    if verdict.fault:
        advice.change = [_of_fault(scene, verdict)]
        return advice
    same = next((cure for cure in earlier if cure.every_start), None)
    if same is not None:  # each start was proved with it
        if blame.odd is not same.edit.old:
            blame = Blame(scene, verdict, moments, look_for_odd=False)
        advice.why = blame.told(same.edit.what)
        advice.change = [f"What to change: the same change as above sets this right too: {same.edit.what}."]
        return advice
    within = Limits(min(STATES_MAX, limits.states_max), limits.memory_mb_max)
    instead = _instead(scene, within) if scene.compiled.layout.rules_derived else None
    if instead and instead.is_proved:  # rules written beside the derived ones are too much
        advice.change = [_use_derived()]
        return advice
    tried = try_changes(scene, verdict, moments, blame, limits)
    if blame.odd is not None and not any(cure.edit.old is blame.odd for cure in tried.cures[:1]):
        blame = Blame(scene, verdict, moments, look_for_odd=False)  # it was no mistake
        advice.why = blame.told("")
    if tried.cures:
        earlier += [cure for cure in tried.cures if cure.every_start]
        advice.why = blame.told(tried.cures[0].edit.what)
        advice.change = _cures(tried.cures)
        return advice
    instead = instead or _instead(scene, within)
    advice.rests_on_times = verdict.rests_on_times and not (instead and instead.is_proved)
    advice.change = [*_close_switches(scene, within), *_no_cure(tried), *_other_ways(scene, instead, within)]
    if advice.rests_on_times:
        advice.change.insert(
            0,
            "This rests on running times: no single change of the rules and no derived rules keep these "
            "trains apart on this track in every order of events, and yet there are orders in which all goes "
            "well for ever. Lengths and speeds of the trains and the timers decide which comes: "
            "prove --timed reckons with those that the file gives under trains:, lengths: and timers:.",
        )
    return advice


def _cures(cures: list[Cure]) -> list[str]:
    lines: list[str] = []
    shown = 1 if cures[0].every_start else CURES_SHOWN
    for cure in cures[:shown]:
        then = (
            "every start of this file is proved"
            if cure.every_start
            else "this start is proved, but not every other"
        )
        words = "Or (tried): " if lines else "What to change (tried): "
        where = " Or they are exchanged under track:; look where they lie." if cure.edit.kind == SWAP else ""
        lines.append(f"{words}{cure.edit.what}; then this does not happen, and {then}.{where}")
    return lines


def _no_cure(tried: Tried) -> list[str]:
    if not tried.count:
        return []
    some = "" if tried.is_all else "; more were not tried, as there are too many"
    return [
        f"None of the {tried.count:,} single changes that were tried sets it right (a condition more, less "
        f"or other, another sensor, position, relay, act or start value{some})."
    ]


def _instead(scene: Scene, within: Limits) -> Instead | None:
    """Derived rules in place of the written ones; None where there are no written ones."""
    if not any(not rule.derived for rule in scene.compiled.layout.rules):
        return None
    return derived_instead(scene.compiled.layout, scene.start_number, within)


def _other_ways(scene: Scene, instead: Instead | None, within: Limits) -> list[str]:
    """What else was tried, and found to be proved; or why it is not possible."""
    layout = scene.compiled.layout
    number = scene.start_number
    lines = []
    if instead is not None and instead.is_proved:
        lines.append(_use_derived())
    elif instead is not None and instead.complaints:
        lines.append("Derived rules in place of yours are not possible on the track as it stands:")
        lines += [f"- {complaint}" for complaint in instead.complaints]
    elif instead is not None:
        lines.append("Derived rules in place of yours (tried) do not prove it either.")
    smaller = smaller_starts(scene.compiled, number, within)
    if smaller:
        are = f"the start {smaller[0]} is" if len(smaller) == 1 else f"the starts {listed(smaller)} are"
        lines.append(f"With fewer trains (tried): {are} proved.")
    elif instead is None or instead.is_proved or not instead.complaints:
        place = with_a_train_less(layout, number, within) if len(layout.starts[number].trains_at) > 1 else ""
        if place and not (instead and instead.is_proved):
            own = "" if instead is None else " and derived rules in place of yours"
            lines.append(
                f"What to change (tried): begin with no train in {place}{own}; then this start is proved. "
                "Or add a place where a train can wait (not tried)."
            )
    return lines


def _close_switches(scene: Scene, within: Limits) -> list[str]:
    """Where a start leaves switches open and is proved with them one way: how to ask for that."""
    number = scene.start_number
    start = scene.compiled.layout.starts[number]
    switches = open_switches(scene.compiled, number)
    for other in scenes(scene.compiled, number):
        if other.turned_on == scene.turned_on:
            continue
        if all(is_sound(other, lagging, within)[0] for lagging in (False, True)):
            ways = [f"`{s.name} {s.words[s.index not in other.turned_on]}`" for s in switches]
            return [
                f"What to change (tried): add {listed(ways)} to switches: of the start {start.name} at line "
                f"{start.line}; then the board does not start as told below, and this start is proved."
            ]
    return []


def _use_derived() -> str:
    what = "the rules under rules:, the relays: they use, and relays_in: and go: of the starts"
    return (
        f"What to change (tried): let Reedway make the rules. Delete {what}, and write safe_rules: derived; "
        "with the derived rules alone this start is proved. Rules of yours that stay beside them act too."
    )


def _of_fault(scene: Scene, verdict: Verdict) -> str:
    layout = scene.compiled.layout
    if verdict.fault in ("a phantom hit", "a sensor stuck closed"):
        return (
            f"{UNTRIED}put a second sensor just behind each one that says what a train has left, join the "
            "two with pair_with, and use derived rules only: a hit counts only after that of its partner."
        )
    if verdict.fault == "a turnout that does not move":
        bare = [t.name for t in layout.turnouts if t.contact_first is None and t.contact_second is None]
        return (
            f"{UNTRIED}give {' and '.join(bare) or 'the turnouts'} a position contact (contacts: of the "
            "turnout); then a block goes only when the points really lie right."
        )
    if verdict.fault == "the board reset" and layout.track_feed is None:
        return (
            f"{UNTRIED}give the track a feed that falls open (track_feed:); without it trains on rails that "
            "no block controls run on after a reset, and stop is not stop."
        )
    return f"{UNTRIED}nothing that Reedway knows of; this fault has to be kept out by care."
