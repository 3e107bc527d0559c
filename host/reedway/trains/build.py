"""Entries of `vehicles:`, `trains:`, `lengths:` and `spots:` to the dataclasses of trains/model.py."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from reedway.trains import model

if TYPE_CHECKING:
    from reedway.layout.entries import Entries, Entry


def build_stock(entries: Entries) -> model.Stock:
    """All four sections; `entries` must have come without complaints."""
    return model.Stock(
        vehicles=[_vehicle(entry) for entry in entries["vehicles"]],
        trains=[_train(entry) for entry in entries["trains"]],
        lengths=[_length(entry) for entry in entries["lengths"]],
        spots=[_spot(entry) for entry in entries["spots"]],
    )


def _vehicle(entry: Entry) -> model.Vehicle:
    front, rear = entry["couplers"]
    return model.Vehicle(
        name=entry.name,
        line=entry.line,
        lines=entry.lines,
        length=entry["length"],
        couplers=(front, rear),
        motor=entry["motor"],
        pick_ups=entry["pick_ups"],
        wired_through=entry["wired_through"],
        magnet=entry["magnet"],
        magnet_fits=entry["magnet_fits"],
        magnet_kind=entry["magnet_kind"],
        magnet_side=entry["magnet_side"].text,
        operating_length=entry["operates_over"],
    )


def _train(entry: Entry) -> model.Train:
    low, high = entry["speed"]
    acceleration = entry["acceleration"]
    return model.Train(
        name=entry.name,
        line=entry.line,
        lines=entry.lines,
        vehicles=entry["vehicles"],
        speed=(low * 1000, high * 1000),
        acceleration=math.inf if acceleration is None else acceleration * 1000,
        run_on=entry["run_on"],
        run_on_time_ms=entry["run_on_time"],
        when_cut=entry["when_cut"].text,
    )


def _length(entry: Entry) -> model.Length:
    return model.Length(
        name=entry.name,
        line=entry.line,
        lines=entry.lines,
        length=entry["length"],
        dead_end=entry["dead_end"],
        fouling_point=entry["fouling_point"],
        cut_by=entry["cut_by"],
        trains=entry["trains"] or [],
    )


def _spot(entry: Entry) -> model.Spot:
    return model.Spot(
        name=entry.name,
        line=entry.line,
        lines=entry.lines,
        place=entry["place"],
        set_back=entry["set_back"],
        beyond_gap=entry["beyond_gap"],
        clear_of=entry["clear_of"],
        beyond=entry["beyond"],
        next_spot=entry["next_spot"],
        side=entry["side"].text,
    )
