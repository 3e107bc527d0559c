"""The section `track:` of a layout file as plain dataclasses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reedway.layout.model import Text

TAKE_TURNS = "take turns"
WHEN_FREE = "go when free"
PARTNER = "wait for a partner"
GO_SENSOR = "leave at the go sensor"
POLICIES = (WHEN_FREE, TAKE_TURNS, PARTNER, GO_SENSOR)


@dataclass
class TrackSection:
    """One entry of `track:`; a place and a turnout are sections too, under their own names."""

    name: str
    line: int
    to: list[Text]  # one; a turnout with two ways out: two, by position
    come_from: list[Text]  # only of a turnout with two ways in: by position
    sensors: list[Text]  # in the order in which a train comes to them
    entrance: Text | None  # sensor at its very beginning
    detector: Text | None
    in_time: bool  # turnout: what is asked of it is done before a train comes to it
    used_while: Text | None  # a switch: `siding in service`
    leaves: str  # policy, of a place
    go_sensor: Text | None
