"""Bad situations at the port: one clear line each, with what to do."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from board.bench import compiled
from reedway.board import ports, virtual
from reedway.board.client import Client
from reedway.board.protocol import PROTOCOL, check
from reedway.board.virtual import VirtualBoard
from reedway.problems import ReedwayError
from reedway.replay.machines import find_micropython


def refused_by(monkeypatch: pytest.MonkeyPatch, platform: str, group: str | None = None) -> str:
    """The one line when the system denies the port."""

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    def group_of(_: Path) -> str:
        if group is None:
            raise KeyError("no such group")
        return group

    monkeypatch.setattr(ports.serial, "serial_for_url", refuse)
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr(ports.Path, "group", group_of)
    with pytest.raises(ReedwayError) as raised:
        ports.open_port("/dev/ttyACM0")
    assert "\n" not in str(raised.value)
    return str(raised.value)


@pytest.mark.parametrize(
    ("platform", "group", "says"),
    [
        ("linux", "uucp", "`sudo usermod -aG uucp $USER`, then log out and in again"),
        ("linux", None, "`sudo usermod -aG dialout $USER`"),
        ("darwin", "wheel", "close the program that holds it"),
        ("win32", None, "close the program that holds it"),
    ],
)
def test_no_right_to_the_port_gives_the_command_of_this_system(
    monkeypatch: pytest.MonkeyPatch, platform: str, group: str | None, says: str
) -> None:
    line = refused_by(monkeypatch, platform, group)
    assert line.startswith("/dev/ttyACM0: rights to the port are missing: ") and says in line


def test_no_board_at_all_names_the_cable_and_the_drive(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ports.list_ports, "comports", list)
    monkeypatch.setattr(ports, "find_drive", lambda: None)
    with pytest.raises(
        ReedwayError, match="no board found; .* drive .* charging only: try another; .*--port"
    ):
        ports.find_port()


class OtherBoard:
    """A board that answers the hello in another version of the protocol, perhaps with other fields."""

    def __init__(self, fields: tuple[Any, ...]) -> None:
        self.fields = fields
        self.out = bytearray()

    def write(self, data: bytes, /) -> int:
        sequence = int(data.split()[1].split(b"*")[0], 16)
        for kind, fields in (("h", self.fields), ("a", (sequence, 0))):
            body = f"@{kind} 00" + "".join(f" {field}" for field in fields)
            self.out += f"{body}*{check(body.encode())}\n".encode()
        return len(data)

    def read(self, size: int = 1) -> bytes:
        found, self.out = bytes(self.out[:size]), self.out[size:]
        return found

    def close(self) -> None:
        pass


THIS = f"this Reedway {PROTOCOL}"
HELLO_REST = ("0.1.0", 2040, "ab" * 32, 0, 0, 0, 0)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ((PROTOCOL - 1, *HELLO_REST), f"protocol {PROTOCOL - 1}, {THIS}; load the firmware again"),
        ((PROTOCOL + 1, *HELLO_REST), f"protocol {PROTOCOL + 1}, {THIS}; update Reedway on this computer"),
    ],
)
def test_a_board_of_another_protocol_is_named(fields: tuple[Any, ...], says: str) -> None:
    with pytest.raises(ReedwayError, match=says) as raised:
        Client(OtherBoard(fields)).hello()
    assert "\n" not in str(raised.value)


class Silent(OtherBoard):
    """Another program's board, or one without Reedway: it says something, but not this."""

    def write(self, data: bytes, /) -> int:
        self.out += b">>> " + data
        return len(data)


def test_a_board_without_reedway_is_told_so() -> None:
    times = iter(range(10_000))
    with pytest.raises(ReedwayError, match="does not answer; does Reedway's firmware run on it"):
        Client(Silent(()), clock=lambda: float(next(times))).hello()


@pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
def test_virtual_where_there_is_no_pty(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(virtual.sys, "platform", "win32")
    monkeypatch.setitem(sys.modules, "pty", None)
    with pytest.raises(
        ReedwayError, match="no virtual serial port on this system, so `virtual` does not"
    ) as e:
        VirtualBoard(compiled())
    assert "\n" not in str(e.value)


@pytest.mark.parametrize(
    ("why", "says"),
    [
        ("Input/output error", "the port has vanished (Input/output error)"),
        ("", "the port has vanished"),
        (
            "device reports readiness to read but returned no data (device disconnected?)",
            "the port has vanished",
        ),
    ],
)
def test_a_vanished_port_is_told_without_the_guesses_of_a_library(why: str, says: str) -> None:
    class Gone:
        def read(self, size: int = 1) -> bytes:
            raise ports.serial.SerialException(why)

    with pytest.raises(ports.PortGone) as raised:
        ports.read_some(Gone())  # type: ignore[arg-type]
    assert str(raised.value) == says
