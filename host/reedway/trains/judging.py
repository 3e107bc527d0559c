"""What will not do about a train in a place and a magnet over a sensor, in sentences."""

from __future__ import annotations

import math

from reedway.trains.makeup import Magnet, Makeup
from reedway.trains.model import Length, Spot
from reedway.trains.planned import Passing, Plan, Problem, Stand
from reedway.trains.window import Site


def mm(value: float) -> str:
    """A distance for a sentence, rounded up to whole mm: how much is missing."""
    return f"{int(-(-round(value, 6) // 1))} mm"


def judge_stand(found: Plan, length: Length, made: Makeup, stand: Stand) -> None:
    """A train at rest in a place."""
    where = f"{stand.place}: the {stand.train}"
    whole = length.length

    def problem(text: str) -> None:
        found.problems.append(Problem(length.line, f"{where} {text}"))

    if made.length > whole:
        problem(f"is longer than the place ({mm(made.length)} of {mm(whole)}): take cars off, or lengthen it")
    elif stand.tail_clear < 0:
        problem(f"may stand with its tail {mm(-stand.tail_clear)} out of the place")
    if stand.dead_needed > stand.dead:
        problem(
            f"needs a dead end of {mm(stand.dead_needed)} from its first to its last powered pick-up with "
            f"its run-on; there are {mm(stand.dead)}"
        )
    if stand.nose_short < 0:
        problem(f"may stand with its nose {mm(-stand.nose_short)} past the mark before the far gap")
    if stand.set_on[0] > stand.set_on[1] and stand.nose_short >= 0:
        problem("cannot be set on there: no spot for its nose is dead and beyond the sensors")


def late_throws(found: Plan, place: str) -> None:
    """What comes of a throw that has to wait, as a note."""
    over = [
        f"the {stand.train} by {mm(-stand.nose_short_worst)}"
        for stand in found.stands
        if stand.place == place and stand.nose_short_worst < 0 <= stand.nose_short
    ]
    if over:
        found.notes.append(
            f"{place}: a throw that waits for another pulse, or is given twice as a contact does not agree, "
            f"lets noses pass the mark: {', '.join(over)} at most (explain prints the longest throws)"
        )


def judge_passing(found: Plan, spot: Spot, site: Site, magnet: Magnet, passing: Passing, number: int) -> None:
    """A magnet over a sensor; `number` counts those of its train from the front."""
    where = f"{site.sensor}: the magnet of the {passing.train}"
    if len([p for p in found.passings if (p.sensor, p.train) == (passing.sensor, passing.train)]) > 1:
        where += f" under {passing.vehicle}"

    def problem(text: str) -> None:
        found.problems.append(Problem(spot.line, f"{where} {text}"))

    if site.side != magnet.side:
        problem(f"is on the {magnet.side}, the sensor on the {site.side}: put both on one side")
    if passing.closed_ms < passing.needed_ms:
        problem(
            f"closes it for {math.floor(passing.closed_ms * 10) / 10:.1f} ms at top speed; a sure hit needs "
            f"{passing.needed_ms:.1f} ms: run slower, or take a stronger magnet or a shorter confirm"
        )
    if passing.again:
        problem(f"acts again: {passing.again}")
    if passing.beyond is not None and passing.short_of is not None and number == 0 and not site.cuts:
        if passing.short_of >= 0:
            problem(f"stands {mm(passing.short_of)} short of closing it: no hit until the train leaves")
        elif passing.beyond[0] < 0 and not site.times.warns:
            found.notes.append(f"{where} may stand over it; at_rest: never takes that as planned")
    clears = passing.beyond is None or passing.beyond[0] >= 0 or not site.times.warns
    if number == 0 and not clears and (passing.short_of or -1.0) < 0 and passing.beyond is not None:
        problem(f"may stand over it: {mm(-passing.beyond[0])} are missing until it has passed clear")
    if passing.tail_clear is not None and passing.tail_clear < 0:
        problem(f"makes its hit when the tail is {mm(-passing.tail_clear)} short of clear of {site.clear_of}")
    if passing.next_clear is not None and passing.next_clear >= 0 > (passing.next_clear_worst or 0.0):
        found.notes.append(
            f"{where} comes to the next spot too soon when the throw waits for another pulse, or is given "
            f"twice: {mm(-(passing.next_clear_worst or 0.0))} are missing then (explain prints the throws)"
        )
    if passing.next_clear is not None and passing.next_clear < 0:
        problem(
            f"comes to the next spot too soon: {mm(-passing.next_clear)} are missing at top speed until the "
            "hit counts and what it throws is there"
        )
