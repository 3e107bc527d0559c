"""Which timer and leg decide a counterexample against the clock, and what other time was tried for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reedlogic import words as w
from reedway.durations import as_written
from reedway.proof.judge import PROVED, UNDECIDED
from reedway.proof.scene import Scene, scenes
from reedway.proof.timed.judge import TimedLimits, TimedVerdict, judge_timed, orders
from reedway.proof.timed.rails import Rails
from reedway.proof.timed.reaction import followed_timers
from reedway.trains.makeup import Makeup

LONGER_AT_MOST = 4  # times as long as written
STEP_MS = 500  # times are tried in steps of this
PARTS = (2, 4, 8, 16)  # into which the range of times is divided, one after the other
STATES_MAX = 300_000  # of one start with one order of trains, with another time
UNTRIED = "What to change (not tried here): "


@dataclass
class Span:
    """When a timer was started for the last time, by what, and when it ran out."""

    timer: int
    start_s: float
    by: str
    end_s: float | None = None  # None: it is still running at the end


@dataclass(frozen=True)
class OtherTime:
    """A time of a timer with which a start is proved."""

    timer: int
    time_ms: int
    what: str
    every_start: bool | None  # None: not looked at


def spans(scene: Scene, verdict: TimedVerdict) -> list[Span]:
    """The timers that matter: those that still run first, then those that ran out, the last one first."""
    machine = scene.machine
    matter = followed_timers(machine)
    at = machine.packing.timer_at
    found: dict[int, Span] = {}
    first = verdict.steps[0].logic
    for k in matter:
        if first >> at + k & 1:
            found[k] = Span(k, 0.0, "at the start")
    for step in verdict.steps:
        told, now_s = step.told, step.ticks * verdict.tick_ms / 1000
        if told.kind == "timer" and told.number in found:
            found[told.number].end_s = now_s
        if told.event < 0:
            continue
        machine.ask(step.logic, told.event)
        for kind, which, value in machine.explored.records():
            if kind != w.R_TIMER or which not in matter:
                continue
            if value == 1:
                found[which] = Span(which, now_s, f"when {past(told.who + ' ' + told.text)}")
            elif told.kind != "timer":
                found.pop(which, None)  # cancelled
    return sorted(found.values(), key=lambda s: (s.end_s is not None, -(s.end_s or 0.0), -s.start_s))


def why_so(scene: Scene, verdict: TimedVerdict) -> list[str]:
    """Sentences: the leg of the train that comes last, and the timers."""
    tick_s = verdict.tick_ms / 1000
    last = verdict.steps[-1]
    end_s = last.ticks * tick_s
    lines = []
    hits = [
        s for s in verdict.steps[:-1] if last.told.who and s.told.who == last.told.who and s.told.event >= 0
    ]
    if hits:
        hit_s = hits[-1].ticks * tick_s
        lines.append(
            f"{_capital(past(last.told.who + ' ' + hits[-1].told.text))} at {hit_s:.2f} s, and it "
            f"{past(last.told.text)} at {end_s:.2f} s: {end_s - hit_s:.2f} s later."
        )
    for span in spans(scene, verdict):
        timer = scene.spots.track.layout.timers[span.timer]
        name = f"The timer {timer.name} ({as_written(timer.time_ms)})"
        started = f"was started {span.by}" + (f" at {span.start_s:.2f} s" if span.start_s else "")
        if span.end_s is not None:
            lines.append(
                f"{name} {started} and ran out at {span.end_s:.2f} s, {end_s - span.end_s:.2f} s before."
            )
            continue
        due_s = span.start_s + timer.time_ms / 1000
        lines.append(
            f"{name} {started}, so it would have run out at {due_s:.2f} s: {due_s - end_s:.2f} s after that."
        )
    return lines


def times_to_try(time_ms: int, shorter: bool) -> list[int]:
    """Whole steps between 0 and the time, or between it and some times as long: halves first."""
    low, high = (0, time_ms) if shorter else (time_ms, LONGER_AT_MOST * time_ms)
    step = min(STEP_MS, max(1, time_ms // 4))
    found: dict[int, None] = {}
    for parts in PARTS:
        for n in range(1, parts, 2):
            middle = (low + (high - low) * n // parts) // step * step
            if low < middle < high:
                found[middle] = None
    return list(found)


class Trial:
    """Tries other times of one layout. What helped at every start is kept for the starts told later.

    `one_start`: only one start is asked for, so others are not looked at.
    """

    def __init__(self, rails: Rails, made: list[Makeup], limits: TimedLimits, one_start: bool) -> None:
        self.one_start = one_start
        self.advice: dict[int, tuple[list[str], list[str]]] = {}  # of verdicts: what to change, why
        self.rails = rails
        self.made = made
        self.limits = TimedLimits(min(STATES_MAX, limits.states_max), limits.memory_mb_max)
        self.helped: OtherTime | None = None

    def advise(self, scene: Scene, verdict: TimedVerdict) -> tuple[list[str], list[str]]:
        """What to change, and why it comes to this; worked out once."""
        if id(verdict) not in self.advice:
            self.advice[id(verdict)] = self._change(scene, verdict), why_so(scene, verdict)
        return self.advice[id(verdict)]

    def _change(self, scene: Scene, verdict: TimedVerdict) -> list[str]:
        """What to change, for the terminal."""
        if verdict.fault:
            return []
        if self.helped is not None:
            return [f"What to change: the same change as above sets this right too: {self.helped.what}."]
        tried = []
        for span in spans(scene, verdict):
            found = self._other_time(scene, span, "move again" in verdict.why)
            if found is not None:
                self.helped = found if found.every_start else None
                then = "every start of this file is proved" if found.every_start else "this start is proved"
                but = ", but not every other" if found.every_start is False else ""
                return [f"What to change (tried): {found.what}; then, with these trains, {then}{but}."]
            tried.append(scene.spots.track.layout.timers[span.timer].name)
        if not tried:
            return [
                "No timer that decides anything was started before this: what is wrong is not a time. "
                "Run prove without --timed: it tries changes of the rules."
            ]
        return [
            f"Other times for {' and '.join(tried)}, one timer at a time, were tried and do not prove it.",
            f"{UNTRIED}the spot of a sensor, the length of a leg, or the speed of a train.",
        ]

    def _other_time(self, scene: Scene, span: Span, is_jam: bool) -> OtherTime | None:
        """Shorter times first; where it ran out longer ones too, and first when nobody can move again."""
        timer = scene.spots.track.layout.timers[span.timer]
        ways = (True,) if span.end_s is None else (not is_jam, is_jam)
        times = [time_ms for shorter in ways for time_ms in times_to_try(timer.time_ms, shorter)]
        for time_ms in times:
            bad = self._first_bad(scene, span.timer, time_ms)
            if bad is None:
                what = (
                    f"write {as_written(time_ms)} in place of {as_written(timer.time_ms)} for the timer "
                    f"{timer.name} at line {timer.line}"
                )
                return OtherTime(span.timer, time_ms, what, self._at_every_start(scene, span.timer, time_ms))
            if bad.result == UNDECIDED:
                return None
        return None

    def _first_bad(self, scene: Scene, timer: int, time_ms: int) -> TimedVerdict | None:
        other = scene.with_plan(_with_time(scene.compiled.plan, timer, time_ms))
        assert other is not None
        for trains in orders(scene, self.made):
            verdict = judge_timed(other, self.rails, trains, self.limits)
            if verdict.result != PROVED:
                return verdict
        return None

    def _at_every_start(self, scene: Scene, timer: int, time_ms: int) -> bool | None:
        if self.one_start:
            return None
        return all(self._first_bad(one, timer, time_ms) is None for one in _others(scene))


def _others(scene: Scene) -> Iterator[Scene]:
    for number in range(len(scene.compiled.layout.starts)):
        for one in scenes(scene.compiled, number):
            if one.start != scene.start:
                yield one


def _with_time(plan: tuple, timer: int, time_ms: int) -> tuple:
    times = (*plan[w.PLAN_TIMERS][:timer], time_ms, *plan[w.PLAN_TIMERS][timer + 1 :])
    return (*plan[: w.PLAN_TIMERS], times, *plan[w.PLAN_TIMERS + 1 :])


def past(text: str) -> str:
    """`the railcar came to N1`"""
    words = {"comes": "came", "leaves": "left", "is": "was", "goes": "went", "runs": "ran", "has": "had"}
    return " ".join(words.get(word, word) for word in text.split())


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
