"""For MicroPython: a board file runs in the heap that is there. Prints what takes how much, key value."""

import gc
import sys

# One after the other, so that what loading one leaves over is gone before the next comes.
MODULES = ("ring", "journal", "words", "rules", "state", "logic", "keeper", "orders", "edges", "controller")


def forget(name):
    """What only loading needs goes: the reader of board files, and the constants that others copied."""
    del sys.modules["reedlogic." + name]
    delattr(sys.modules["reedlogic"], name)
    gc.collect()


def load():
    for name in MODULES:
        __import__("reedlogic." + name)
        gc.collect()
    forget("words")


def read(path):
    """The plan without the pin table at its end, which the board compares and the logic does not use."""
    from reedlogic.boardfile import PIN_TABLE, decode

    with open(path, "rb") as file:
        data = file.read()
    gc.threshold(1024)  # holes that the lists leave are filled at once, or the heap is all holes
    plan = decode(data)[:PIN_TABLE]
    gc.threshold(-1)
    return plan


def main(path, records):
    gc.collect()
    before = gc.mem_alloc()
    load()
    with_modules = gc.mem_alloc()
    plan = read(path)
    forget("boardfile")
    with_plan = gc.mem_alloc()
    c = sys.modules["reedlogic.controller"].Controller(plan, records)
    gc.collect()
    ready = gc.mem_alloc()
    told = run(c, len(plan[1]), len(plan[2]))
    gc.collect()
    print("script_bytes", before)
    print("plan_bytes", with_plan - with_modules)
    print("modules_bytes", with_modules - before)
    print("controller_bytes", ready - with_plan)
    print("free_bytes", gc.mem_free())
    print("records_max", records)
    print("told", told)


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
            told += c.journal.count
            c.journal.clear()
    return told


main(sys.argv[1], int(sys.argv[2]))
