"""Searches in plain Python, written apart from the product's: one state at a time, states as tuples."""

from __future__ import annotations

from collections import deque

from reedway.proof.timed.clockwork import Clockwork


def naive_search(work: Clockwork) -> tuple[int, int, str]:
    """(states, transitions, what is bad first or "") of a clockwork, from its rows alone."""
    seen: set[tuple] = set()
    todo: deque[tuple] = deque()

    def arrive(row, shown) -> None:  # type: ignore[no-untyped-def]
        clocks = [max(0, k * s + a) for k, s, a in zip(row.keeps, shown, row.adds, strict=True)]
        running = work.running(row.to)
        least = min((c for c, runs in zip(clocks, running, strict=True) if runs), default=0)
        after = tuple(c - least if runs else c for c, runs in zip(clocks, running, strict=True))
        if (row.to, after) not in seen:
            seen.add((row.to, after))
            todo.append((row.to, after))

    for row in work.starts():
        arrive(row, [0] * work.clocks)
    transitions = 0
    while todo:
        standing, shown = todo.popleft()
        for clock, runs in enumerate(work.running(standing)):
            if not runs or shown[clock]:
                continue
            for row in work.rows(standing, clock):
                if row.to is None:
                    return len(seen), transitions, row.bad
                if all(s <= m for s, m in zip(shown, row.shows_max, strict=True)):
                    transitions += 1
                    arrive(row, shown)
    return len(seen), transitions, ""


def naive_fischer(count: int, sets_within: int, waits: int) -> tuple[set[tuple], bool]:
    """Fischer's protocol tick by tick, with clocks that count up: (places reached, ever two inside)."""
    start = (0, ("idle",) * count, (0,) * count)
    seen, todo = {start}, deque([start])
    reached = set()
    while todo:
        lock, places, clocks = todo.popleft()
        reached.add((lock, places))
        found = []
        if all(c < sets_within for p, c in zip(places, clocks, strict=True) if p == "wants"):
            pairs = zip(places, clocks, strict=True)
            ticked = [min(c + 1, waits) if p == "waits" else c + (p == "wants") for p, c in pairs]
            found.append((lock, places, tuple(ticked)))
        for i, (place, clock) in enumerate(zip(places, clocks, strict=True)):
            to, mark = "", lock
            if place == "idle" and lock == 0:
                to = "wants"
            elif place == "wants":
                to, mark = "waits", i + 1
            elif place == "waits" and clock >= waits:
                to = "inside" if lock == i + 1 else "idle"
            elif place == "inside":
                to, mark = "idle", 0
            if to:
                new = (*places[:i], to, *places[i + 1 :])
                found.append((mark, new, (*clocks[:i], 0, *clocks[i + 1 :])))
        for one in found:
            if one not in seen:
                seen.add(one)
                todo.append(one)
    return reached, any(places.count("inside") > 1 for _, places in reached)
