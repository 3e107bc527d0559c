"""A counterexample told as a story: what will happen on the layout, step by step, and which rules do it."""

from __future__ import annotations

from collections.abc import Container, Iterable

from reedlogic import words as w
from reedway.proof.judge import Verdict
from reedway.proof.rulenames import did, timer
from reedway.proof.scene import Scene
from reedway.proof.spots import AGAINST
from reedway.proof.told import Told
from reedway.proof.tracing import Moment, Tracer, bits

EFFECTS_MAX = 6
RULES_INDENT = " " * 7
MAY_GO = "(may go: the rules let a train out; the block itself goes when all points lie right)"
UNANSWERED = "(no rule does anything at this hit)"
MESSAGES = (w.W_NOTE, w.W_CAUTION, w.W_LAMP)


def story(scene: Scene, verdict: Verdict, moments: list[Moment] | None = None) -> list[str]:
    """Lines for the terminal."""
    if not verdict.steps and not verdict.why:
        return []
    if moments is None:
        moments = Tracer(scene).moments(verdict)
    late = still_running(scene, verdict)
    lines = [_beginning(scene), *_rules(scene, moments[0])]
    for number, (told, moment) in enumerate(zip(verdict.steps, moments[1:], strict=False), 1):
        said = sentence(told)
        if number == len(verdict.steps) and late and told.who:
            said = f"{said.removesuffix('.')}, before {late} has run out."
        lines.append(f"{number:3}. {said}{effects(scene, moment.records)}")
        lines += _rules(scene, moment)
        if told.kind == "hit" and told.event >= 0 and not moment.acted:
            lines.append(f"{RULES_INDENT}{UNANSWERED}")
    lines += _end(verdict, scene)
    first = next((n for n, line in enumerate(lines) if " may go" in line), -1)
    if first >= 0:
        lines.insert(first + 1, f"{RULES_INDENT}{MAY_GO}")
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


def _end(verdict: Verdict, scene: Scene) -> list[str]:
    """What must not be; where a train comes into points that are not known to lie right, this step too."""
    if not verdict.is_bad or "move again" in verdict.why:
        return [f"     From here on {verdict.why}."]
    for train in scene.trains:
        for section in scene.spots.track.sections:
            if verdict.why == f"{train} goes {AGAINST.format(section.name)}":
                step = f"{len(verdict.steps) + 1:3}. {train[0].upper()}{train[1:]} comes into {section.name}."
                return [step, f"     So {verdict.why}."]
    return [f"     Then {verdict.why}."]


def _rules(scene: Scene, moment: Moment) -> list[str]:
    """What each rule does at this step."""
    layout = scene.spots.track.layout
    idle = idle_timers(scene)
    lines = []
    for acted in moment.acted:
        text = did(layout, acted, idle)
        if text:
            kind = "derived, of track line" if acted.rule.derived else "line"
            lines.append(f"{RULES_INDENT}{kind} {acted.rule.line}: {text}")
    return lines


def effects(scene: Scene, records: Iterable[tuple[int, int, int]], followed: Container[int] = ()) -> str:
    """What the controller does at this step, in brackets; of the timers those that are followed."""
    said = [text for record in records if (text := _effect(scene, followed, *record))]
    if len(said) > EFFECTS_MAX:
        said = [*said[:EFFECTS_MAX], "..."]
    return f" ({'; '.join(said)})" if said else ""


def _effect(scene: Scene, followed: Container[int], kind: int, which: int, value: int) -> str:
    layout = scene.spots.track.layout
    if kind == w.R_FEED:
        name = layout.blocks[which].name if which < len(layout.blocks) else "the track feed"
        return f"{name} {'goes' if value else 'stops'}"
    if kind == w.R_TIMER and value == 1 and which in followed:
        return f"the timer {layout.timers[which].name} starts"
    return {w.R_CAUTION: "a caution", w.R_FAULT: "a fault: everything stops"}.get(kind, "")


# -- timers ---------------------------------------------------------------------------------------------


def idle_timers(scene: Scene) -> set[str]:
    """Timers whose end only notes, cautions or lights a lamp, and that no rule asks for."""
    compiled = scene.compiled
    rules = [*compiled.at_rules, *compiled.standing]
    found = set()
    for k, item in enumerate(compiled.layout.timers):
        at_end = [
            rule for rule in rules if rule.event and rule.event.number == w.E_TIMER << w.EVENT_SHIFT | k
        ]
        asked = any(
            word == w.W_TIMER and mask >> k & 1
            for rule in rules
            for condition in rule.conditions
            for word, mask, _ in condition.bits
        )
        if not asked and all(act.word in MESSAGES for rule in at_end for act in rule.acts):
            found.add(item.name)
    return found


def timers_that_matter(scene: Scene) -> list[str]:
    """`let out (4 s)`, for each timer whose end changes what trains or relays do."""
    layout = scene.compiled.layout
    idle = idle_timers(scene)
    return [timer(layout, item.name) for item in layout.timers if item.name not in idle]


def still_running(scene: Scene, verdict: Verdict) -> str:
    """Timers that run at the end of a story, and whose end would change what goes or how points lie."""
    if not verdict.way:
        return ""
    machine = scene.machine
    layout = scene.compiled.layout
    idle = idle_timers(scene)
    state = verdict.way[-1] & machine.all
    feeds = (1 << machine.packing.first_at) - 1
    looks = feeds | machine.packing.mask(w.W_WANTED) | machine.packing.mask(w.W_GO)
    found = []
    for k in bits(machine.packing.unpack(state)[w.W_TIMER]):
        after = machine.ask(state, machine.event(("timer_end", k)))
        if layout.timers[k].name not in idle and (state ^ after) & looks:
            found.append(f"the timer {timer(layout, layout.timers[k].name)}")
    return " and ".join(found)
