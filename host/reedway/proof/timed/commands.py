"""`prove --timed`: the proof against the clock."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load
from reedway.numbers import whole
from reedway.problems import ReedwayError
from reedway.proof.fault import NoFault
from reedway.proof.judge import FAILS, PROVED, REFUTED, UNDECIDED, Limits, judge
from reedway.proof.scene import Scene, scenes
from reedway.proof.search import MEMORY_MB_MAX
from reedway.proof.story import sentence
from reedway.proof.telling import all_starts
from reedway.proof.timed.windowcommand import run_window
from reedway.typed import typed

if TYPE_CHECKING:  # numpy comes with these: loaded when asked for
    from reedway.proof.timed.judge import TimedVerdict
    from reedway.proof.timed.rails import Rails
    from reedway.proof.timed.walk import TimedFound
    from reedway.proof.timed.why import Trial
    from reedway.trains.makeup import Makeup

TICK_MS = 50
TICK_MS_MAX = 1000
COLUMNS = 96
UNTIMED_STATES_MAX = 20_000
FOR_THESE = " for these speeds, lengths and timers only"
EXIT_REFUTED, EXIT_UNDECIDED = 1, 3


def add_options(parser: argparse.ArgumentParser) -> None:
    """What `prove` takes for a proof against the clock."""
    group = parser.add_argument_group("against the clock")
    group.add_argument(
        "--timed", action="store_true", help="with the speeds of trains: and lengths: and the timers"
    )
    group.add_argument(
        "--window", metavar="SENSOR", help="from where to where this sensor may be, by moving it and proving"
    )
    group.add_argument(
        "--tick",
        type=whole(1, TICK_MS_MAX),
        default=TICK_MS,
        metavar="MS",
        help=f"length of a tick, default {TICK_MS} ms",
    )


def run_timed(args: argparse.Namespace) -> int:
    """Judge every start with every order of the trains, and say by the exit code what came of it."""
    from reedway.proof.timed.clock import Clock
    from reedway.proof.timed.judge import TimedLimits
    from reedway.proof.timed.rails import Rails, trains_of
    from reedway.proof.timed.timedlog import write_timed_log
    from reedway.proof.timed.why import Trial

    compiled = compile_layout(load(args.file))
    if args.window is not None:
        return run_window(args, compiled)
    rails = Rails(compiled, Clock(args.tick))
    made = trains_of(compiled.layout)
    found: list[tuple[Scene, list[TimedVerdict]]] = []
    trial = Trial(rails, made, TimedLimits(args.states_max, args.memory_max), args.start is not None)
    logged = False
    for scene, kind in _to_try(args, compiled):
        verdicts = _judge(args, scene, kind, rails, made)
        found.append((scene, verdicts))
        if worst(verdicts).is_bad:
            trial.advise(scene, worst(verdicts))
        if not args.json:
            _print(scene, verdicts, trial)
        bad = [verdict for verdict in verdicts if verdict.is_bad]
        if args.log and bad and not logged:
            write_timed_log(args.log, compiled, scene, bad[0], made)
            logged = True
            if not args.json:
                print(f"    written to {args.log}; look at it with: reedway report {typed(args.log)}")
    return _end(args, found, rails, made, trial)


def _to_try(args: argparse.Namespace, compiled: Compiled) -> Iterator[tuple[Scene, type[NoFault] | None]]:
    names = [start.name for start in compiled.layout.starts]
    if args.start is not None and args.start not in names:
        raise ReedwayError(f"{args.file}: there is no start '{args.start}'; there are {', '.join(names)}")
    if not names:
        raise ReedwayError(f"{args.file}: nothing to prove without a start; add one under starts:")
    kinds = timed_kinds(args.faults, args.fault)
    for index, name in enumerate(names):
        if args.start is None or args.start == name:
            for scene in scenes(compiled, index):
                for kind in kinds:
                    yield scene, kind


def timed_kinds(every: bool, names: list[str] | None) -> list[type[NoFault] | None]:
    """No fault, and the kinds that are asked for."""
    from reedway.proof.timed.timedfaults import TIMED_FAULTS

    known = {kind.name: kind for kind in TIMED_FAULTS}
    for name in names or ():
        if name not in known:
            raise ReedwayError(
                f"against the clock there is no fault '{name}'; there are: {', '.join(known)}; "
                "without --timed there are more"
            )
    asked = names or (list(known) if every else [])
    return [None, *(known[name] for name in asked)]


def _judge(
    args: argparse.Namespace, scene: Scene, kind: type[NoFault] | None, rails: Rails, made: list[Makeup]
) -> list[TimedVerdict]:
    """Every order of the trains, up to the first that is bad."""
    from reedway.proof.timed.judge import TimedLimits, judge_timed, orders

    if len(scene.places) > len(made):
        raise ReedwayError(
            f"{args.file}: start {scene.start} has {len(scene.places)} trains, trains: declares {len(made)}; "
            "declare as many"
        )
    limits = TimedLimits(args.states_max, args.memory_max, None if args.json else _progress)
    verdicts = []
    for trains in orders(scene, made):
        verdicts.append(judge_timed(scene, rails, trains, limits, kind))
        if verdicts[-1].is_bad:
            break
    return verdicts


def _progress(found: TimedFound) -> None:
    if sys.stderr.isatty():
        print(
            f"\r{found.states:,} states, {found.states_per_s:,.0f} a second, {found.peak_mb:.0f} MB",
            end="",
            file=sys.stderr,
        )


def worst(verdicts: list[TimedVerdict]) -> TimedVerdict:
    """The one that decides: a bad one, else one that is not decided, else one that stops."""
    return max(verdicts, key=lambda v: (v.is_bad, v.result == UNDECIDED, bool(v.why)))


def _print(scene: Scene, verdicts: list[TimedVerdict], trial: Trial) -> None:

    if sys.stderr.isatty():
        print("\r" + " " * COLUMNS + "\r", end="", file=sys.stderr)  # over the progress
    said = worst(verdicts)
    states, steps = sum(v.states for v in verdicts), sum(v.transitions for v in verdicts)
    seconds = sum(v.seconds for v in verdicts)
    fails = f"the fault '{said.fault}'" if said.fault else "nothing fails"
    only = FOR_THESE if said.result == PROVED else ""
    print(wrapped(f"Start '{scene.start}', {fails}, by the clock: {said.result.upper()}{only}", ""))
    told = []
    if said.result == UNDECIDED:
        told = [f"{said.why}; up to there nothing bad was found"]
    elif said.is_bad:
        told = _told(scene, said, trial)
    elif said.why:
        told = [f"it may come to this: {said.why}"]
    elif said.result == PROVED:
        told = [untimed(scene)]
    figures = (
        f"(searched: {_orders(verdicts, said)}; {states:,} states and {steps:,} steps between them in ticks "
        f"of {said.tick_ms} ms, {seconds:.2f} s, {said.peak_mb:.0f} MB)"
    )
    for line in [*told, figures]:
        print(wrapped(line, "    "))


def _told(scene: Scene, said: TimedVerdict, trial: Trial) -> list[str]:
    """What comes of it and what to change first, then the story and why."""
    from reedway.proof.timed.telling import timed_story

    after_s = said.steps[-1].ticks * said.tick_ms / 1000
    change, why = trial.advise(scene, said)
    lines = [
        f"In short: {said.why}, {after_s:.2f} s after the start.",
        *change,
        "What happens, step by step:",
        *timed_story(scene, said),
    ]
    return [*lines, "Why:", *(f"  {line}" for line in why)] if why else lines


def _orders(verdicts: list[TimedVerdict], said: TimedVerdict) -> str:
    """Which trains stood where in what was searched."""
    if len(said.trains) == 1 and len(verdicts) == 1:
        return f"the {said.trains[0]}"
    if said.is_bad:
        return f"the trains stand in each order, up to the first that is refuted, {len(verdicts)} in all"
    return f"each of the {len(verdicts)} ways in which the trains can stand at the places of this start"


def untimed(scene: Scene) -> str:
    """What holds of a start that is proved against the clock if trains may take any time."""
    limits = Limits(UNTIMED_STATES_MAX, MEMORY_MB_MAX)
    reactions = [judge(scene, lagging, limits) for lagging in (False, True)]
    if any(verdict.result == REFUTED for verdict in reactions):
        return (
            "If trains may take any time this start is refuted (reedway prove tells how): it rests on these "
            "speeds, lengths and timers. When you change one of them, prove it again."
        )
    if any(verdict.result == UNDECIDED for verdict in reactions):
        return "Whether it holds if trains may take any time too was not asked: reedway prove asks it."
    return "It holds if trains may take any time too (reedway prove)."


def wrapped(line: str, indent: str) -> str:
    """A line of text cut to the terminal; what goes on stands below its words."""
    hang = len("at   0.00 s: ") if line.startswith("at ") else 2
    return textwrap.fill(
        line, COLUMNS, initial_indent=indent, subsequent_indent=indent + " " * hang, drop_whitespace=True
    )


def _end(
    args: argparse.Namespace,
    found: list[tuple[Scene, list[TimedVerdict]]],
    rails: Rails,
    made: list[Makeup],
    trial: Trial,
) -> int:
    from reedway.proof.timed.telling import timed_assumptions

    results = {verdict.result for _, verdicts in found for verdict in verdicts}
    overall = REFUTED if results & {REFUTED, FAILS} else UNDECIDED if UNDECIDED in results else PROVED
    said: dict[str, None] = {}
    for scene, verdicts in found:
        said.update(dict.fromkeys(timed_assumptions(scene, rails, made, verdicts[0].fault)))
    if args.json:
        rows = [_row(verdict, trial) for _, verdicts in found for verdict in verdicts]
        out = {"file": args.file, "result": overall, "tick_ms": args.tick, "verdicts": rows}
        print(json.dumps({**out, "assumptions": list(said)}, indent=2))
    else:
        print("Taken for granted:")
        for line in said:
            print(wrapped(f"- {line}", "  "))
        print(all_starts([(verdict.start, verdict.result) for _, verdicts in found for verdict in verdicts]))
    return {REFUTED: EXIT_REFUTED, UNDECIDED: EXIT_UNDECIDED}.get(overall, 0)


def _row(verdict: TimedVerdict, trial: Trial) -> dict[str, Any]:
    from reedway.proof.timed.telling import is_told

    change, why_so = trial.advice.get(id(verdict), ([], []))
    return {
        "start": verdict.start,
        "trains": list(verdict.trains),
        "fault": verdict.fault,
        "result": verdict.result,
        "why": verdict.why,
        "states": verdict.states,
        "transitions": verdict.transitions,
        "seconds": round(verdict.seconds, 3),
        "states_per_s": round(verdict.states / verdict.seconds) if verdict.seconds else 0,
        "peak_mb": round(verdict.peak_mb, 1),
        "story": [
            {"s": step.ticks * verdict.tick_ms / 1000, "text": sentence(step.told)}
            for step in verdict.steps
            if is_told(step)
        ],
        "why_so": why_so,
        "advice": change,
    }
