"""A verdict in lines for the terminal: what came of it, the story, why, and what to change."""

from __future__ import annotations

import textwrap
from typing import Any

from reedway.proof.advice import Advice, advise
from reedway.proof.judge import UNDECIDED, Limits, Verdict
from reedway.proof.scene import Scene
from reedway.proof.story import story
from reedway.proof.tracing import Moment, Tracer

COLUMNS = 96
REACTION = {False: "at once", True: "lagging"}
IN_WORDS = {False: "the board answers at once", True: "hits may wait before the board answers"}


class Teller:
    """Tells verdicts one after the other; what was told already is not told again."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.bad: list[tuple[Scene, Verdict]] = []
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
        fails = f"the fault '{verdict.fault}'" if verdict.fault else "nothing fails"
        lines = [
            wrapped(
                f"Start '{verdict.start}', {fails}, {IN_WORDS[verdict.lagging]}: {verdict.result.upper()}", ""
            ),
            f"    (searched: {verdict.states:,} states of layout and board, {verdict.transitions:,} steps "
            f"between them, in {verdict.seconds:.2f} s with {verdict.peak_mb:.0f} MB of memory)",
        ]
        if verdict.result == UNDECIDED:
            lines.append(f"    {verdict.why}; up to there nothing bad was found")
        if verdict.is_bad:
            lines += [wrapped(line, "    ") for line in self._bad(scene, verdict)]
        elif verdict.why and verdict.result != UNDECIDED:
            lines.append(f"    it may come to this: {verdict.why}")
        return lines

    def _bad(self, scene: Scene, verdict: Verdict) -> list[str]:
        earlier = next((one for s, one in self.bad if s is scene and _is_alike(one, verdict)), None)
        if earlier is not None:
            verdict.rests_on_times = earlier.rests_on_times
            self._advice[id(verdict)] = self.advice(earlier)
            self._moments[id(verdict)] = self._moments[id(earlier)]
            return ["The same as when the board answers at once: see the story above."]
        moments = self._moments[id(verdict)] = Tracer(scene).moments(verdict)
        lines = [
            f"In short: {verdict.why}, after {len(verdict.steps)} steps.",
            *story(scene, verdict, moments),
        ]
        advice = self._advice[id(verdict)] = advise(scene, verdict, moments, self.limits)
        verdict.rests_on_times = advice.rests_on_times
        self.bad.append((scene, verdict))
        if advice.why:
            lines += ["Why:", *(f"  {line}" for line in advice.why)]
        return lines + advice.change


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
