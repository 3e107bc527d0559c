"""What a layout relies on, and within what limits it works: said by explain."""

from __future__ import annotations

from reedlogic import words as w
from reedway.boardfile.compile import Compiled
from reedway.boardfile.terminals import has_arm
from reedway.boardfile.throwtimes import has_contact
from reedway.durations import as_written
from reedway.layout.model import Turnout
from reedway.layout.near import listed


def assumptions(compiled: Compiled) -> list[str]:
    """Facts about the railway that nobody on the board can check."""
    layout, plan = compiled.layout, compiled.plan
    found = []
    if layout.sensors:
        shortest = min(sensor.confirm_ms for sensor in layout.sensors)
        found.append(
            f"each passing magnet closes its sensor for at least {as_written(shortest)} (confirm), "
            f"and no sensor closes without one"
        )
    silent = [turnout.name for i, turnout in enumerate(layout.turnouts) if not has_contact(plan, i)]
    if silent:
        found.append(
            f"{listed(silent)} {_lies(silent)} where the last pulse sent {_it(silent)}: there is no position "
            f"contact to tell of points that failed to move"
        )
    routing = [turnout.name for turnout in layout.turnouts if turnout.power_routing]
    if routing:
        feeds = "feeds only the track it is" if len(routing) == 1 else "feed only the track they are"
        found.append(f"{listed(routing)} {feeds} set for; rails go live there without an output of the board")
    if layout.turnouts and not layout.track_feed:
        where = "trains only in blocks" if layout.blocks else "no train, only pulses of coils"
        found.append(f"stop and faults stop {where}: there is no track feed for the other rails")
    if layout.turnouts and not has_arm(layout):
        found.append("the coil supply is limited by itself: no pin is left for the arm line")
    return found


def _lies(names: list[str]) -> str:
    return "lies" if len(names) == 1 else "lie"


def _it(names: list[str]) -> str:
    return "it" if len(names) == 1 else "them"


def limits(compiled: Compiled) -> list[str]:
    """What the board keeps to, whatever the rules ask for."""
    layout, plan = compiled.layout, compiled.plan
    late_ms, pause_ms, defer_ms, _ = plan[w.PLAN_LIMITS]
    found = [f"a scan later than {as_written(late_ms)} begins confirmations anew"]
    if layout.is_shadow:
        found.insert(0, "shadow mode: every coil, feed, supply and the arm line stay off, whatever rules ask")
    if not layout.turnouts:
        return found
    found.append(f"one pulse at a time, and {as_written(pause_ms)} from one to the next")
    budgets: dict[str, list[str]] = {}
    for i, turnout in enumerate(layout.turnouts):
        budgets.setdefault(_budget(compiled, i, turnout), []).append(turnout.name)
    found += [f"{listed(names)}: {text}" for text, names in budgets.items()]
    found.append(f"a throw that the heat budget puts off longer than {as_written(defer_ms)} is a fault")
    for supply in layout.supplies:
        if supply.recharge_ms:
            found.append(f"supply {supply.name} recharges for {as_written(supply.recharge_ms)} after a pulse")
    return found


def _budget(compiled: Compiled, index: int, turnout: Turnout) -> str:
    _, _, pulse_ms, *_ = compiled.plan[w.PLAN_TURNOUTS][index]
    times = f"each coil at most {turnout.pulses} pulses of {as_written(pulse_ms)} at once"
    return (
        f"{times}, then one every {as_written(turnout.cool_ms)}; asked to where it lies, at most one pulse "
        f"every {as_written(turnout.refresh_every_ms)}"
    )
