"""Layouts for the emulated chip, the files of their board folders, and what lets a test disturb them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from reedway.boardfile.build import board_contents
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.layout.load import load_bytes

LAYOUT = b"""\
reedway: 1
layout: Bench
board: pico
sensors:
  N1: {terminal: sensor 1}
  N2: {terminal: sensor 2}
  N3: {terminal: sensor 3}
  N4: {terminal: sensor 4}
turnouts:
  exit: {positions: [A, B], coils: [coil 1, coil 2], pulse: 80 ms}
blocks:
  Hold: {terminal: feed 1}
  Loop: {terminal: feed 2}
  Yard: {terminal: feed 3}
track_feed: {terminal: track feed}
places:
  H: {block: Hold}
rules:
  - at: N1 hit
    do: [throw exit to B]
  - at: N2 hit
    do: [Hold stops]
  - at: N3 hit
    do: [Loop stops]
  - at: N4 hit
    do: [Yard stops, throw exit to A]
starts:
  one train: {trains: [H], turnouts: [exit to A], go: [Hold, Loop, Yard]}
"""
PAIRS = (Path(__file__).resolve().parents[2] / "config" / "three-trains-pairs.yaml").read_bytes()
MARK_GPIO = 22  # high while a scan runs
# These two have no terminal on the board, so that every layout leaves them free.
BEGIN_GPIO = 23  # high from the instruction before the hang, the exception or the soft reset
SERVE_GPIO = 24  # high while a hit or an opening is served, its outputs not yet put out

# What main.py imports first in a test: more commands.
PATCH = b"""\
import gc
import machine
from machine import Pin, mem32
from reedboard import board, link
from reedlogic.controller import Controller

old = link.Link._carry_out
def carry_out(self, kind, now):
    if kind == 120:  # x: hang with interrupts off
        mem32[0xD0000014] = 1 << 23
        machine.disable_irq()
        while True:
            pass
    if kind == 121:  # y: soft reset
        mem32[0xD0000014] = 1 << 23
        machine.soft_reset()
    if kind == 110:  # n: nobody waits for a pulse's end
        self.port.let_pulse_end = lambda: None
        return 0
    if kind == 102:  # f: a file is written
        with open("written.txt", "w") as file:
            file.write("written in mid-pulse " * 200)
    if (kind == 103 or kind == 117) and self.sender.size:
        return 1  # not now: what is printed would stand within a line
    if kind == 103:  # g: how much of the heap is free
        gc.collect()
        print("heap", gc.mem_free())
        return 0
    if kind == 117:  # u: the same without collecting first
        print("heap", gc.mem_free())
        return 0
    if kind == 101:  # e: an exception that nobody catches
        mem32[0xD0000014] = 1 << 23
        raise RuntimeError("told to fail")
    return old(self, kind, now)
link.Link._carry_out = carry_out
Pin(23, Pin.OUT, value=0)
"""
# Pins that show what goes on; each costs a scan about a tenth of a millisecond.
MARKS = b"""\
Pin(22, Pin.OUT, value=0)
Pin(24, Pin.OUT, value=0)
old_scan = board.Board.scan
def scan(self, now):
    mem32[0xD000001C] = 1 << 22
    on_time = old_scan(self, now)
    mem32[0xD000001C] = 1 << 22
    return on_time
board.Board.scan = scan
old_confirm = Controller.confirm
def confirm(self, now, i, closed):
    mem32[0xD000001C] = 1 << 24
    old_confirm(self, now, i, closed)
    mem32[0xD000001C] = 1 << 24
Controller.confirm = confirm
"""
START = b"    from reedboard.start import run\n"

# Runs the loop as fast as it goes, with a clock that is a millisecond further at each look; then steps of
# the line with nothing to do. Compiled modules keep no names of constants: 17 is PIN_TABLE, 2000 is RECORDS.
SPEED_MAIN = b"""\
import gc, machine, time
from reedboard import chippins, start
from reedboard.board import Board
from reedboard.link import Link
from reedboard.terminals import Terminals

plan, layout = start.read_plan("layout.rwb")
terminals = Terminals(plan[17])
chip = chippins.ChipPins(terminals)
board = Board(plan, chip, terminals, 2000)
link = Link(board, chip, start.texts(layout))
n = 1000
def clock():
    global n
    n += 1
    if n == 1401:
        board.reset_to = 1
        board.is_busy = True
    return n
chip.clock = clock
fed = machine.WDT(timeout=8000).feed
chip.start_dog = lambda: fed
chip.reset = lambda mark: None
t = time.ticks_us()
for _ in range(400):
    clock()
overhead = time.ticks_diff(time.ticks_us(), t)
n = 1000
board.reset_to = 0
free = 0
begin = board.begin
def begun(now):
    global free, t
    begin(now)
    gc.collect()
    free = gc.mem_free()
    t = time.ticks_us()
board.begin = begun
start.loop(board, link, chip)
took = time.ticks_diff(time.ticks_us(), t)
free -= gc.mem_free()
for _ in range(200):
    link.step(n)
t = time.ticks_us()
for _ in range(100):
    board.tally.step()
    link.step(n)
print("speed", (took - overhead) // 400, free, time.ticks_diff(time.ticks_us(), t) // 100)
while True:
    fed()
"""


@cache
def compiled(layout: bytes = LAYOUT) -> Compiled:
    """A layout, compiled."""
    return compile_layout(load_bytes("bench.yaml", layout))


def files(
    with_boot: bool = True, main: bytes | None = None, layout: bytes = LAYOUT, with_marks: bool = True
) -> dict[str, bytes]:
    """The board folder, with a main.py that first imports what lets a test disturb it."""
    contents = board_contents(compiled(layout))
    assert START in contents["main.py"]
    contents["main.py"] = main or contents["main.py"].replace(START, b"    import patch\n" + START)
    contents["patch.py"] = PATCH + MARKS if with_marks else PATCH
    if not with_boot:
        del contents["boot.py"]
    return contents


def gpio(terminal: str, layout: bytes = LAYOUT) -> int:
    """GPIO, or place on its register, of a terminal."""
    return next(row.where for row in compiled(layout).pins if row.terminal == terminal)
