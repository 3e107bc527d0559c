"""Entries of the section `track:` to its dataclasses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedway.track.keys import BY_TIME, DERIVED
from reedway.track.model import TrackSection

if TYPE_CHECKING:
    from reedway.layout.entries import Entries


def build_track(entries: Entries) -> list[TrackSection]:
    """The sections; `entries` must have come without complaints."""
    return [
        TrackSection(
            name=entry.name,
            line=entry.line,
            to=entry["to"] or [],
            come_from=entry["from"] or [],
            sensors=entry["sensors"] or [],
            entrance=entry["entrance"],
            detector=entry["detector"],
            in_time=entry["in_time"],
            used_while=entry["used_while"],
            leaves=entry["leaves"].text,
            go_sensor=entry["go_sensor"],
        )
        for entry in entries["track"]
    ]


def is_derived(entries: Entries) -> bool:
    """True when the rules that keep trains apart are to be derived."""
    chosen = entries["safe_rules"]
    return bool(entries["track"]) and (not chosen or chosen[0][""].text == DERIVED)


def counts_by_time(entries: Entries) -> bool:
    """True when a hit that is due counts only when the slowest train would have come."""
    chosen = entries["due_hits"]
    return bool(chosen) and chosen[0][""].text == BY_TIME
