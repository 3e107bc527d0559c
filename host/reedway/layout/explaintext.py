"""The text of `reedway explain`, made from its data."""

from __future__ import annotations

from typing import Any

from reedway.durations import as_written

Row = dict[str, Any]
WIDTH = 100


def explain_text(data: Row) -> str:
    """Plain lines in sections; empty sections are left out."""
    sections = [
        ("What each sensor does", [_input(row) for row in _of_kind(data, "sensor")]),
        ("What other inputs do", [_input(row) for row in _not_sensors(data)]),
        ("At other events", [_rule(row) for row in data["other_events"]]),
        ("Always, after each event, in this order", [_rule(row) for row in data["standing"]]),
        ("What lets each block go and what stops it", [_block(row) for row in data["blocks"]]),
        ("How long throws take", [_throw(row) for row in data["throws"]]),
        ("Ways of starting", [_start(row) for row in data["starts"]]),
        ("This relies on", [[f"  {text}"] for text in data["assumptions"]]),
        ("Limits", [[f"  {text}"] for text in data["limits"]]),
    ]
    parts = [[f"{data['layout']} ({data['board']})"], *(_section(*section) for section in sections)]
    return "\n\n".join("\n".join(part) for part in parts if part)


def _section(title: str, blocks: list[list[str]]) -> list[str]:
    lines = [line for block in blocks for line in block]
    return [title, *lines] if lines else []


def _of_kind(data: Row, kind: str) -> list[Row]:
    return [row for row in data["inputs"] if row["kind"] == kind]


def _not_sensors(data: Row) -> list[Row]:
    return [row for row in data["inputs"] if row["kind"] != "sensor"]


def _rule(row: Row, indent: str = "  ") -> list[str]:
    origin = "derived from the track" if row["derived"] else f"line {row['line']}"
    lines = [f"{indent}{row['sentence']}  ({origin})"]
    if row["why"]:
        lines.append(f"{indent}  because: {row['why']}")
    return lines


def _input(row: Row) -> list[str]:
    name = row["name"] if row["kind"] in ("sensor", "power") else f"{row['kind']} {row['name']}"
    lines = [f"  {name}: {_times(row)}"]
    if "order" in row:
        lines.append(f"    pressed: order {row['order']}")
    for rules in row["rules"].values():
        for rule in rules:
            lines += _rule(rule, "    ")
    lines += [f"    {text}" for text in row["does"]]
    if row["read_by"]:
        one = "rule in line" if len(row["read_by"]) == 1 else "rules in lines"
        lines.append(f"    read by the {one} {', '.join(map(str, row['read_by']))}")
    if len(lines) == 1:
        lines.append("    recorded only")
    return lines


def _times(row: Row) -> str:
    text = f"counts after {as_written(row['confirm_ms'])}"
    if row["kind"] != "sensor":
        return text
    rest = as_written(row["at_rest_ms"]) if row["at_rest_ms"] else ""
    text += f", next hit after {as_written(row['rearm_ms'])} open"
    return text + (f", a magnet at rest after {rest}" if rest else ", trains may stand here")


def _block(row: Row) -> list[str]:
    where = f" (place {', '.join(row['places'])})" if row["places"] else ""
    lines = [f"  {row['name']}{where}", "    goes, once it is not held and every turnout is known:"]
    lines += [line for rule in row["goes"] for line in _rule(rule, "      ")]
    lines += [f"      at the start '{name}'" for name in row["goes_at_start"]]
    if not row["goes"] and not row["goes_at_start"]:
        lines.append("      never: no rule and no start lets it go")
    lines.append("    stops, besides order stop and any fault:")
    lines += [line for rule in row["stops"] for line in _rule(rule, "      ")]
    lines += [f"      held by {text}" for text in row["held_by"]]
    if not row["stops"] and not row["held_by"]:
        lines.append("      by nothing else")
    return lines


def _throw(row: Row) -> list[str]:
    usual, longest = as_written(row["usual_ms"]), as_written(row["longest_ms"])
    order = f", in this order: {', '.join(row['order'])}" if len(row["order"]) > 1 else ""
    lines = [f"  {row['name']}{order}: {usual} from rest, at the longest {longest}:"]
    lines += _wrapped(row["steps"], "    ")
    if not row["thrown_by"]:
        lines.append("    thrown by no rule")
    return lines


def _wrapped(steps: list[str], indent: str) -> list[str]:
    lines: list[str] = []
    line = ""
    for step in steps:
        if line and len(indent) + len(line) + len(step) + 2 > WIDTH:
            lines.append(indent + line + ",")
            line = step
        else:
            line = f"{line}, {step}" if line else step
    return [*lines, indent + line] if line else lines


def _start(row: Row) -> list[str]:
    when = f"chosen when {' and '.join(row['switches'])}" if row["switches"] else "whatever the switches"
    lines = [f"  {row['name']}: {when}"]
    for label, key in (("trains at", "trains"), ("relays in", "relays_in"), ("turnouts", "turnouts")):
        if row[key]:
            lines.append(f"    {label}: {', '.join(row[key])}")
    if "longest_ms" in row:
        usual, longest = as_written(row["usual_ms"]), as_written(row["longest_ms"])
        lines.append(f"    each turnout is pulsed once: {usual} from rest, at the longest {longest}")
    if row["go"] is not None:
        verb = "goes" if len(row["go"]) == 1 else "go"
        lines.append(
            "    then " + (f"{', '.join(row['go'])} {verb}" if row["go"] else "no block goes by itself")
        )
    return lines
