"""`prove`: can it ever go wrong?"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from reedway.boardfile.compile import compile_layout
from reedway.layout.load import load
from reedway.numbers import whole
from reedway.problems import ReedwayError
from reedway.proof.assumptions import assumptions
from reedway.proof.faults import FAULTS
from reedway.proof.judge import (
    FAILS,
    PROVED,
    REFUTED,
    UNDECIDED,
    Limits,
    Verdict,
    judge,
    judge_fault,
    possible_faults,
)
from reedway.proof.prooflog import write_log
from reedway.proof.scene import Scene, scenes
from reedway.proof.search import MEMORY_MB_MAX, STATES_MAX, Found
from reedway.proof.story import sentence
from reedway.proof.telling import REACTION, Teller, all_starts, wrapped
from reedway.proof.timed.commands import add_options, run_timed
from reedway.typed import typed

QUESTION = "Can it ever go wrong?"
EXIT_REFUTED, EXIT_UNDECIDED = 1, 3
COLUMNS = 96


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    prove = subparsers.add_parser(
        "prove",
        description="Try every order of events that the track allows, with the rules on the board. "
        "Two trains in one section, points moved under a train or not known to lie right, and trains that "
        "can never go on are told as a story. "
        "Exit code 0: proved; 1: refuted; 3: not decided.",
        epilog="examples:\n"
        "  reedway prove my.yaml\n"
        "  reedway prove my.yaml --faults               and every single fault, at any moment\n"
        "  reedway prove my.yaml --log bad.jsonl        the story as a session log for replay and report\n"
        "  reedway prove my.yaml --timed --tick 20      with the speeds of your trains, in ticks of 20 ms\n"
        "  reedway prove my.yaml --window N1            and from where to where the sensor N1 may be\n",
    )
    prove.add_argument("file", metavar="FILE", help="layout file with a track")
    prove.add_argument("--start", metavar="NAME", help="only this start")
    prove.add_argument("--faults", action="store_true", help="every single fault too")
    prove.add_argument("--fault", action="append", metavar="KIND", help="only this fault; may be repeated")
    prove.add_argument("--log", metavar="FILE", help="write the first counterexample as a session log")
    prove.add_argument(
        "--states-max", type=whole(1, 10**9), default=STATES_MAX, metavar="N", help="give up after N states"
    )
    prove.add_argument(
        "--memory-max",
        type=whole(1, 10**6),
        default=MEMORY_MB_MAX,
        metavar="MB",
        help="give up above MB of memory",
    )
    prove.add_argument("--json", action="store_true", help="print JSON")
    add_options(prove)
    prove.set_defaults(run=run_prove)


def run_prove(args: argparse.Namespace) -> int:
    """Judge every start, print, and say by the exit code what came of it."""
    if args.log and Path(args.log).exists():  # said before the work, not after it
        raise ReedwayError(f"{args.log}: is there already; choose another name")
    if args.timed or args.window is not None:
        return run_timed(args)
    compiled = compile_layout(load(args.file))
    layout = compiled.layout
    kinds = _kinds(args)
    names = [start.name for start in layout.starts]
    if args.start is not None and args.start not in names:
        raise ReedwayError(f"{args.file}: there is no start '{args.start}'; there are {', '.join(names)}")
    if not names:
        raise ReedwayError(f"{args.file}: nothing to prove without a start; add one under starts:")
    limits = Limits(args.states_max, args.memory_max, None if args.json else _progress)
    verdicts: list[tuple[Scene, Verdict]] = []
    teller = Teller(limits)
    logged = False
    for index, name in enumerate(names):
        if args.start is not None and name != args.start:
            continue
        for scene in scenes(compiled, index):
            for verdict in _all(scene, kinds, limits):
                verdicts.append((scene, verdict))
                told = teller.tell(scene, verdict)
                if not args.json:
                    _clear_progress()
                    print("\n".join(told))
                if args.log and verdict.steps and not logged and verdict.is_bad:
                    write_log(args.log, compiled, index, scene, verdict)
                    logged = True
                    if not args.json:
                        print(f"    written to {args.log}; look at it with: reedway report {typed(args.log)}")
    if args.json:
        print(json.dumps(_json(args.file, verdicts, teller), indent=2))
    else:
        _print_end(verdicts)
    results = {verdict.result for _, verdict in verdicts}
    if results & {REFUTED, FAILS}:
        return EXIT_REFUTED
    return EXIT_UNDECIDED if UNDECIDED in results else 0


def _kinds(args: argparse.Namespace) -> tuple[Any, ...]:
    if args.fault:
        known = [kind.name for kind in FAULTS]
        for name in args.fault:
            if name not in known:
                raise ReedwayError(f"there is no fault '{name}'; there are: {', '.join(known)}")
        return possible_faults(args.fault)
    return possible_faults() if args.faults else ()


def _all(scene: Scene, kinds: tuple[Any, ...], limits: Limits) -> Any:
    for lagging in (False, True):
        yield judge(scene, lagging, limits)
    for kind in kinds:
        for lagging in (False, True):
            verdict = judge_fault(scene, lagging, kind, limits)
            if verdict is not None:
                yield verdict


def _progress(found: Found) -> None:
    if sys.stderr.isatty():
        print(
            f"\r{found.states:,} states, {found.states_per_s:,.0f} a second, {found.peak_mb:.0f} MB",
            end="",
            file=sys.stderr,
        )


def _clear_progress() -> None:
    if sys.stderr.isatty():
        print("\r" + " " * COLUMNS + "\r", end="", file=sys.stderr)


def _print_end(verdicts: list[tuple[Scene, Verdict]]) -> None:
    if not verdicts:
        return
    tried = {verdict.fault for _, verdict in verdicts}
    kinds = [kind for kind in FAULTS if kind.name in tried]
    if kinds:
        print("Faults that were tried, each once in a run and at any moment:")
    for kind in kinds:
        print(wrapped(f"- {kind.name}: {kind.happens}", "  "))
    print("Taken for granted:")
    said: dict[str, None] = {}
    for scene, verdict in verdicts:
        said.update(dict.fromkeys(assumptions(scene, verdict.lagging, verdict.fault, verdict.queue_was_full)))
    for line in said:
        print(wrapped(f"- {line}", "  "))
    if any(verdict.rests_on_times for _, verdict in verdicts):
        print("Safety of this layout rests on running times.")
    print(all_starts([(verdict.start, verdict.result) for _, verdict in verdicts]))


def _json(path: str, verdicts: list[tuple[Scene, Verdict]], teller: Teller) -> dict[str, Any]:
    rows = []
    for scene, verdict in verdicts:
        rows.append(
            {
                "start": verdict.start,
                "reaction": REACTION[verdict.lagging],
                "fault": verdict.fault,
                "result": verdict.result,
                "why": verdict.why,
                "rests_on_running_times": verdict.rests_on_times,
                "states": verdict.states,
                "transitions": verdict.transitions,
                "seconds": round(verdict.seconds, 3),
                "states_per_s": round(verdict.states / verdict.seconds) if verdict.seconds else 0,
                "peak_mb": round(verdict.peak_mb, 1),
                "story": [sentence(told) for told in verdict.steps],
                "rules": teller.rules(verdict),
                "why_so": teller.advice(verdict).why,
                "advice": teller.advice(verdict).change,
                "assumptions": assumptions(scene, verdict.lagging, verdict.fault, verdict.queue_was_full),
            }
        )
    results = {verdict.result for _, verdict in verdicts}
    overall = REFUTED if results & {REFUTED, FAILS} else UNDECIDED if UNDECIDED in results else PROVED
    return {"file": path, "result": overall, "verdicts": rows}
