"""Times an idle scan and a hit of the logic beside a plain scan of one object per input.

Runs on CPython and MicroPython and prints one line of JSON. 26 sensors, as many as a board has GPIO; the
rules are those of busy_layout.
"""

import gc
import json
import sys
import time

import busy_layout

from reedlogic.controller import Controller

SENSORS = 26
IDLE_SCANS = 20000
HITS = 400
REPEATS = 5  # the best of these counts: others use the machine too

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


def best(measure, count):
    """(µs, heap bytes) per call of the best repeat of measure(count); the collector rests meanwhile."""
    times = []
    used = 0
    for _ in range(REPEATS):
        gc.collect()
        gc.disable()
        used, spent = measure(count)
        gc.enable()
        times.append(spent)
    return min(times) / count, used // count


def measured_loop(body, count):
    before = heap_bytes()
    begun = microseconds()
    body(count)
    spent = microseconds() - begun
    return heap_bytes() - before, spent


class Ours:
    def __init__(self):
        plan = busy_layout.plan()
        first = plan[1][0]
        self.c = Controller(plan[:1] + (tuple([first for _ in range(SENSORS)]),) + plan[2:], 2000)
        self.c.begin(0, 0, 0)
        self.c.scan(1, 0, 0)
        self.c.order(1, 0, 63)
        self.c.settle(1)
        self.now = 10000
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
    def __init__(self):
        self.count = 0
        self.pins = [PlainPin() for _ in range(SENSORS)]
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


def main():
    ours, plain = Ours(), Plain()
    loop, _ = best(nothing, IDLE_SCANS)
    idle, idle_bytes = best(ours.idle, IDLE_SCANS)
    plain_idle, plain_idle_bytes = best(plain.idle, IDLE_SCANS // 20)
    hit, hit_bytes = best(ours.hits, HITS)
    plain_hit, plain_hit_bytes = best(plain.hits, HITS)
    assert plain.count == HITS * REPEATS, plain.count
    on_board = hasattr(gc, "mem_alloc")
    result = {
        "interpreter": sys.implementation.name,
        "inputs": SENSORS,
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
    print(json.dumps(result))


main()
