"""Entries of the section `electrics:` to the dataclasses of electrics/model.py."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reedway.electrics import copper, model

if TYPE_CHECKING:
    from reedway.layout.entries import Entries, Entry


def build(entries: Entries) -> model.Electrics:
    """The section; `entries` must have come without complaints."""
    around = entries["surroundings"][0]
    electrics = model.Electrics(
        model.Surroundings(
            warmest_c=around["warmest"],
            coldest_c=around["coldest"],
            slowest_m_s=around["slowest"],
            fastest_m_s=around["fastest"],
            line=around.line,
        )
    )
    electrics.sources = [_source(entry) for entry in entries["sources"]]
    electrics.coil_parts = [_coil_part(entry) for entry in entries["coil_parts"]]
    electrics.magnets = [_magnet(entry) for entry in entries["magnets"]]
    electrics.sensor_parts = [_sensor_part(entry) for entry in entries["sensor_parts"]]
    electrics.feed_parts = [_feed_part(entry) for entry in entries["feed_parts"]]
    return electrics


def _names(entry: Entry, key: str) -> list[str] | None:
    return None if entry[key] is None else [name.text for name in entry[key]]


def _cable(entry: Entry) -> model.Cable:
    return model.Cable(entry["cable"], entry["gauge"])


def _source(entry: Entry) -> model.Source:
    alternating = entry["current_kind"].text == "AC"
    return model.Source(
        name=entry.name,
        line=entry.line,
        feeds=_names(entry, "feeds"),
        alternating=alternating,
        voltage_v=entry["voltage"],
        frequency_hz=entry["frequency"] if alternating else 0.0,
        bank_f=(entry["bank"] or 0.0) * 1e-6,
        charge_ohm=entry["charged_through"],
        bleeder_ohm=entry["bleeder"],
        fuse=entry["fuse"],
        cable=_cable(entry),
    )


def _coil_part(entry: Entry) -> model.CoilPart:
    return model.CoilPart(
        name=entry.name,
        line=entry.line,
        turnouts=_names(entry, "in"),
        resistance_20_ohm=copper.resistance_at_20_ohm(entry["resistance"], entry["measured_at"]),
        winding_mm=entry["winding_wire"],
        copper_kg=None if entry["copper"] is None else entry["copper"] / 1000,
        warms_k=entry["warms"],
        warming_pulses=entry["after"],
        cools_s=None if entry["cools"] is None else entry["cools"] / 1000,
        insulation=entry["insulation"].text,
        ac_current_a=entry["ac_current"],
        ac_voltage_v=entry["ac_voltage"],
        throws_at_v=entry["throws_at"],
        throws_in_s=entry["throws_in"] / 1000,
        by_relay=entry["driver"].text == "relay",
        active_low=entry["active"].text == "low",
        suppression=entry["suppression"].text,
        pin_a=entry["pin_current"],
        cable=_cable(entry),
    )


def _magnet(entry: Entry) -> model.MagnetPart:
    return model.MagnetPart(
        entry.name,
        entry.line,
        entry["shape"].text,
        entry["size"],
        entry["grade"].text,
        entry["lies"].text,
        entry["height"],
        entry["aside"],
        entry["play"],
    )


def _sensor_part(entry: Entry) -> model.SensorPart:
    return model.SensorPart(
        name=entry.name,
        line=entry.line,
        sensors=_names(entry, "of"),
        kind=entry["kind"].text,
        lies=entry["lies"].text,
        operates_mt=entry["operates"],
        releases_mt=entry["releases"],
        aside_mm=entry["aside"],
        measured_with=entry["measured_with"].text if entry["measured_with"] else None,
        measured_height_mm=entry["measured_height"],
        closes_at_mm=entry["closes_at"],
        opens_at_mm=entry["opens_at"],
        output=entry["output"].text,
        level_v=entry["level"],
        to_ground=entry["closes_to"].text == "ground",
        cable=_cable(entry),
    )


def _feed_part(entry: Entry) -> model.FeedPart:
    return model.FeedPart(
        name=entry.name,
        line=entry.line,
        blocks=_names(entry, "of"),
        current_a=entry["current"],
        voltage_v=entry["voltage"],
        alternating=entry["current_kind"].text == "AC",
        fuse=entry["fuse"],
        reversed=entry["polarity"].text == "reversed",
        pin_a=entry["pin_current"],
        meets=_names(entry, "meets") or [],
        cable=_cable(entry),
    )
