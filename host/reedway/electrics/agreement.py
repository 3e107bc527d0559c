"""Stage 3 for the section `electrics:`: what its keys say must agree with each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from reedway.electrics.model import CoilPart, Electrics, MagnetPart, SensorPart
from reedway.layout.model import Layout
from reedway.problems import Complaint


class _Named(Protocol):
    name: str
    line: int


def check_electrics(layout: Layout) -> list[Complaint]:
    """Every complaint about the section in itself."""
    return _Check(layout).run()


class _Check:
    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.electrics: Electrics = layout.electrics
        self.found: list[Complaint] = []

    def _complain(self, line: int, message: str) -> None:
        self.found.append(Complaint(self.layout.path, line, message))

    def run(self) -> list[Complaint]:
        around, electrics = self.electrics.surroundings, self.electrics
        if around.slowest_m_s > around.fastest_m_s:
            self._complain(
                around.line, "surroundings: the slowest train is faster than the fastest; change one"
            )
        if around.coldest_c > around.warmest_c:
            self._complain(around.line, "surroundings: coldest is warmer than warmest; change one")
        for one, parts, attribute in (
            ("source", electrics.sources, "feeds"),
            ("coil part", electrics.coil_parts, "turnouts"),
            ("sensor part", electrics.sensor_parts, "sensors"),
            ("feed part", electrics.feed_parts, "blocks"),
        ):
            self._once(one, parts, attribute)
        for coil in electrics.coil_parts:
            self._coil(coil)
        for magnet in electrics.magnets:
            self._magnet(magnet)
        for sensor in electrics.sensor_parts:
            self._sensor(sensor)
        return self.found

    def _once(self, one: str, parts: Sequence[_Named], attribute: str) -> None:
        """Each thing has one part; one part at most is for all others."""
        taken: dict[str | None, str] = {}
        for part in parts:
            names = getattr(part, attribute)
            for name in [None] if names is None else names:
                first = taken.setdefault(name, part.name)
                if first == part.name:
                    continue
                what = f"'{name}' has" if name else "all that no other names have"
                self._complain(
                    part.line,
                    f"{one} {part.name}: {what} {one} {first} already; one each is allowed; take one out",
                )

    def _coil(self, part: CoilPart) -> None:
        if part.ac_current_a is None:
            return
        most = part.ac_voltage_v / part.resistance_20_ohm
        if part.ac_current_a >= most:
            self._complain(
                part.line,
                f"coil part {part.name}: ac_current {part.ac_current_a:g} A is not below {most:.3g} A, what "
                f"{part.ac_voltage_v:g} V drives through its resistance alone; measure both again",
            )

    def _magnet(self, part: MagnetPart) -> None:
        wanted = {"cylinder": 2, "block": 3}[part.shape]
        if len(part.size_mm) != wanted:
            form = "6 x 20 mm" if wanted == 2 else "20 x 10 x 5 mm"
            self._complain(
                part.line,
                f"magnet {part.name}: a {part.shape} has {wanted} sizes, {len(part.size_mm)} are written; "
                f"write for example {form}",
            )

    def _sensor(self, part: SensorPart) -> None:
        pair = (part.operates_mt, part.releases_mt)
        if (pair[0] is None) != (pair[1] is None):
            self._complain(
                part.line, f"sensor part {part.name}: operates and releases come together; write both or none"
            )
        if part.operates_mt and part.releases_mt:
            for operates, releases in zip(part.operates_mt, part.releases_mt, strict=True):
                if releases > operates:
                    self._complain(
                        part.line,
                        f"sensor part {part.name}: it releases at {releases:g} mT and operates at "
                        f"{operates:g} mT; a sensor releases at less; change them round",
                    )
                    break
        measured = [part.measured_with, part.closes_at_mm, part.opens_at_mm]
        if any(value is not None for value in measured) and None in measured:
            self._complain(
                part.line,
                f"sensor part {part.name}: measured_with, closes_at and opens_at come together; "
                "add what is missing",
            )
