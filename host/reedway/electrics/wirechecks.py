"""What cannot work, and what should not be wired so: pins, feeds, fuses, wires that starve a coil."""

from __future__ import annotations

from itertools import combinations

from reedway.electrics import coils, copper, fuses, limits, relays
from reedway.electrics.driverchecks import PIN_V_MAX, driver_refusals, driver_warnings
from reedway.electrics.feedload import TRACK_FEED, trains_at_once
from reedway.electrics.fuserows import fuse_row
from reedway.electrics.model import Cable, FeedPart
from reedway.electrics.parts import Wired, feed_part_of, sensor_part_of
from reedway.electrics.units import shown
from reedway.layout.model import Layout, Rule
from reedway.problems import Complaint

# RP2040 data sheet, table of digital IO: 50 mA for all pins together; drive 12 mA at most.
PINS_A_MAX = 0.050
PIN_A_MAX = 0.012
PIN_A_USUAL = 0.004  # the drive a pin has at reset
FEEDS_MS_APART = 60  # relay release with a diode and bounce, worst of the data sheets read: 51.5 ms
INTERNAL_PULL_OHM = 50_000.0  # weakest pull-up or pull-down of a pin: 50 to 80 kohm


def fuse_of_all_trains(layout: Layout) -> list[Complaint]:
    """The track feed's fuse stands before every train that may run at the same time."""
    rails = feed_part_of(layout.electrics, TRACK_FEED)
    trains = trains_at_once(layout)
    if layout.track_feed is None or rails is None or rails.fuse is None or trains < 2:
        return []
    total = trains * rails.current_a
    if rails.fuse.rating_a >= total:
        return []
    text = (
        f"the track feed: all {trains} trains together draw {shown(total, 'A')} "
        f"({shown(rails.current_a, 'A')} each), its fuse carries {shown(rails.fuse.rating_a, 'A')}; "
        "it may blow with all of them running; a bigger fuse wants a wire that bears it"
    )
    return [Complaint(layout.path, layout.track_feed.line, text)]


