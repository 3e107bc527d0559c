"""For MicroPython: whole scans with the heap locked; dies of MemoryError where one allocates.

With a file: each line is a literal (plan, session), all of it played locked. Without: one layout of twelve
sensors, idle and with one, three and twelve hits confirmed in one scan; prints the heap bytes of each.
"""

import gc
import sys

import micropython

from reedlogic.controller import Controller
from reedlogic.ring import MASK

SENSORS = 12
CONFIRM = 5


def play_locked(path):
    scans = 0
    with open(path) as lines:
        for line in lines:
            plan, session = eval(line)
            base, raw, panel, steps = session
            c = Controller(plan, 1000)
            c.begin(base & MASK, raw, panel)
            gc.collect()
            scans += run_locked(c, base, steps)
    print("scans", scans)


def run_locked(c, base, steps):
    scans = 0
    micropython.heap_lock()
    for step in steps:
        t, raw, panel, gap, orders = step
        now = (base + t) & MASK
        if gap:
            c.late(now, gap)
        while c.advance(now, raw, panel):
            scans += 1
        for order in orders:
            c.order(now, order[0], order[1])
        c.settle(now)
        c.journal.clear()
        scans += 1
    micropython.heap_unlock()
    return scans


def twelve_sensors():
    """Every sensor throws, feeds, starts a timer and lights a lamp; three standing rules and a follower."""
    inputs = tuple([(0, CONFIRM, 5, 20, 100) for _ in range(SENSORS)])
    turnouts = tuple([(2 * i, 2 * i + 1, 10, 0, 0, 50, 9, 500, 63, 63, 10) for i in range(4)])
    at = []
    for i in range(SENSORS):
        acts = (
            3 if i & 1 else 2,
            0,
            1 << i % 4,
            0,
            0,
            1 << i,
            0,
            9,
            1 << i % 3,
            4,
            0,
            1 << i % 4,
            0,
            13,
            1 << i % 4,
        )
        at.append((i, ((4, 1 << i, 1 << i), acts), ((0, 1 << i, 1 << i), (1, 0, 1 << i, 5, 0, 1 << i % 4))))
    standing = (((0, 1, 1), (7, 0, 1 << 20)), ((9, 1, 1, 10, 1, 1), (0, 13, 8)), ((10, 2, 2), (1, 13, 8)))
    start = ((), (0, 0, 0, 0), 0, 7, 0)
    plan = ((20, 30, 2000, 0), inputs, (), (), (21, 0, 0, 0, 0), (3, 1), (1, 2, 4), turnouts, ((0, 0, 0, 0),))
    return plan + ((40, 50, 60, 70), (1,), (1, 1), ((0, 0),) * 4, 63, tuple(at), standing, (start,))


def scan_bytes(c, now, raw):
    """Heap bytes of one whole scan, which must not ask for any."""
    gc.collect()
    before = gc.mem_alloc()
    micropython.heap_lock()
    c.scan(now, raw, 0)
    micropython.heap_unlock()
    return gc.mem_alloc() - before


def by_hits():
    c = Controller(twelve_sensors(), 1000)
    c.begin(0, 0, 0)
    c.scan(1, 0, 0)
    c.order(1, 0, 63)
    c.settle(1)
    now = 1000
    for hits in (0, 1, 3, 12):
        raw = (1 << hits) - 1
        edges = scan_bytes(c, now, raw)
        c.journal.clear()
        confirmed = scan_bytes(c, now + CONFIRM, raw)
        told = sum([1 for i in range(c.journal.held()) if c.journal.kind(i) == 4])
        c.journal.clear()
        opened = scan_bytes(c, now + 100, 0)
        later = scan_bytes(c, now + 5000, 0)
        c.journal.clear()
        print(hits, told, edges, confirmed, opened, later)
        now += 10000


if len(sys.argv) > 1:
    play_locked(sys.argv[1])
else:
    by_hits()
