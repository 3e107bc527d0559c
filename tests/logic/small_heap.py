"""For MicroPython: BOARD_FILE RECORDS; a board file runs in the heap that is there.

Prints what takes how much: bytes of this script, of the modules, of the plan, of the controller, bytes free,
and the number of records told. It shares the heap with what it measures, so it is short.
"""

import gc
import sys


def load():
    """One module after the other, so that what loading one leaves over is gone before the next comes."""
    names = "ring tables journal rules state logic keeper orders edges controller"
    for name in names.split():
        __import__("reedlogic." + name)
        gc.collect()


def read():
    """The plan without the pin table at its end, which the board compares and the logic does not use.

    The reader of board files goes again: only loading needs it.
    """
    from reedlogic.boardfile import decode

    with open(sys.argv[1], "rb") as file:
        data = file.read()
    gc.threshold(1024)  # holes that the lists leave are filled at once, or the heap is all holes
    plan = decode(data)[:17]
    gc.threshold(-1)
    del sys.modules["reedlogic.boardfile"], sys.modules["reedlogic"].boardfile
    return plan


def run(c, gpio, panel):
    """Ten minutes: started, every input closes and opens in turn, all together now and then; drained."""
    told = 0
    c.begin(0, 0, 0)
    c.scan(1, 0, 0)
    c.order(1, 0, 63)
    c.settle(1)
    now = 10000
    while now < 600000:
        for i in range(gpio + panel + 1):
            raw = 1 << i if i < gpio else 0
            on_panel = 1 << (i - gpio) if gpio <= i < gpio + panel else 0
            if i == gpio + panel:
                raw, on_panel = (1 << gpio) - 1, (1 << panel) - 1
            c.scan(now, raw, on_panel)
            c.scan(now + 60, raw, on_panel)
            c.scan(now + 120, 0, 0)
            now += 1500
            c.scan(now, 0, 0)
            told += c.journal.held()
            c.journal.clear()
    return told


def taken():
    gc.collect()
    return gc.mem_alloc()


def main():
    script = taken()
    load()
    modules = taken()
    plan = read()
    gpio, panel = len(plan[1]), len(plan[2])
    with_plan = taken()
    c = sys.modules["reedlogic.controller"].Controller(plan, int(sys.argv[2]))
    del plan
    ready = taken()
    told = run(c, gpio, panel)
    gc.collect()
    print(script, modules - script, with_plan - modules, ready - with_plan, gc.mem_free(), told)


main()
