"""A verdict in lines for the terminal: what came of it, the story, why, and what to change."""

from __future__ import annotations

import textwrap
from typing import Any

from reedway.counting import counted
from reedway.proof.advice import Advice, advise
from reedway.proof.cure import Cure
from reedway.proof.judge import FAILS, REFUTED, UNDECIDED, Limits, Verdict
from reedway.proof.scene import Scene
from reedway.proof.story import MAY_GO, story
from reedway.proof.tracing import Moment, Tracer

COLUMNS = 96
REACTION = {False: "at once", True: "lagging"}
ANY_TIME = " if trains may take any time; for your speeds run prove --timed"
IN_WORDS = {False: "the board answers at once", True: "hits may wait before the board answers"}


class Teller:
    """Tells verdicts one after the other; what was told already is not told again."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.bad: list[tuple[Scene, Verdict]] = []
        self.cures: list[Cure] = []  # with which every start of the file is proved
        self._advice: dict[int, Advice] = {}
        self._moments: dict[int, list[Moment]] = {}

    def advice(self, verdict: Verdict) -> Advice:
        return self._advice.get(id(verdict), Advice())

    def rules(self, verdict: Verdict) -> list[dict[str, Any]]:
        """Which rules acted at which step; step 0 is the start."""
        return [
            {
                "step": n,
                "line": acted.rule.line,
                "rule": acted.rule.text,
                "derived": acted.rule.derived,
                "acts": [act.text for act in acted.acts],
            }
            for n, moment in enumerate(self._moments.get(id(verdict), []))
            for acted in moment.acted
        ]

    def tell(self, scene: Scene, verdict: Verdict) -> list[str]:
        """All lines of one verdict. Sets whether a refuted one rests on running times."""
        told = self._bad(scene, verdict) if verdict.is_bad else []
        if verdict.result == UNDECIDED:
            told = [f"{verdict.why}; up to there nothing bad was found"]
        elif verdict.why and not verdict.is_bad:
            told = [f"it may come to this: {verdict.why}"]
        fails = f"the fault '{verdict.fault}'" if verdict.fault else "nothing fails"
        result = verdict.result.upper() + (ANY_TIME if verdict.rests_on_times else "")
        figures = (
            f"(searched: {verdict.states:,} states and {verdict.transitions:,} steps between them, "
            f"{verdict.seconds:.2f} s, {verdict.peak_mb:.0f} MB)"
        )
        return [
            wrapped(f"Start '{verdict.start}', {fails}, {IN_WORDS[verdict.lagging]}: {result}", ""),
            *(wrapped(line, "    ") for line in [*told, figures]),
        ]

    def _bad(self, scene: Scene, verdict: Verdict) -> list[str]:
        """What comes of it and what to change first, then the story and why."""
        earlier = next((one for s, one in self.bad if s is scene and _is_alike(one, verdict)), None)
        if earlier is not None:
            verdict.rests_on_times = earlier.rests_on_times
            self._advice[id(verdict)] = self.advice(earlier)
            self._moments[id(verdict)] = self._moments[id(earlier)]
            return ["The same as when the board answers at once: see the story above."]
        moments = self._moments[id(verdict)] = Tracer(scene).moments(verdict)
        advice = self._advice[id(verdict)] = advise(scene, verdict, moments, self.limits, self.cures)
        verdict.rests_on_times = advice.rests_on_times
        self.bad.append((scene, verdict))
        after = f"after {counted(len(verdict.steps), 'step')}" if verdict.steps else "right after the start"
        lines = [
            f"In short: {verdict.why}, {after}.",
            *advice.change,
            "What happens, step by step:",
            *story(scene, verdict, moments),
        ]
        if len(self.bad) > 1:  # said once
            lines = [line for line in lines if MAY_GO not in line]
        return [*lines, "Why:", *(f"  {line}" for line in advice.why)] if advice.why else lines


def all_starts(verdicts: list[tuple[str, str]]) -> str:
    """`2 of 3 starts refuted`, of (start, result); faults count too."""
    starts: dict[str, set[str]] = {}
    for start, result in verdicts:
        starts.setdefault(start, set()).add(result)
    if len(starts) == 1:
        names, many = "The start", ""
    else:
        names, many = "All starts", f"{len(starts)} starts"
    bad = [start for start, results in starts.items() if results & {REFUTED, FAILS}]
    open_ = [start for start, results in starts.items() if UNDECIDED in results and start not in bad]
    parts = []
    for found, word in ((bad, "refuted"), (open_, "not decided")):
        if found:
            parts.append(
                f"{len(found)} of {many} {word}: {', '.join(found)}" if many else f"{names} is {word}"
            )
    return f"{'; '.join(parts)}." if parts else f"{names} {'proved' if many else 'is proved'}."


def _is_alike(one: Verdict, other: Verdict) -> bool:
    """The same thing happens, but for hits that wait."""

    def steps(verdict: Verdict) -> list[tuple[str, str]]:
        return [(told.who, told.text) for told in verdict.steps if told.kind != "serve"]

    return one.fault == other.fault and one.why == other.why and steps(one) == steps(other)


def wrapped(line: str, indent: str) -> str:
    """A line of text cut to the terminal; what goes on stands below its words."""
    hang = len(line) - len(line.lstrip(" 0123456789.-"))
    return textwrap.fill(
        line,
        COLUMNS,
        initial_indent=indent,
        subsequent_indent=indent + " " * (hang or 2),
        drop_whitespace=True,
        break_on_hyphens=False,
    )
