"""The figures of a run as lines for the terminal."""

from __future__ import annotations

from reedlogic import words as w
from reedway.columns import cut, table
from reedway.counting import times
from reedway.trains.running.controlled import LATENCY_MS
from reedway.trains.running.figures import Figures, OfTrain

TOLD_LINES = 12


def lines(run: Figures, start: str) -> list[str]:
    """Everything that a person wants to know first, in lines that fit the terminal."""
    return [cut(line) for line in _lines(run, start)]


def _lines(run: Figures, start: str) -> list[str]:
    layout = run.compiled.layout
    found = [
        f'{layout.name}: start "{start}", {_hours(run.hours)} simulated',
        f"  Assumed: contacts are seen within {LATENCY_MS} ms; points lie over when their pulse ends; "
        "trains do not part.",
        "",
    ]
    found += _trains(run)
    found += ["", *_out(run)]
    found += [*_nearest(run), *_early(run), *_resting(run), *_coils(run)]
    if run.told:
        found += ["", "What the controller said", *_told(run)]
    return [*found, "", _verdict(run)]


def _hours(hours: float) -> str:
    return f"{hours:.2f} h" if hours >= 1 else f"{hours * 60:.1f} min"


def _trains(run: Figures) -> list[str]:
    head = (
        "train",
        "",
        "departures",
        "an hour",
        "laps",
        "an hour",
        "waits s",
        "longest s",
        "out s",
        "longest s",
    )
    return table(head, [_train(name, one, run.hours) for name, one in run.trains.items()])


def _mean(values: list[float]) -> str:
    return f"{sum(values) / len(values):.1f}" if values else "-"


def _train(name: str, one: OfTrain, hours: float) -> tuple[str, ...]:
    rate = [f"{n / hours:.1f}" if hours else "-" for n in (one.departures, one.laps)]
    return (
        name,
        "",
        str(one.departures),
        rate[0],
        str(one.laps),
        rate[1],
        _mean(one.waits),
        f"{max(one.waits, default=0.0):.1f}",
        _mean(one.outs),
        f"{max(one.outs, default=0.0):.1f}",
    )


def _out(run: Figures) -> list[str]:
    whole = sum(run.out_s.values())
    if not whole:
        return ["Nobody has left."]
    shares = ", ".join(f"{n}: {100 * us / whole:.0f} %" for n, us in sorted(run.out_s.items()) if us)
    total = sum(one.departures for one in run.trains.values())
    rate = f"{total / run.hours:.1f}" if run.hours else "-"
    return [f"Departures: {rate} an hour. Trains out at a time: {shares}; {run.mean_out():.2f} on average."]


def _nearest(run: Figures) -> list[str]:
    if run.nearest is None:
        return ["No train ran behind another."]
    mm, t, behind, ahead, where = run.nearest
    seconds = (t - (run.started or 0)) / 1e6
    return [
        f"Nearest: {mm:.0f} mm from the nose of the {behind} in {where} to the tail of the {ahead}, "
        f"{seconds:.1f} s after the start order."
    ]


def _early(run: Figures) -> list[str]:
    return [
        f"{sensor} was hit {times(n)} while the tail of the {train} was still in {section}."
        for (sensor, train, section), n in sorted(run.early.items())
    ]


def _resting(run: Figures) -> list[str]:
    if not run.resting:
        return ["No train came to stand over a sensor."]
    parts = [f"the {train} over {sensor} {times(n)}" for (train, sensor), n in sorted(run.resting.items())]
    return [f"Came to stand over a sensor: {', '.join(parts)}."]


def _coils(run: Figures) -> list[str]:
    names, plan = run.compiled.names, run.compiled.plan
    limits = {coil: row[6] for row in plan[w.PLAN_TURNOUTS] for coil in row[:2]}
    parts = [
        f"{names.coils[i]} {n} (heat {run.hottest[i]} of {limits[i]})" for i, n in sorted(run.pulses.items())
    ]
    found = [f"Pulses: {', '.join(parts)}." if parts else "No coil was pulsed."]
    if run.deferral_ms:
        found.append(f"Longest deferral of a throw: {run.deferral_ms / 1000:.1f} s.")
    else:
        found.append("No throw was deferred.")
    return found


def _told(run: Figures) -> list[str]:
    shown = [f"  {(t * 1000 - (run.started or 0)) / 1e6:9.1f} s  {words}" for t, _, words in run.told]
    if len(shown) > TOLD_LINES:
        return [*shown[:TOLD_LINES], f"  and {len(shown) - TOLD_LINES} more"]
    return shown


def _verdict(run: Figures) -> str:
    wreck = run.wreck
    if wreck is None:
        return f"Went wrong: {run.trouble()}." if run.trouble() else "Nothing went wrong."
    seconds = (wreck.t - (run.started or 0)) / 1e6
    who = f"the {wreck.train} and the {wreck.other}" if wreck.other else f"the {wreck.train}"
    return f"Went wrong {seconds:.1f} s after the start order, {wreck.how}: {who}, in {wreck.section}."
