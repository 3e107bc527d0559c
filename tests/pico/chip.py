"""An emulated RP2040 that runs a real MicroPython image with the board folder in its flash.

The emulator is rp2040py from PyPI, the flash file system is made with littlefs-python; both are wanted only
here. It does not model flash cache misses, brown-out, pad voltages, the second core, or analog effects of
any kind; time is that of 125 MHz with the instruction timings of the core.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import littlefs
from rp2040py.boards import BoardSpec, FlashLayout
from rp2040py.device import MicroPythonDevice
from rp2040py.external.led_mock import LEDMock
from rp2040py.memory_map import FLASH_START_ADDRESS

from reedway.board.protocol import Line, Splitter, encode

BLOCK_BYTES, BLOCKS, FLASH_BYTES = 4096, 352, 2 << 20
MS = 1_000_000  # nanoseconds
PINS = [*range(25), 26, 27, 28]  # 23 and 24 have no terminal; 25 is the lamp


@dataclass(frozen=True)
class Edge:
    """One pin went high or low, or was let go (counted as low: gates have pull-downs)."""

    at_ms: float
    gpio: int
    high: bool


@dataclass
class Chip:
    """Pins in, pins out with their times, and the USB line."""

    uf2: Path
    files: dict[str, bytes]
    edges: list[Edge] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    sequence: int = 0

    def __post_init__(self) -> None:
        layout = FlashLayout(FLASH_BYTES - BLOCKS * BLOCK_BYTES, BLOCKS, BLOCK_BYTES)
        spec = BoardSpec(extras=(lambda: LEDMock(gpio=25),), layout=layout, image=self.uf2)
        with tempfile.NamedTemporaryFile(suffix=".img") as image:
            Path(image.name).write_bytes(file_system(self.files))
            self.device = MicroPythonDevice(board=spec, filesystem=Path(image.name))
        self.mcu = self.device.mcu
        self.clock = self.device.simulator.clock
        self.splitter = Splitter()
        self.is_connected = False
        self.reading = Reading(self.mcu.usb_ctrl)
        self.device.cdc.on_serial_data = self._hear
        self.device.cdc.on_device_connected = self._connected
        for gpio in PINS:
            self.mcu.gpio[gpio].add_listener(self._listener(gpio))
            self.mcu.gpio[gpio].set_input_value(True)  # open contacts, pulled up
        self.mcu.core.pc = FLASH_START_ADDRESS

    def _connected(self) -> None:
        self.is_connected = True

    def _listener(self, gpio: int) -> Callable[[Any, Any], None]:
        def changed(new: Any, old: Any) -> None:
            if (int(new) == 1) != (int(old) == 1):
                self.edges.append(Edge(self.clock.nanos / MS, gpio, int(new) == 1))

        return changed

    def _hear(self, data: Any) -> None:
        for item in self.splitter.feed(bytes(data)):
            if isinstance(item, Line):
                self.lines.append(item)
            else:
                self.texts.append(item)

    # -- time -------------------------------------------------------------------------------------------

    @property
    def now_ms(self) -> float:
        return float(self.clock.nanos) / MS

    def run(self, ms: float) -> None:
        """Let the chip work for so long."""
        simulator = self.device.simulator
        alarm = self.clock.create_alarm(simulator.stop)
        alarm.schedule(ms * MS)
        simulator.stopped = False
        while not simulator.stopped:
            simulator._execute_batch()

    def until(self, done: Callable[[], bool], ms: float, step_ms: float = 5) -> bool:
        """Run until something has happened, for at most so long."""
        end = self.now_ms + ms
        while not done():
            if self.now_ms >= end:
                return False
            self.run(step_ms)
        return True

    # -- pins and line ----------------------------------------------------------------------------------

    def close(self, gpio: int) -> None:
        self.mcu.gpio[gpio].set_input_value(False)

    def open(self, gpio: int) -> None:
        self.mcu.gpio[gpio].set_input_value(True)

    def is_high(self, gpio: int) -> bool:
        return int(self.mcu.gpio[gpio].value) == 1

    def send(self, data: bytes) -> None:
        for byte in data:
            self.device.cdc.send_serial_byte(byte)

    def say(self, kind: str, *numbers: int) -> None:
        """One command, counted as the protocol wants."""
        self.sequence = self.sequence + 1 & 255
        self.send(encode(kind, self.sequence, *numbers))

    def pulses(self, gpio: int) -> list[tuple[float, float]]:
        """(begin, end) in ms of each time the pin was high; a pin still high ends never."""
        found: list[tuple[float, float]] = []
        begin = None
        for edge in self.edges:
            if edge.gpio == gpio and edge.high:
                begin = edge.at_ms
            elif edge.gpio == gpio and begin is not None:
                found.append((begin, edge.at_ms))
                begin = None
        if begin is not None:
            found.append((begin, float("inf")))
        return found


class Reading:
    """Whether the host takes what the chip sends; while it does not, the buffers stay full."""

    def __init__(self, usb: Any) -> None:
        self.usb = usb
        self.is_stalled = False
        for endpoint in (1, 2, 3):  # 0 is the control line
            usb.endpoint_write_alarms[endpoint] = _Alarm(usb.endpoint_write_alarms[endpoint], self)

    def stall(self) -> None:
        self.is_stalled = True

    def go_on(self) -> None:
        self.is_stalled = False
        for alarm in self.usb.endpoint_write_alarms[1:4]:
            alarm.release()


class _Alarm:
    """In the place of an alarm of the emulator that says "the host has taken this buffer"."""

    def __init__(self, inner: Any, reading: Reading) -> None:
        self.inner, self.reading = inner, reading
        self.held: list[tuple[Any, int]] = []

    @property
    def alarm(self) -> Any:
        return self.inner.alarm

    @property
    def buffers(self) -> Any:
        return self.inner.buffers

    @buffers.setter
    def buffers(self, buffers: Any) -> None:
        self.inner.buffers = buffers
        if not self.reading.is_stalled:
            self.held.clear()

    def schedule(self, buffer: Any, delay_nanos: int) -> None:
        if self.reading.is_stalled:
            self.held.append((buffer, delay_nanos))
        else:
            self.inner.schedule(buffer, delay_nanos)

    def release(self) -> None:
        for buffer, delay_nanos in self.held:
            self.inner.schedule(buffer, delay_nanos)
        self.held.clear()


def file_system(files: dict[str, bytes]) -> bytes:
    """A flash file system with these files."""
    fs = littlefs.LittleFS(
        block_size=BLOCK_BYTES, block_count=BLOCKS, prog_size=256, read_size=256, lookahead_size=128
    )
    for path, data in files.items():
        folder = Path(path).parent.as_posix()
        if folder != ".":
            fs.makedirs(folder, exist_ok=True)
        with fs.open(path, "wb") as file:
            file.write(data)
    return bytes(fs.context.buffer)
