"""Do the sensors of a track lie where they can, and is every section freed by one, or by a detector?"""

from __future__ import annotations

from reedway.layout.model import Layout, Text
from reedway.problems import Complaint
from reedway.track.model import GO_SENSOR
from reedway.track.railway import Track


def check_sensors(layout: Layout) -> list[Complaint]:
    """Every complaint of the first stage that has any; the sections must join without complaints."""
    return _Check(layout).run()


class _Check:
    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.track = Track(layout)
        self.found: list[Complaint] = []

    def complain(self, line: int, message: str) -> None:
        self.found.append(Complaint(self.layout.path, line, message))

    def run(self) -> list[Complaint]:
        """Sensors lie once; what they say to have left lies behind them; everything is freed by something."""
        track = self.track
        where: dict[str, int] = {}
        for i, section in enumerate(self.layout.track):
            for text in ([section.entrance] if section.entrance else []) + section.sensors:
                if text.text in where:
                    other = track.name(where[text.text])
                    self.complain(text.line, f"sensor {text} lies in {other} already; a sensor lies once")
                where[text.text] = i
            if section.leaves == GO_SENSOR and section.go_sensor is None:
                self.complain(
                    section.line,
                    f"section {section.name} leaves at the go sensor: which? add go_sensor: SENSOR",
                )
        if self.found:
            return self.found
        self._clear_and_pairs(track, where)
        if not self.found:
            for i in range(len(track.sections)):
                self._freed(track, i)
        return self.found

    def _clear_and_pairs(self, track: Track, where: dict[str, int]) -> None:
        for sensor in self.layout.sensors:
            if sensor.tail_clear_of and sensor.name not in where:
                self.complain(
                    sensor.line,
                    f"sensor {sensor.name} says what the train has left, and lies in no section; "
                    "name it in sensors: of the section it lies in",
                )
            elif sensor.name in where:
                for text in sensor.tail_clear_of:
                    if track.number[text.text] == where[sensor.name]:
                        self.complain(
                            text.line,
                            f"sensor {sensor.name} lies in {text}, so the train has not left it; "
                            "name sections behind it",
                        )
            if sensor.pair_with is not None:
                self._pair(track, sensor.name, sensor.pair_with)

    def _pair(self, track: Track, second: str, first: Text) -> None:
        for i in range(len(track.sections)):
            lying = track.sensors(i)
            if second in lying:
                at = lying.index(second)
                if at == 0 or lying[at - 1] != first.text:
                    self.complain(
                        first.line,
                        f"sensor {second} makes a pair with {first}; the first of a pair lies just before it "
                        f"in the same section; write {first}, {second} there",
                    )
                elif track.clear_of(second) != track.clear_of(first.text):
                    self.complain(
                        first.line,
                        f"sensors {first} and {second} are a pair and must say the same in tail_clear_of: "
                        "a phantom hit of one must find the train as far on as the other says",
                    )
                return
        self.complain(first.line, f"sensor {second} makes a pair and lies in no section; name it in sensors:")

    def _freed(self, track: Track, start: int) -> None:
        """Every way on from a section comes to something that shows the train has left it."""
        if track.sections[start].detector is not None:
            return
        todo: list[tuple[int, ...]] = [(start, target) for target in track.to[start]]
        while todo:
            path = todo.pop()
            if any(track.cleared(path, sensor) for sensor in track.sensors(path[-1])):
                continue
            if path[-1] in path[:-1] or len(path) > len(track.sections):
                names = " - ".join(track.name(i) for i in path[:4])
                self.complain(
                    track.sections[start].line,
                    f"nothing frees section {track.name(start)} on the way {names} ...; needed is a sensor "
                    "farther on with tail_clear_of, or a detector in it",
                )
                return
            todo += [(*path, target) for target in track.to[path[-1]]]
