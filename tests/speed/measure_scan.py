"""Times an idle scan and a hit of the logic beside a plain scan of one object per input.

Runs on CPython and MicroPython and prints one line of JSON, for a board with all its 26 GPIO as sensors and
for the same with 24 panel inputs more. The rules are those of busy_layout.
"""

import gc
import json
import time

import busy_layout

from reedlogic.controller import Controller

SENSORS = 26
PANELS = (0, 24)
IDLE_SCANS = 200  # a turn of each kind lasts a few milliseconds at most
HITS = 24
REPEATS = 100  # the best of these counts: others use the machine too

if hasattr(time, "ticks_us"):
    microseconds = time.ticks_us
else:

    def microseconds():
        return time.perf_counter_ns() // 1000


def heap_bytes():
    """Bytes of heap in use: gc.mem_alloc on MicroPython; CPython has no such figure."""
    return gc.mem_alloc() if hasattr(gc, "mem_alloc") else 0


class PlainPin:
    """What a pin object is to the plain scan."""

    def __init__(self):
        self.level = 0

    def value(self):
        return self.level


class PlainSensor:
    """One sensor as one object: confirm, opening and rearm by remembered times, a call for its hit."""

    def __init__(self, pin, on_hit):
        self.pin = pin
        self.on_hit = on_hit
        self.raw = 0
        self.level = 0
        self.since = 0
        self.armed = True

    def scan(self, now):
        raw = self.pin.value()
        if raw != self.raw:
            self.raw = raw
            self.since = now
        elif raw != self.level:
            if now - self.since >= (busy_layout.CONFIRM_MS if raw else busy_layout.OPENING_MS):
                self.level = raw
                if raw and self.armed:
                    self.armed = False
                    self.on_hit(now)
        elif not self.armed and not raw and now - self.since >= busy_layout.REARM_MS:
            self.armed = True


def best(measures, count):
    """(µs, heap bytes) per call for each measure: the best of many short turns, one after the other."""
    times = [[] for _ in measures]
    used = [0 for _ in measures]
    for _ in range(REPEATS):
        for i in range(len(measures)):
            gc.collect()
            gc.disable()
            used[i], spent = measures[i](count)
            gc.enable()
            times[i].append(spent)
    return [(min(times[i]) / count, used[i] // count) for i in range(len(measures))]


def measured_loop(body, count):
    before = heap_bytes()
    begun = microseconds()
    body(count)
    spent = microseconds() - begun
    return heap_bytes() - before, spent


class Ours:
    def __init__(self, panel):
        plan = busy_layout.plan()
        sensors = tuple([plan[1][0] for _ in range(SENSORS)])
        switches = tuple([(1, busy_layout.CONFIRM_MS, busy_layout.OPENING_MS, 0, 0) for _ in range(panel)])
        self.c = Controller(plan[:1] + (sensors, switches) + plan[3:], 2000)
        self.c.begin(0, 0, 0)
        self.c.scan(1, 0, 0)
        self.c.order(1, 0, 63)
        self.c.settle(1)
        self.now = 100000  # long after the pulses of the start: no coil is warm, nothing falls due
        self.c.scan(self.now, 0, 0)

    def idle(self, count):
        return measured_loop(self.idle_body, count)

    def idle_body(self, count):
        advance = self.c.advance
        now = self.now + 1
        for _ in range(count):
            advance(now, 0, 0)

    def hits(self, count):
        """The scans in which hits are confirmed, by themselves; sensors in turn, rules included."""
        c = self.c
        spent = used = 0
        for i in range(count):
            bit = 1 << i % busy_layout.SENSORS
            self.now += 400
            now = self.now
            c.scan(now, bit, 0)
            before = heap_bytes()
            begun = microseconds()
            while c.advance(now + busy_layout.CONFIRM_MS, bit, 0):
                pass
            c.settle(now + busy_layout.CONFIRM_MS)
            spent += microseconds() - begun
            used += heap_bytes() - before
            c.scan(now + 60, 0, 0)
            c.scan(now + 390, 0, 0)
            c.journal.clear()
        return used, spent


class Plain:
    def __init__(self, panel):
        self.count = 0
        self.pins = [PlainPin() for _ in range(SENSORS + panel)]
        self.sensors = [PlainSensor(pin, self.hit) for pin in self.pins]
        self.now = 10000

    def hit(self, now):
        self.count += 1

    def idle(self, count):
        return measured_loop(self.idle_body, count)

    def idle_body(self, count):
        sensors = self.sensors
        now = self.now + 1
        for _ in range(count):
            for sensor in sensors:
                sensor.scan(now)

    def hits(self, count):
        spent = used = 0
        for i in range(count):
            pin = self.pins[i % busy_layout.SENSORS]
            self.now += 400
            now = self.now
            pin.level = 1
            self.all(now)
            before = heap_bytes()
            begun = microseconds()
            self.all(now + busy_layout.CONFIRM_MS)
            spent += microseconds() - begun
            used += heap_bytes() - before
            pin.level = 0
            self.all(now + 60)
            self.all(now + 80)
            self.all(now + 390)
        return used, spent

    def all(self, now):
        for sensor in self.sensors:
            sensor.scan(now)


def nothing(count):
    """What the loop itself takes."""
    return measured_loop(empty_body, count)


def empty_body(count):
    for _ in range(count):
        pass


def measure(panel):
    ours, plain = Ours(panel), Plain(panel)
    (loop, _), (idle, idle_bytes), (plain_idle, plain_idle_bytes) = best(
        (nothing, ours.idle, plain.idle), IDLE_SCANS
    )
    (hit, hit_bytes), (plain_hit, plain_hit_bytes) = best((ours.hits, plain.hits), HITS)
    assert plain.count == HITS * REPEATS, plain.count
    on_board = hasattr(gc, "mem_alloc")
    return {
        "inputs": SENSORS + panel,
        "idle_us": round(idle - loop, 3),
        "idle_heap_bytes": idle_bytes if on_board else None,
        "hit_us": round(hit, 2),
        "hit_heap_bytes": hit_bytes if on_board else None,
        "plain_idle_us": round(plain_idle - loop, 3),
        "plain_idle_heap_bytes": plain_idle_bytes if on_board else None,
        "plain_hit_us": round(plain_hit, 2),
        "plain_hit_heap_bytes": plain_hit_bytes if on_board else None,
        "idle_times_faster": round((plain_idle - loop) / (idle - loop), 1),
    }


print(json.dumps([measure(panel) for panel in PANELS]))
