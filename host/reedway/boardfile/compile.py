"""Turns a checked layout into the plan of its board file, or says everything that is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reedlogic import words as w
from reedlogic.boardfile import BYTES_MAX, CRC_BYTES, HEADER_BYTES
from reedway.boardfile.clash import check_clashes, rules_by_event
from reedway.boardfile.encode import Value, encode, encode_value
from reedway.boardfile.gangs import check_gangs
from reedway.boardfile.names import Names, names_of
from reedway.boardfile.numbering import Numbering
from reedway.boardfile.pins import check_pins
from reedway.boardfile.pintable import Row, flat_table, pin_rows, table_hash
from reedway.boardfile.plan import Parts
from reedway.boardfile.rulewords import CompiledRule, RuleCompiler
from reedway.boardfile.sentences import Sentences
from reedway.boardfile.settling.settle import check_settling
from reedway.boardfile.shadow import board_rows, check_shadow
from reedway.boardfile.startplan import compile_starts
from reedway.electrics.limits import tighten
from reedway.layout.model import Layout
from reedway.problems import Complaint, LayoutError

SEARCH_S = 2.0  # for standing rules that do not settle; what is not decided by then is said


@dataclass
class Compiled:
    """A layout as its board file has it, with the names of everything in it."""

    layout: Layout
    numbering: Numbering
    plan: tuple[Any, ...]
    names: Names
    at_rules: list[CompiledRule]  # in file order
    standing: list[CompiledRule]  # as numbered in the plan: followers, then as_soon_as rules
    pins: list[Row]
    undecided: list[Complaint]  # not wrong as far as could be found out in the time

    @property
    def board_file(self) -> bytes:
        """The bytes that go on the board."""
        return encode(self.plan, self.layout.sha256)


def compile_layout(layout: Layout, search_s: float = SEARCH_S) -> Compiled:
    """The plan of a layout; LayoutError with every complaint about pins, references, sentences and rules."""
    layout = tighten(layout)  # heat budgets: of the owner's and the computed one the stricter
    complaints = check_pins(layout)
    numbering = Numbering(layout)
    sentences = Sentences(numbering)
    parts = Parts(layout, numbering, sentences)
    compiler = RuleCompiler(numbering, sentences)
    standing = compiler.followers()
    rules = [compiler.rule(rule) for rule in layout.rules]
    standing += [made for made, rule in zip(rules, layout.rules, strict=True) if rule.at is None]
    at = [made for made, rule in zip(rules, layout.rules, strict=True) if rule.at is not None]
    front = _front(parts)
    starts = compile_starts(numbering, sentences, complaints)
    complaints += parts.complaints + compiler.complaints + check_gangs(numbering) + _too_many(numbering)
    complaints += check_clashes(numbering, at, standing) + check_shadow(layout)
    if complaints:
        raise LayoutError(sorted(set(complaints)))
    names = names_of(layout, numbering)
    compiler.fill_names(names, standing)
    rows = board_rows(pin_rows(numbering), layout.is_shadow)
    table = flat_table(rows)
    messages = compiler.messages
    plan = (
        *front[:10],
        compiler.caution_masks(),
        (len(messages.notes), len(messages.faults)),
        *front[10:],
        _at_part(at),
        tuple((rule.flat_conditions, rule.flat_acts) for rule in standing),
        starts,
        table,
        table_hash(table),
    )
    _check_size(layout, plan)
    settling = check_settling(numbering, plan, standing, search_s)
    if settling.unsettled:
        raise LayoutError(settling.unsettled)
    return Compiled(layout, numbering, plan, names, at, standing, rows, settling.undecided)


def _check_size(layout: Layout, plan: tuple[Value, ...]) -> None:
    """The board has to hold the whole plan in its memory."""
    size = len(encode_value(plan)) + HEADER_BYTES + CRC_BYTES
    if size > BYTES_MAX:
        line = layout.rules[-1].line if layout.rules else 1
        message = (
            f"the board file would have {size} bytes; at most {BYTES_MAX} fit on the board; remove rules"
        )
        raise LayoutError([Complaint(layout.path, line, message)])


def _front(parts: Parts) -> tuple[Value, ...]:
    """Plan indices 0 to 9, 12 and 13."""
    layout = parts.layout
    safe = [0, 0, 0, 0]
    for i, relay in enumerate(layout.relays):
        if relay.safe_in and i < 4 * w.WORD_BITS:
            safe[i // w.WORD_BITS] |= 1 << i % w.WORD_BITS
    return (
        parts.limits(),
        parts.inputs(on_panel=False),
        parts.inputs(on_panel=True),
        parts.button_orders(),
        (len(layout.relays), *safe),
        (len(layout.blocks), int(layout.track_feed is not None)),
        parts.places(),
        parts.turnouts(),
        parts.supplies(),
        tuple(timer.time_ms for timer in layout.timers),
        parts.lamps(),
        parts.track_power(),
    )


def _at_part(at: list[CompiledRule]) -> tuple[Value, ...]:
    return tuple(
        (number, *((rule.flat_conditions, rule.flat_acts) for rule in rules))
        for number, rules in rules_by_event(at).items()
    )


def _too_many(numbering: Numbering) -> list[Complaint]:
    """More things of a kind than the board file holds: said at the first that does not fit."""
    layout = numbering.layout
    on_pins = [item.thing for item in numbering.inputs if item.index < 30]
    on_panel = [item.thing for item in numbering.inputs if item.index >= 30]
    found = []
    for what, things, most in (
        ("inputs on pins", on_pins, 26),
        ("inputs on the panel", on_panel, 24),
        ("relays", layout.relays, 120),
        ("blocks", layout.blocks, 29),
        ("turnouts", layout.turnouts, 14),
        ("timers", layout.timers, 30),
        ("lamps", layout.lamps, 30),
        ("starts", layout.starts, 16),
        ("places", layout.places, 30),
        ("supplies", layout.supplies, 8),
    ):
        if len(things) > most:
            message = f"{len(things)} {what}; at most {most} fit; remove {len(things) - most}"
            found.append(Complaint(layout.path, things[most].line, message))
    return found
