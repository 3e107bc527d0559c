"""The tracks of the example layouts, as their comments describe them, and the trains of the valley."""

from __future__ import annotations

from examples.rails import MM, Stretch, Train


def railcar(path: list[str], head_mm: int) -> Train:
    return Train("railcar", 300, 360, 60, path, head_mm * MM)


def milk_train(path: list[str], head_mm: int) -> Train:
    return Train("milk train", 650, 300, 40, path, head_mm * MM)


def goods_train(path: list[str], head_mm: int) -> Train:
    return Train("goods train", 900, 240, 25, path, head_mm * MM)


def siding(sensors: tuple[str, str], sensor_mm: int, way_out: str, after_exit: str) -> dict[str, Stretch]:
    """Entry, two tracks with a gap 55 cm before the exit, exit. `sensor_mm` counts from the gap.

    With a block for the way out the tracks are live up to the gap; without, the entry points feed them.
    """
    found = {
        "entry": Stretch(250, [("entry A", "A before"), ("entry B", "B before")], turnout="entry"),
        "exit": Stretch(250, [("", after_exit)], turnout="exit"),
    }
    for track, sensor in zip("AB", sensors, strict=True):
        before, behind = Stretch(1650, [("", f"{track} end")]), Stretch(550, [])
        before.feed = () if way_out else (f"entry {track}",)
        behind.feed = (f"exit {track}", way_out) if way_out else (f"exit {track}",)
        behind.then = [(f"exit {track}", "exit")]
        if sensor_mm < 0:
            before.sensors[sensor] = 1650 + sensor_mm
        else:
            behind.sensors[sensor] = sensor_mm
        found[f"{track} before"], found[f"{track} end"] = before, behind
    return found


def two_trains() -> dict[str, Stretch]:
    return {**siding(("N1", "N2"), 50, "", "line"), "line": Stretch(8000, [("", "entry")])}


def go_sensor() -> dict[str, Stretch]:
    return {
        **siding(("N3", "N4"), 50, "", "line"),
        "line": Stretch(5500, [("", "mill")], sensors={"N1": 1000}),
        "mill": Stretch(1000, [("", "mill end")]),
        "mill end": Stretch(500, [("", "way home")], ("Mill",)),
        "way home": Stretch(3500, [("", "entry")], sensors={"N2": 1000}),
    }


def interlocked() -> dict[str, Stretch]:
    return {
        **siding(("N5", "N6"), -50, "Lindholt", "M1"),
        "M1": Stretch(4000, [("", "mill")], sensors={"N1": 1000}),
        "mill": Stretch(1100, [("", "mill end")], sensors={"N2": 20}),
        "mill end": Stretch(500, [("", "bridge")], ("Mill",)),
        "bridge": Stretch(1100, [("", "bridge end")], sensors={"N3": 1000}),
        "bridge end": Stretch(500, [("", "M2")], ("Bridge",)),
        "M2": Stretch(3000, [("", "entry")], sensors={"N4": 1000}),
    }


def pairs() -> dict[str, Stretch]:
    """As interlocked, with two sensors at each spot; nothing shows that a train has come to Mill Halt."""
    found = {
        **siding(("N5b", "N6b"), -50, "Lindholt", "M1"),
        "M1": Stretch(4000, [("", "mill")], sensors={"N1a": 1000, "N1b": 1300}),
        "mill": Stretch(1100, [("", "mill end")]),
        "mill end": Stretch(500, [("", "bridge")], ("Mill",)),
        "bridge": Stretch(1100, [("", "bridge end")], sensors={"N3a": 900, "N3b": 1050}),
        "bridge end": Stretch(500, [("", "M2")], ("Bridge",)),
        "M2": Stretch(3000, [("", "entry")], sensors={"N4a": 1000, "N4b": 1300}),
    }
    found["A before"].sensors["N5a"] = found["B before"].sensors["N6a"] = 1350
    return found


def running_times() -> dict[str, Stretch]:
    """As pairs, with the second sensor of each pair only."""
    return {
        **siding(("N5", "N6"), -50, "Lindholt", "M1"),
        "M1": Stretch(4000, [("", "mill")], sensors={"N1": 1300}),
        "mill": Stretch(1100, [("", "mill end")]),
        "mill end": Stretch(500, [("", "bridge")], ("Mill",)),
        "bridge": Stretch(1100, [("", "bridge end")], sensors={"N3": 1050}),
        "bridge end": Stretch(500, [("", "M2")], ("Bridge",)),
        "M2": Stretch(3000, [("", "entry")], sensors={"N4": 1300}),
    }


def coil_protector() -> dict[str, Stretch]:
    """The works branch as a loop: junction, main line, round behind the hill and back."""
    return {
        "branch": Stretch(2600, [("Junction branch", "junction")], sensors={"N1": 2000}),
        "junction": Stretch(250, [("", "main")], turnout="Junction"),
        "main": Stretch(2500, [("", "yard")], sensors={"N2": 1100}),
        "yard": Stretch(250, [("", "behind the hill")], turnout="Yard"),
        "behind the hill": Stretch(4000, [("", "branch")]),
    }


def logger() -> dict[str, Stretch]:
    """A loop of 12 m; the tunnel's light beam sees what is on the stretch "tunnel"."""
    return {
        "west": Stretch(3000, [("", "tunnel")], sensors={"N6": 300, "N1": 1200, "N2": 2700}),
        "tunnel": Stretch(1800, [("", "east")]),
        "east": Stretch(4200, [("", "station")], sensors={"N3": 200, "N4": 1800, "N5": 3900}),
        "station": Stretch(3000, [("", "west")]),
    }
