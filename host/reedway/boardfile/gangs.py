"""Gangs: which turnout waits for which, and orders that wait for each other in a ring."""

from __future__ import annotations

from reedway.boardfile.numbering import Numbering
from reedway.layout.model import Layout
from reedway.layout.near import did_you_mean
from reedway.problems import Complaint


def check_gangs(numbering: Numbering) -> list[Complaint]:
    """Every member must be a turnout, and the orders of all gangs together may form no ring."""
    layout = numbering.layout
    names = [turnout.name for turnout in layout.turnouts]
    found = []
    for gang in layout.gangs:
        for text in gang.turnouts:
            if text.text.lower() not in numbering.turnouts:
                message = f"gang {gang.name}: there is no turnout '{text}'; {did_you_mean(text.text, names)}"
                found.append(Complaint(layout.path, text.line, message))
    ring = order_ring(numbering)
    if ring:
        line, gangs = _gangs_of(layout, {names[i] for i in ring})
        message = (
            f"the orders of {gangs} form a ring: {' after '.join(names[i] for i in ring)}; "
            f"a turnout can only wait for one that does not wait for it; change one order"
        )
        found.append(Complaint(layout.path, line, message))
    return found


def after_masks(numbering: Numbering) -> list[int]:
    """For each turnout the turnouts that are thrown before it."""
    masks = [0] * len(numbering.layout.turnouts)
    for gang in numbering.layout.gangs:
        before = 0
        for member in numbering.members(gang):
            masks[member] |= before
            before |= 1 << member
    return masks


def order_ring(numbering: Numbering) -> list[int]:
    """Turnouts that wait for each other in a ring, the first repeated at the end; empty when none do."""
    masks = after_masks(numbering)
    free: set[int] = set()
    while True:
        more = {i for i, mask in enumerate(masks) if i not in free and not mask & ~sum(1 << k for k in free)}
        if not more:
            break
        free |= more
    left = [i for i in range(len(masks)) if i not in free]
    if not left:
        return []
    path = [left[0]]
    while True:
        following = next(i for i in left if masks[path[-1]] >> i & 1)
        if following in path:
            return [*path[path.index(following) :], following]
        path.append(following)


def _gangs_of(layout: Layout, turnouts: set[str]) -> tuple[int, str]:
    """Line of the last gang that orders these turnouts, and the names of all that do."""
    lower = [name.lower() for name in turnouts]
    found = []
    for gang in layout.gangs:
        members = [text.text.lower() for text in gang.turnouts]
        if sum(members.count(name) for name in lower) > 1:
            found.append(gang)
    return max((gang.line for gang in found), default=1), " and ".join(f"gang {gang.name}" for gang in found)
