"""Does every train always come round again; and is there any way at all in which all of them do?"""

from __future__ import annotations

from array import array

from reedway.proof.search import Expanding, Found


class Graph:
    """The states of a search by number with the steps between them, and which trains move in them."""

    def __init__(self, world: Expanding, found: Found) -> None:
        self.world = world
        self.states = list(found.came_from)
        number = {state: n for n, state in enumerate(self.states)}
        self.edge_from, self.edge_to = array("I"), array("I")
        self.movers = array("I")  # of each edge: bit j when train j moves
        self.moves = array("I", bytes(4 * len(self.states)))  # of each state: trains with a step
        fields = list(enumerate(world.fields))
        for n, state in enumerate(self.states):
            for after in world.expand(state):
                m = number[after]
                moved = state ^ after
                movers = 0
                for j, (at, mask) in fields:
                    if moved >> at & mask:
                        movers |= 1 << j
                self.moves[n] |= movers
                self.edge_from.append(n)
                self.edge_to.append(m)
                self.movers.append(movers)
        world.bad = ""


def stuck(graph: Graph) -> list[tuple[int, int]]:
    """(state from which it can never move again, train) of each train for which there is one.

    From every other state it can come to a step of its own, and the track is one circuit; so it always comes
    round again if what is possible again and again happens at last.
    """
    first, origin = _by_target(graph)
    found = []
    world = graph.world
    for j in range(len(world.fields)):
        alive = bytearray(len(graph.states))
        for n, state in enumerate(graph.states):
            if graph.moves[n] >> j & 1 or world.spot_of(state, j) == world.gone:
                alive[n] = 1
        _spread(alive, first, origin)
        n = alive.find(0)
        if n >= 0:
            found.append((graph.states[n], j))
    return found


def _by_target(graph: Graph) -> tuple[array[int], array[int]]:
    """For each state where the edges into it come from: (first of each state, from)."""
    count = len(graph.states)
    first = array("I", bytes(4 * (count + 1)))
    for m in graph.edge_to:
        first[m + 1] += 1
    for m in range(count):
        first[m + 1] += first[m]
    filled = array("I", first)
    origin = array("I", bytes(4 * len(graph.edge_to)))
    for n, m in zip(graph.edge_from, graph.edge_to, strict=True):
        origin[filled[m]] = n
        filled[m] += 1
    return first, origin


def _spread(alive: bytearray, first: array[int], origin: array[int]) -> None:
    """Whoever leads to one that is alive is alive."""
    todo = [n for n, one in enumerate(alive) if one]
    while todo:
        n = todo.pop()
        for before in origin[first[n] : first[n + 1]]:
            if not alive[before]:
                alive[before] = 1
                todo.append(before)


def goes_round_somehow(graph: Graph) -> bool:
    """True when there is an endless run, without anything bad, in which every train moves again and again.

    The states among which such a run goes reach each other, and every train moves between some of them.
    """
    everyone = (1 << len(graph.world.fields)) - 1
    part = _parts(graph)
    moving: dict[int, int] = {}
    for n, m, movers in zip(graph.edge_from, graph.edge_to, graph.movers, strict=True):
        if part[n] == part[m]:
            moving[part[n]] = moving.get(part[n], 0) | movers
    return any(movers == everyone for movers in moving.values())


def _parts(graph: Graph) -> list[int]:
    """Number of the strongly connected part of each state (Tarjan's algorithm without recursion)."""
    count = len(graph.states)
    after: list[list[int]] = [[] for _ in range(count)]
    for n, m in zip(graph.edge_from, graph.edge_to, strict=True):
        after[n].append(m)
    order, low, part = [-1] * count, [0] * count, [-1] * count
    stack: list[int] = []
    parts = counted = 0
    for root in range(count):
        if order[root] >= 0:
            continue
        work = [(root, 0)]
        while work:
            n, i = work.pop()
            if i == 0:
                order[n] = low[n] = counted
                counted += 1
                stack.append(n)
            else:
                low[n] = min(low[n], low[after[n][i - 1]]) if part[after[n][i - 1]] < 0 else low[n]
            while i < len(after[n]) and order[after[n][i]] >= 0:
                if part[after[n][i]] < 0:
                    low[n] = min(low[n], order[after[n][i]])
                i += 1
            if i < len(after[n]):
                work += [(n, i + 1), (after[n][i], 0)]
                continue
            if low[n] == order[n]:
                while part[n] < 0:
                    part[stack.pop()] = parts
                parts += 1
    return part
