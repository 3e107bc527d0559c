"""Entries of the sections to the dataclasses of model.py; one small builder a section."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

from reedway.electrics.build import build as build_electrics
from reedway.layout import model
from reedway.layout.entries import Entries, Entry
from reedway.layout.model import Layout, Level, Text
from reedway.track.build import build_track, counts_by_time, is_derived
from reedway.trains.build import build_stock

TRACK_POWER = "track power"


def hash_of(source: bytes) -> str:
    """SHA-256 of a layout file; the same whether its lines end as on Windows or elsewhere."""
    return hashlib.sha256(source.replace(b"\r\n", b"\n").replace(b"\r", b"\n")).hexdigest()


def build(path: str, source: bytes, entries: Entries) -> Layout:
    """The layout; `entries` must have come without complaints."""
    limits = entries["limits"][0]
    layout = Layout(
        path=path,
        source=source,
        sha256=hash_of(source),
        name=str(entries["layout"][0][""]),
        board=str(entries["board"][0][""]),
        is_shadow=bool(entries["mode"]) and str(entries["mode"][0][""]) == "shadow",
        late_ms=limits["late"],
        defer_ms_max=limits["defer"],
        coil_pause_ms=limits["coil_pause"],
    )
    for section, one in _BUILDERS.items():
        for entry in entries[section]:
            one(layout, entry)
    layout.electrics = build_electrics(entries)
    layout.track = build_track(entries)
    layout.stock = build_stock(entries)
    layout.rules_derived = is_derived(entries)
    layout.hits_by_running_time = counts_by_time(entries)
    return layout


def _drawing(layout: Layout, entry: Entry) -> None:
    layout.drawing = entry[""].text.split("\n")
    layout.drawing_line = entry[""].line


def _terminals(layout: Layout, entry: Entry) -> None:
    layout.terminals[entry.name] = entry[""]
    layout.terminal_lines[entry.name] = entry.line


def _sensors(layout: Layout, entry: Entry) -> None:
    times = [entry[key] for key in ("confirm", "opening", "rearm", "at_rest")]
    sensor = model.Sensor(entry.name, entry.line, entry["terminal"], *times)
    sensor.tail_clear_of = list(entry["tail_clear_of"] or [])
    sensor.pair_with = entry["pair_with"]
    sensor.senses = entry["senses"]
    layout.sensors.append(sensor)


def _level(kind: str) -> Callable[[Layout, Entry], None]:
    words = {"detector": ("occupied", "free"), "contact": ("closed", "open")}.get(kind, ("on", "off"))

    def one(layout: Layout, entry: Entry) -> None:
        name = TRACK_POWER if kind == "power" else entry.name
        on, off = (entry[key].text for key in ("on", "off")) if kind == "switch" else words
        times = (entry["confirm"], entry["opening"])
        level = Level(name, entry.line, entry["terminal"], kind, *times, on, off)
        level.senses = entry["senses"] if kind == "detector" else None
        layout.levels.append(level)

    return one


def _buttons(layout: Layout, entry: Entry) -> None:
    times = (entry["confirm"], entry["opening"])
    layout.buttons.append(model.Button(entry.name, entry.line, entry["terminal"], *times, entry["order"]))


def _supplies(layout: Layout, entry: Entry) -> None:
    times = (entry["recharge"], entry["lead"], entry["trail"])
    layout.supplies.append(model.Supply(entry.name, entry.line, *times, entry["terminal"]))


def _turnouts(layout: Layout, entry: Entry) -> None:
    first, second = entry["positions"]
    closed_in = {position.text.casefold(): contact.text for position, contact in entry["contacts"] or []}
    layout.turnouts.append(
        model.Turnout(
            name=entry.name,
            line=entry.line,
            first=first.text,
            second=second.text,
            coil_first=entry["coils"][0],
            coil_second=entry["coils"][1],
            supply=entry["supply"],
            pulse_ms=entry["pulse"],
            pulses=entry["pulses"],
            cool_ms=entry["cool"],
            refresh_every_ms=entry["refresh_every"],
            power_routing=entry["power_routing"],
            relay_operate_ms=entry["relay_operate"],
            contact_first=closed_in.get(first.text.casefold()),
            contact_second=closed_in.get(second.text.casefold()),
            contact_wait_ms=entry["contact_wait"],
        )
    )


def _gangs(layout: Layout, entry: Entry) -> None:
    layout.gangs.append(model.Gang(entry.name, entry.line, entry[""]))


def _blocks(layout: Layout, entry: Entry) -> None:
    layout.blocks.append(model.Block(entry.name, entry.line, entry["terminal"]))


def _track_feed(layout: Layout, entry: Entry) -> None:
    layout.track_feed = entry["terminal"]


def _places(layout: Layout, entry: Entry) -> None:
    layout.places.append(model.Place(entry.name, entry.line, entry["block"]))


def _relays(layout: Layout, entry: Entry) -> None:
    safe_in = entry["safe"].text == "in"
    layout.relays.append(model.Relay(entry.name, entry.line, safe_in, entry["pulled_in_while"]))


def _timers(layout: Layout, entry: Entry) -> None:
    layout.timers.append(model.Timer(entry.name, entry.line, entry[""]))


def _lamps(layout: Layout, entry: Entry) -> None:
    layout.lamps.append(model.Lamp(entry.name, entry.line, entry["terminal"], entry["shows"]))


def _rules(layout: Layout, entry: Entry) -> None:
    conditions: list[Text] = entry["while"] or entry["as_soon_as"] or []
    why = entry["why"].text if entry["why"] else None
    layout.rules.append(model.Rule(entry.line, entry["at"], conditions, entry["do"], why))


def _starts(layout: Layout, entry: Entry) -> None:
    lists = [entry[key] or [] for key in ("trains", "switches", "relays_in", "turnouts", "go")]
    layout.starts.append(model.Start(entry.name, entry.line, *lists))


_BUILDERS: dict[str, Callable[[Layout, Entry], None]] = {
    "drawing": _drawing,
    "terminals": _terminals,
    "sensors": _sensors,
    "detectors": _level("detector"),
    "switches": _level("switch"),
    "buttons": _buttons,
    "contacts": _level("contact"),
    "track_power": _level("power"),
    "supplies": _supplies,
    "turnouts": _turnouts,
    "gangs": _gangs,
    "blocks": _blocks,
    "track_feed": _track_feed,
    "places": _places,
    "relays": _relays,
    "timers": _timers,
    "lamps": _lamps,
    "rules": _rules,
    "starts": _starts,
}
