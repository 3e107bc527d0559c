"""Principles of prototype interlocking, held by the derived rules in every state that can be reached.

Source: United States, Code of Federal Regulations, Title 49, Part 236 (rules for signal systems); the
paragraph stands beside each test. A block that goes is our proceed signal, one that stops our stop signal,
the whole way to the end of the next place is the route.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from reedlogic import words as w
from reedway.proof.faults import STUCK, Unmoved
from reedway.proof.packing import FEEDS, WANTED
from reedway.proof.scene import scenes
from reedway.proof.search import search
from reedway.proof.world import FAULT_BITS, World
from reedway.track.legs import Leg, Legs
from track.lines import Line, compile_unwired, load_unwired

STATES_MAX = 4_000  # a broken line has no end of them
LINES = (
    Line(trains=3, contacts=True),
    Line(trains=3, contacts=True, detectors=True, pairs=False),
    Line(3, 1, pairs=False, trains=2),
)


class Run:
    """Everything that a line can come to, looked at by names."""

    def __init__(self, line: Line, fault: Unmoved | None = None, hasty: bool = False) -> None:
        layout = load_unwired(line.text())
        if hasty:  # trains are sent without a look whether the way is free
            for rule in layout.rules:
                if rule.at is None:
                    rule.conditions[:] = [text for text in rule.conditions if " kept out" not in text.text]
        made = compile_unwired(layout)
        self.world: World
        self.world, start = scenes(made, 0)[0].world(lagging=False, fault=fault)
        self.states = list(search(self.world, start, STATES_MAX, past_bad=True).came_from)
        self.track = self.world.spots.track
        self.legs = Legs(self.track)
        self.relays = {relay.name: i for i, relay in enumerate(made.layout.relays)}
        self.blocks = {block.name: i for i, block in enumerate(made.layout.blocks)}

    def steps(self) -> Iterator[tuple[int, int]]:
        for state in self.states:
            for after in self.world.expand(state):
                yield state, after
            self.world.bad = ""

    def number(self, state: int, index: int) -> int:
        return self.world.packing.unpack(state & self.world.machine.all)[index]

    def feeds(self, state: int) -> int:
        return state >> self.world.packing.feed_at & (1 << self.world.packing.first_at) - 1

    def fed(self, state: int, place: int) -> bool:
        return bool(self.feeds(state) >> self.blocks[self.track.block(place)] & 1)

    def is_in(self, state: int, relay: str) -> bool:
        return bool(self.number(state, 0) >> self.relays[relay] & 1)

    def taken(self, state: int) -> set[int]:
        """Sections that trains cover."""
        world = self.world
        covers = 0
        for j in range(len(world.trains)):
            covers |= world.covers[world.spot_of(state, j)]
        return {i for i in range(len(self.track.sections)) if covers >> i & 1}

    def heads(self, state: int) -> set[int]:
        """Sections in which the heads of trains are."""
        world = self.world
        return {world.spots.spots[world.spot_of(state, j)].path[-1] for j in range(len(world.trains))}

    def knows(self, state: int, section: int, position: int) -> bool:
        t = self.track.turnout(section)
        known = self.number(state, w.W_KNOWN) >> t & 1
        return bool(known) and self.number(state, w.W_POSITION) >> t & 1 == position

    def goes_where(self, state: int, place: int) -> list[Leg]:
        """Ways out of a place for which all points are known to lie right."""
        return [
            leg
            for leg in self.legs.out_of(place)
            if all(self.knows(state, section, position) for section, position in leg.throws)
        ]


@pytest.fixture(scope="module", params=LINES, ids=["pairs", "detectors", "three tracks"])
def run(request: pytest.FixtureRequest) -> Run:
    return Run(request.param)


def test_most_restrictive_when_occupied_or_points_not_right(run: Run) -> None:
    """236.205: most restrictive when the block is occupied, or points are not in proper position."""
    seen = 0
    for state, after in run.steps():
        newly = run.feeds(after) & ~run.feeds(state)
        for place in run.legs.places:
            if not newly >> run.blocks[run.track.block(place)] & 1:
                continue
            ways = run.goes_where(after, place)
            assert ways, f"{run.track.name(place)} goes and no way out is set"
            assert any(not run.taken(after) & set(leg.sections) for leg in ways)
            seen += 1
    assert seen > 10


def test_no_points_are_asked_for_while_a_train_may_come_to_them(run: Run) -> None:
    """236.207 and 236.314: the lock is not released until signals are at stop; approach locking.

    Nor while a train is on its way there with its signal cleared.
    """
    seen = 0
    for state, after in run.steps():
        asked = run.number(state, WANTED) ^ run.number(after, WANTED)
        for section in range(len(run.track.sections)):
            t = run.track.turnout(section)
            if t < 0 or not asked >> t & 1:
                continue
            seen += 1
            assert section not in run.taken(after)
            heads = run.heads(after)
            for leg in run.legs.legs:
                if section in leg.sections:
                    assert not heads & set(leg.sections[: leg.sections.index(section)])
                    assert leg.start not in heads or not run.fed(after, leg.start)
    assert seen > 10


def test_points_do_not_move_under_a_train_until_it_is_seen_to_have_left(run: Run) -> None:
    """236.51: the track relay of a turnout is de-energised while any part of it is occupied."""
    for state in run.states:
        for section in run.taken(state):
            group = next(
                name
                for name in (f"{run.track.name(section)} kept", *_kept_with(run, section))
                if name in run.relays
            )
            assert run.is_in(state, group), f"{run.track.name(section)} is taken and {group} is out"


def _kept_with(run: Run, section: int) -> list[str]:
    """Relays of sections that are kept together with this one."""
    names = []
    for leg in run.legs.legs:
        if section in leg.sections:
            at = leg.sections.index(section)
            names += [f"{run.track.name(other)} kept" for other in leg.sections[at + 1 :]]
    return names


def test_conflicting_routes_are_at_stop(run: Run) -> None:
    """236.311: with a route cleared, signals of all conflicting routes are at stop.

    Routes conflict when they share a section; a train that can leave is one at the end of its place.
    """
    for state in run.states:
        going = [place for place in run.legs.places if run.fed(state, place) and _stands(run, state, place)]
        for i, place in enumerate(going):
            for other in going[:i]:
                ways = [(one, two) for one in run.legs.out_of(place) for two in run.legs.out_of(other)]
                assert any(not set(one.sections) & set(two.sections) for one, two in ways)


def _stands(run: Run, state: int, place: int) -> bool:
    world = run.world
    return any(
        world.spots.stands(world.spots.spots[world.spot_of(state, j)]) == place
        for j in range(len(world.trains))
    )


def test_no_signal_clears_over_points_whose_contact_does_not_agree() -> None:
    """236.303: proceed only through a circuit controller operated by the points, each in position."""
    run = Run(LINES[0], Unmoved())
    stuck = 0
    for state, after in run.steps():
        f = state >> run.world.fault_at & (1 << FAULT_BITS) - 1
        if f < STUCK:
            continue
        stuck += 1
        newly = run.feeds(after) & ~run.feeds(state)
        assert not newly & (1 << len(run.blocks)) - 1
    assert stuck > 20


def test_movements_follow_each_other_section_by_section(run: Run) -> None:
    """236.311 with sectional release: a section once freed is taken again only by the next train sent."""
    for state, after in run.steps():
        came = run.taken(after) - run.taken(state)
        for section in came:
            relay = next(
                n for n in (f"{run.track.name(section)} kept", *_kept_with(run, section)) if n in run.relays
            )
            assert run.is_in(state, relay)


def test_the_logic_never_feeds_a_block_with_unknown_points_anywhere(run: Run) -> None:
    """236.303 and 236.311: no block newly goes while any throw is outstanding."""
    packing = run.world.packing
    for state, after in run.steps():
        if run.feeds(after) & ~run.feeds(state):
            assert run.number(after, w.W_KNOWN) == packing.all_turnouts
    assert run.number(run.states[0], FEEDS) == 0


@pytest.mark.parametrize(
    "principle",
    [
        test_most_restrictive_when_occupied_or_points_not_right,
        test_no_points_are_asked_for_while_a_train_may_come_to_them,
        test_conflicting_routes_are_at_stop,
    ],
)
def test_a_broken_line_does_not_keep_the_principles(principle: Callable[[Run], None]) -> None:
    with pytest.raises(AssertionError):
        principle(Run(Line(trains=3, pairs=False), hasty=True))