class Checks:
    """Collects what is refused (it cannot work, or harms) and what is warned of."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.refused: list[Complaint] = []
        self.warned: list[Complaint] = []

    def run(self) -> Checks:
        self._sensors()
        self._pin_currents()
        for wired in limits.wired_turnouts(self.layout):
            self._coil(wired)
        self._feeds()
        return self

    def _refuse(self, line: int, message: str) -> None:
        self.refused.append(Complaint(self.layout.path, line, message))

    def _warn(self, line: int, message: str) -> None:
        self.warned.append(Complaint(self.layout.path, line, message))

    def _sensors(self) -> None:
        for part in self.layout.electrics.sensor_parts:
            if part.level_v > PIN_V_MAX:
                self._refuse(
                    part.line,
                    f"sensor part {part.name}: {shown(part.level_v, 'V')} would come to a pin; a pin bears "
                    f"{PIN_V_MAX} V; use an open collector or contact with its pull-up at 3.3 V",
                )
            if not part.to_ground:
                why = "inputs count as closed when they are low"
                if self.layout.board == "pico2":
                    why += (
                        ", and the pull-down of this chip loses: erratum E9, the pin gives about 120 uA, "
                        f"{120e-6 * INTERNAL_PULL_OHM:.1f} V over a pull-down of 50 kohm"
                    )
                self._refuse(
                    part.line,
                    f"sensor part {part.name}: it closes to 3.3 V; {why}; wire it to ground",
                )
            if part.output == "push-pull" and part.level_v <= PIN_V_MAX:
                self._warn(part.line, f"sensor part {part.name}: push-pull outputs cannot share a wire")
        for sensor in self.layout.sensors:
            if (
                self.layout.electrics.sensor_parts
                and sensor_part_of(self.layout.electrics, sensor.name) is None
            ):
                self._warn(sensor.line, f"sensor {sensor.name}: no sensor part is described for it")

    def _pin_currents(self) -> None:
        total = 0.0
        drawn = [
            (wired.turnout.line, f"turnout {wired.turnout.name}", wired.part.pin_a, 2)
            for wired in limits.wired_turnouts(self.layout)
        ]
        for block in self.layout.blocks:
            part = feed_part_of(self.layout.electrics, block.name)
            if part:
                drawn.append((block.line, f"block {block.name}", part.pin_a, 1))
        for line, what, amps, pins in drawn:
            total += amps * pins
            if amps > PIN_A_MAX:
                self._refuse(
                    line,
                    f"{what}: its driver draws {shown(amps * 1000, 'mA')} from a pin; a pin gives "
                    f"{PIN_A_MAX * 1000:.0f} mA at most; put a transistor between",
                )
            elif amps > PIN_A_USUAL:
                self._warn(
                    line,
                    f"{what}: its driver draws {shown(amps * 1000, 'mA')}; a pin is set to "
                    f"{PIN_A_USUAL * 1000:.0f} mA and its voltage sinks; put a transistor between",
                )
        if total > PINS_A_MAX:
            self._refuse(
                1,
                f"all drivers together draw {shown(total * 1000, 'mA')}; "
                f"all pins give {PINS_A_MAX * 1000:.0f} mA; use drivers that draw less",
            )

    def _coil(self, wired: Wired) -> None:
        part, source = wired.part, wired.source
        what = f"turnout {wired.turnout.name}"
        self.refused += driver_refusals(self.layout, wired)
        self.warned += driver_warnings(self.layout, wired)
        if source.alternating and source.bank_f:
            self._refuse(
                source.line, f"source {source.name}: a capacitor bank holds DC; write current_kind: DC"
            )
        if source.bank_f and not source.charge_ohm:
            self._warn(
                source.line,
                f"source {source.name}: without charged_through the bank limits nothing when a driver fails",
            )
        if source.bank_f and not source.bleeder_ohm:
            self._warn(source.line, f"source {source.name}: without a bleeder the bank stays charged")
        if source.fuse is None:
            self._warn(source.line, f"source {source.name}: it has no fuse")
        self._starved(wired, what)
        for cable in (source.cable, part.cable):
            self._fuse_and_wire(source.line, f"source {source.name}", source.fuse, cable)

    def _starved(self, wired: Wired, what: str) -> None:
        part = wired.part
        if part.throws_at_v is None:
            return
        hot_c = wired.coil.limit_c if wired.coil else wired.class_c
        need_a = part.throws_at_v / part.resistance_20_ohm
        hot_ohm = part.resistance_20_ohm * copper.resistance_ratio(hot_c)
        amps = wired.drive.voltage_v / (hot_ohm + wired.drive.series_ohm)
        drop_v = amps * wired.drive.series_ohm
        if amps < need_a <= wired.drive.voltage_v / hot_ohm:
            self._refuse(
                wired.turnout.line,
                f"{what}: its wires starve it: {shown(wired.drive.series_ohm, 'ohm')} there and back take "
                f"{shown(drop_v, 'V')} and leave {shown(amps, 'A')}; it needs {shown(need_a, 'A')}; "
                "use thicker or shorter wires",
            )
        elif drop_v > wired.drive.voltage_v / 10:
            self._warn(
                wired.turnout.line,
                f"{what}: its wires lose {shown(drop_v, 'V')} of {shown(wired.drive.voltage_v, 'V')}",
            )

    def _fuse_and_wire(self, line: int, what: str, fuse: fuses.Fuse | None, cable: Cable) -> None:
        """Does the fuse blow on a short before the wire's insulation is at its limit?"""
        if fuse is None:
            return
        row = fuse_row(what, fuse, cable)
        if not row.saved:
            self._refuse(
                line,
                f"{what}: at ten times its rating the fuse may take {shown(row.blows_s, 's')}; the wire of "
                f"{shown(row.wire_mm2, 'mm2')} bears {shown(row.amps_a, 'A')} for {shown(row.bears_s, 's')}; "
                "use a thicker wire or a smaller fuse",
            )

    def _feeds(self) -> None:
        parts = {block.name: feed_part_of(self.layout.electrics, block.name) for block in self.layout.blocks}
        for block in self.layout.blocks:
            part = parts[block.name]
            if part is None:
                continue
            if part.fuse is None:
                self._warn(block.line, f"block {block.name}: its feed has no fuse; each feed has its own")
            elif part.fuse.rating_a < part.current_a:
                self._warn(
                    block.line,
                    f"block {block.name}: a train draws {shown(part.current_a, 'A')}, its fuse carries "
                    f"{shown(part.fuse.rating_a, 'A')}",
                )
            self._fuse_and_wire(block.line, f"block {block.name}", part.fuse, part.cable)
        for first, second in combinations(self.layout.blocks, 2):
            one, other = parts[first.name], parts[second.name]
            if one and other and (second.name in one.meets or first.name in other.meets):
                self._meeting(second.line, (first.name, one), (second.name, other))
        rails = feed_part_of(self.layout.electrics, TRACK_FEED)
        if self.layout.track_feed and rails:
            self._fuse_and_wire(self.layout.track_feed.line, "the track feed", rails.fuse, rails.cable)
        self.warned += fuse_of_all_trains(self.layout)
        if self.layout.track_feed and self.layout.electrics.feed_parts and (rails is None or not rails.fuse):
            self._warn(self.layout.track_feed.line, "the track feed has no fuse; each feed has its own")
        if not self.layout.track_feed and (self.layout.blocks or self.layout.turnouts):
            self._warn(
                1, "no track_feed: rails that no block controls stay live at stop, so stop is not stop"
            )

    def _meeting(self, line: int, first: tuple[str, FeedPart], second: tuple[str, FeedPart]) -> None:
        (name, one), (other_name, other) = first, second
        pair = f"blocks {name} and {other_name} meet"
        if one.reversed != other.reversed or one.alternating != other.alternating:
            self._refuse(
                line,
                f"{pair} and are fed with opposite polarity, opposite phase or AC against DC; "
                "wheels across the gap would short them; make both alike",
            )
        elif one.voltage_v != other.voltage_v:
            self._warn(line, f"{pair} at {one.voltage_v:g} V and {other.voltage_v:g} V: current crosses")
        for rule in self.layout.rules:
            if _hands_over(rule, name, other_name):
                self._warn(
                    rule.line,
                    f"{pair}, and this rule stops one and lets the other go in one instant; "
                    f"a relay may hold on for {relays.break_before_make_ms():.0f} ms; "
                    f"put a timer of {FEEDS_MS_APART} ms or more between",
                )


def _hands_over(rule: Rule, first: str, second: str) -> bool:
    acts = {" ".join(act.text.casefold().split()) for act in rule.acts}
    one, other = first.casefold(), second.casefold()
    return {f"{one} goes", f"{other} stops"} <= acts or {f"{one} stops", f"{other} goes"} <= acts


def cold_current_a(wired: Wired) -> float:
    """Current of a cold coil behind its wires: what drivers, wires and diodes must bear."""
    coil = wired.coil or coils.Coil(wired.part.resistance_20_ohm, 1, 100, 1)
    return coils.current_a(coil, wired.drive, 20)
