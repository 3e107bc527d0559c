"""From which states can a train never come on again?"""

from __future__ import annotations

import numpy as np

from reedway.proof.timed.table import Ints, Table
from reedway.proof.timed.walk import TimedFound


def stuck(table: Table, found: TimedFound, trains: int) -> list[tuple[int, int]]:
    """(first such state, train) of each train for which there is one."""
    if not found.edge_from:
        return [(0, j) for j in range(trains)]
    origin, target = found.joined("edge_from"), found.joined("edge_to")
    mover = table.moves.array[found.joined("edge_row")]
    order = np.argsort(target, kind="stable")
    first = np.searchsorted(target[order], np.arange(found.states + 1)).astype(np.int64)
    before = origin[order]
    stopped = []
    for j in range(trains):
        alive = np.zeros(found.states, bool)
        alive[origin[mover == j]] = True
        _spread(alive, first, before)
        if not alive.all():
            stopped.append((int(np.argmin(alive)), j))
    return stopped


def _spread(alive: np.ndarray, first: np.ndarray, before: Ints) -> None:
    """Whoever leads to one that is alive is alive."""
    front = np.flatnonzero(alive)
    place = np.zeros(len(alive), np.int64)
    while front.size:
        counts = first[front + 1] - first[front]
        within = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
        found = before[np.repeat(first[front], counts) + within]
        found = found[~alive[found]]
        alive[found] = True
        here = np.arange(len(found))
        place[found] = here
        front = found[place[found] == here]  # each once


def on_to_the_end(found: TimedFound, state: int, steps_max: int = 200) -> list[tuple[int, int]]:
    """(state before, row) of a way on until nothing happens any more, or nothing new."""
    origin, target = found.joined("edge_from"), found.joined("edge_to")
    rows = found.joined("edge_row")
    way: list[tuple[int, int]] = []
    seen = {state}
    while len(way) < steps_max:
        out = np.flatnonzero(origin == state)
        fresh = [int(e) for e in out if int(target[e]) not in seen]
        if not fresh:
            return way if not out.size else []
        way.append((state, int(rows[fresh[0]])))
        state = int(target[fresh[0]])
        seen.add(state)
    return []
