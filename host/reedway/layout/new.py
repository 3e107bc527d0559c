"""Writes a commented layout file to start from; never over a file that is there."""

from __future__ import annotations

from pathlib import Path

from reedway.problems import ReedwayError
from reedway.shipped import shipped

KINDS = {
    "coil-protector": "coil-protector.yaml",
    "sensor-logger": "sensor-logger.yaml",
    "two-trains": "two-trains.yaml",
    "three-trains": "three-trains-go-sensor.yaml",
}


def write_new(kind: str, path: str) -> Path:
    """The example of that kind, as it is shipped, at `path`."""
    source = shipped("config") / KINDS[kind]
    target = Path(path)
    try:
        text = source.read_bytes()
        with target.open("xb") as file:
            file.write(text)
    except FileExistsError:
        raise ReedwayError(
            f"{path}: is there already and is never overwritten; choose another name"
        ) from None
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else str(error)
        raise ReedwayError(f"{path}: cannot be written ({why}); choose another place") from None
    return target
