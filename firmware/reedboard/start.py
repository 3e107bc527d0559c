"""From the board file to the scan loop."""

import gc
import sys

from reedlogic.boardfile import PIN_TABLE, decode, layout_hash
from reedlogic.ring import HALF, MASK

from .board import Board
from .link import Link
from .version import VERSION

BOARD_FILE = "layout.rwb"
RECORDS = 2000
LINE_SCANS = 7  # now & this is 0 in every eighth scan, after which a line that was quiet is looked at
WAIT_MS_MAX = 16  # other work is put off no longer, though each scan finds something due or fills the time
LAMP_SCANS = 63  # now & this is 0 for a whole scan, which looks after the board's lamp


def bind(thing: object) -> None:
    """Put its own methods into a thing: MicroPython looks there first, then through class after class.

    A look that finds nothing takes the longest, and one hit makes about fifty of them.
    """
    for name in dir(thing):
        if not name.startswith("__"):
            value = getattr(thing, name)
            if callable(value):
                setattr(thing, name, value)


def quicken(board: Board) -> None:
    """What every event goes through gets its methods at hand."""
    for thing in (board.controller, board.logic, board.keeper, board.controller.journal):
        bind(thing)


def read_plan(path: str) -> tuple:
    """(plan, layout hash in hex); ValueError or OSError when there is no good board file."""
    with open(path, "rb") as file:
        data = file.read()
    return decode(data), b"".join([b"%02x" % byte for byte in layout_hash(data)])


def texts(layout: bytes) -> tuple:
    """The words of the hello: firmware version, chip, hash of the layout file."""
    chip = b"2350" if "RP2350" in getattr(sys.implementation, "_machine", "") else b"2040"
    return (VERSION, chip, layout)


def loop(board: Board, link: Link, pins) -> None:  # type: ignore[no-untyped-def]
    """Scan every millisecond; between scans one small piece of other work at a time. Allocates nothing.

    Most scans see no change with nothing due: these are short. Some are whole ones all the same and look
    after the board's lamp.
    """
    clock, quiet = pins.clock, pins.quiet
    controller = board.controller
    tally = board.tally
    last = clock() & MASK
    board.begin(last)
    feed = pins.start_dog()
    is_working = True  # once nothing is left to do, the line is looked at every now and then
    is_count_first = True  # in turn: records that come faster than they are counted do not stop the line
    calm = last  # when a scan was short or nothing was due at the next
    while True:
        now = clock() & MASK
        if now == last:
            if not is_working:
                continue
            # with something due at the next scan that is waited for: no step of other work puts it off
            if (last + 1 - controller.due) & MASK >= HALF:
                calm = now
            elif (now - calm) & MASK <= WAIT_MS_MAX:
                continue
        else:
            if not now & LINE_SCANS:
                is_working = True
            if (
                now == last + 1
                and now & LAMP_SCANS
                and (now - controller.due) & MASK >= HALF
                and not board.is_busy
                and quiet(now)
            ):
                last = calm = now
                feed()
                continue
            if board.reset_to:
                break
            is_working = True
            board.last = last
            last = now
            if board.scan(now):
                pins.stamp(now)
                feed()
            if (now - calm) & MASK <= WAIT_MS_MAX:
                continue
        board.last = last
        is_count_first = not is_count_first
        if is_count_first:
            is_working = tally.step() or link.step(now)
        else:
            is_working = link.step(now) or tally.step()
    pins.reset(board.reset_to)


def run(reset_cause: int, kept_fault: int) -> None:
    """On the chip: returns only for a board file that cannot be used; then no output was touched."""
    import micropython
    import pins as owner_pins

    from .chippins import ChipPins
    from .terminals import Terminals

    try:
        plan, layout = read_plan(BOARD_FILE)
        table = plan[PIN_TABLE]
        if table != owner_pins.TABLE:
            raise ValueError("pins.py and the board file are not of one build")
        terminals = Terminals(table)
    except (OSError, ValueError) as error:
        print("Reedway: the board file cannot be used:", error)
        micropython.kbd_intr(3)
        return
    chip = ChipPins(terminals)
    board = Board(plan, chip, terminals, RECORDS)
    quicken(board)
    board.reset_cause = reset_cause
    board.kept_fault = kept_fault
    link = Link(board, chip, texts(layout))
    gc.threshold(-1)
    gc.collect()
    board.tally.heap_free = gc.mem_free()
    try:
        loop(board, link, chip)
    finally:  # an exception, or a soft reset, which is one: a pin that is high would stay so until boot.py
        chip.let_pulse_end()
