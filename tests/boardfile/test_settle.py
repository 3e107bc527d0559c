"""Standing rules that do not settle: found, and nothing else refused; the ring itself is the judge."""

from __future__ import annotations

import time
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boardfile import valley
from reedlogic import words as w
from reedlogic.rules import PASSES_MAX, Rules
from reedway.boardfile.settling import eventual, settle, truthtable
from reedway.boardfile.settling.bitrules import bit_rules, components, reads, thrown_by
from reedway.boardfile.settling.walk import walk

SETTLED = "standing rules must come to rest after an event"


def followers(*texts: str) -> str:
    """The valley with more follower relays, above FULL."""
    lines = "".join(f"  {text}\n" for text in texts)
    return valley.HEAD.replace("  FULL:", f"{lines}  FULL:")


def two(first: str, second: str) -> str:
    return f"  - {{as_soon_as: {first}}}\n  - {{as_soon_as: {second}}}\n"


@pytest.mark.parametrize(
    ("rules", "head"),
    [
        # one overrides the other in each round, and what is there after a round was there before it
        (two("[CALL in], do: [drop out CALL]", "[CALL out], do: [pull in CALL]"), valley.HEAD),
        (two("[N1 closed], do: [throw ends to A]", "[N2 closed], do: [throw ends to B]"), valley.HEAD),
        (two("[exit not known], do: [throw exit to A]", "[exit to A], do: [throw exit to B]"), valley.HEAD),
        ("", followers("F1: {pulled_in_while: [F2 out]}", "F2: {pulled_in_while: [F1 out]}")),
    ],
)
def test_overriding_is_allowed_when_it_settles(rules: str, head: str) -> None:
    assert valley.complaints(rules, head) == []


def test_followers_in_a_ring() -> None:
    head = followers("F1: {pulled_in_while: [F2 out, N1 closed]}", "F2: {pulled_in_while: [F1 in]}")
    (complaint,) = valley.complaints("", head)
    assert "with N1 closed the standing rules in lines 38, 39 undo each other for ever" in complaint
    assert SETTLED in complaint


def test_a_follower_of_itself() -> None:
    (complaint,) = valley.complaints("", followers("F1: {pulled_in_while: [F1 out, siding in service]}"))
    assert "with siding in service this rule undoes itself for ever" in complaint


def test_a_chain_against_the_order_of_the_file() -> None:
    chain = [f"F{i}: {{pulled_in_while: [F{i + 1} in]}}" for i in range(PASSES_MAX - 1)]
    last = f"F{PASSES_MAX - 1}: {{pulled_in_while: [N1 closed]}}"
    (complaint,) = valley.complaints("", followers(*chain, last))
    assert "need more than 8 rounds" in complaint and "below those that it waits for" in complaint
    assert valley.complaints("", followers(*chain[1:], last)) == []
    assert valley.complaints("", followers(last, *reversed(chain))) == []


def _big(count: int, extra: str) -> tuple[str, str]:
    head = followers(*(f"F{i}: {{}}" for i in range(count)))
    rules = "".join(
        f"  - {{as_soon_as: [F{i} in, F{(i + 1) % count} out, {'N1' if i % 2 else 'N2'} closed], "
        f"do: [pull in F{(i + 1) % count}{extra.format(i)}]}}\n"
        for i in range(count)
    )
    return rules, head


def test_a_large_group_that_only_pulls_in_is_proved() -> None:
    begun = time.monotonic()
    assert valley.compiled(*_big(30, "")).undecided == []
    assert time.monotonic() - begun < 1


def test_a_large_group_that_cannot_be_decided_in_time_is_said() -> None:
    layout = valley.layout_of(*_big(30, ", drop out F{}"))
    (said,) = valley.compile_layout(layout, 0.2).undecided
    assert "could not be decided" in said.message and "30 standing rules" in said.message


def test_a_large_group_that_undoes_itself_is_met_on_a_walk() -> None:
    rules, head = _big(30, ", drop out F{}")
    ring = "  A: {pulled_in_while: [F7 in, B out]}\n  B: {pulled_in_while: [A in, F8 out]}\n"
    rules += "  - {at: N1 hit, do: [pull in F7]}\n"
    head = head.replace("  FULL:", f"{ring}  FULL:")
    (complaint,) = valley.complaints(rules, head)
    assert "undo each other for ever" in complaint


# -- against the ring ------------------------------------------------------------------------------------

RELAYS, LEVELS, TURNOUTS = 4, 2, 1


class _NoJournal:
    def put(self, *record: int) -> None:
        """No records."""


def _condition() -> st.SearchStrategy[tuple[int, ...]]:
    """Flat conditions over relays, levels, and whether the turnout lies and is known."""

    def flat(masks: list[int], values: int) -> tuple[int, ...]:
        words = (w.W_RELAY, w.W_LEVEL, w.W_POSITION, w.W_KNOWN)
        return tuple(
            n for word, mask in zip(words, masks, strict=True) if mask for n in (word, mask, values & mask)
        )

    masks = st.tuples(st.integers(0, 15), st.integers(0, 3), st.integers(0, 1), st.integers(0, 1))
    return st.builds(lambda m, v: flat(list(m), v), masks, st.integers(0, 15))


def _acts() -> st.SearchStrategy[tuple[int, ...]]:
    relay = st.integers(1, 15)
    return st.one_of(
        st.builds(lambda mask: (w.OP_SET, w.W_RELAY, mask), relay),
        st.builds(lambda mask: (w.OP_CLEAR, w.W_RELAY, mask), relay),
        st.builds(lambda mask: (w.OP_SET, w.W_RELAY, mask, w.OP_CLEAR, w.W_RELAY, 15 ^ mask), relay),
        st.sampled_from([(w.OP_THROW_A, 0, 1), (w.OP_THROW_B, 0, 1)]),
        st.builds(lambda i: (w.OP_FOLLOW, w.W_RELAY, 1 << i), st.integers(0, 3)),
    )


RULES = st.lists(st.tuples(_condition(), _acts()), min_size=1, max_size=5).map(tuple)


def plan_of(standing: tuple[Any, ...], at: tuple[Any, ...] = ()) -> tuple[Any, ...]:
    """A plan with nothing but rules, two inputs, one turnout."""
    level = (w.IN_LEVEL, 5, 20, 0, 0)
    start = ((), (0, 0, 0, 0), 0, 0, 0)
    one = (0, 1, 80, 0, 0, 30000, 4, 10000, 63, 63, 300)
    parts: list[Any] = [(20, 700, 0, 0), (level, level), (), (), (RELAYS, 0, 0, 0, 0), (0, 0), (), (one,)]
    return (*parts, (), (), (), (0, 0), (), 63, at, standing, (start,))


def ring_of(plan: tuple[Any, ...], case: dict[tuple[int, int], bool]) -> Rules:
    """The ring's rules with the words of one case."""
    rules = Rules(plan, _NoJournal())
    for (word, bit), value in case.items():
        if word == w.WORDS:
            rules.physical |= value << bit
        else:
            rules.words[word] |= value << bit
    if any(act in (w.OP_THROW_A, w.OP_THROW_B) for _, acts in plan[15] for act in acts[::3]):
        rules.know()
    return rules


def settles(rules: Rules) -> bool:
    rules.settle()
    return rules.unsettled_by < 0


@settings(max_examples=120, deadline=None)
@given(RULES)
def test_every_case_of_the_table_is_what_the_ring_does(standing: tuple[Any, ...]) -> None:
    plan = plan_of(standing)
    group = bit_rules(standing, ())
    thrown = thrown_by(group)
    variables = sorted(set().union(*(reads(rule, thrown) | rule.writes() for rule in group)))
    table = truthtable.Table(variables, group, thrown)
    values = table.start()
    changed = 0
    for _ in range(PASSES_MAX):
        changed = table.one_pass(values)
    for case in range(table.size):
        words = table.case(1 << case)
        rules = ring_of(plan, words)
        assert settles(rules) == (not changed >> case & 1)
        after = {bit: bool(value >> case & 1) for bit, value in values.items()}
        for (word, bit), value in after.items():
            if word < w.WORDS and (word, bit) != (w.W_KNOWN, 0):
                assert bool(rules.words[word] >> bit & 1) == value


def _reachable_unsettled(plan: tuple[Any, ...]) -> bool:
    """Every state that inputs and the turnout can bring about from the start, in the ring itself."""
    seen: set[tuple[int, ...]] = set()
    waiting: list[tuple[list[int], int]] = [([0] * w.WORDS, 0)]
    while waiting:
        words, physical = waiting.pop()
        for change in range(4):
            rules = Rules(plan, _NoJournal())
            rules.words[:] = words
            rules.physical = physical
            if change < LEVELS:
                rules.words[w.W_LEVEL] ^= 1 << change
                kind = w.E_ON if rules.words[w.W_LEVEL] >> change & 1 else w.E_OFF
                number = kind << w.EVENT_SHIFT | change
                if rules.at_index[number]:
                    rules.run_at(0, number)
            elif change == LEVELS:
                rules.words[w.W_POSITION] = rules.words[w.W_WANTED]
                rules.physical = 1
                rules.know()
            if not settles(rules):
                return True
            key = (
                *rules.words[:4],
                *rules.words[w.W_LEVEL : w.W_KNOWN + 1],
                rules.words[w.W_WANTED],
                rules.physical,
            )
            if key not in seen:
                seen.add(key)
                waiting.append((list(rules.words), rules.physical))
    return False


AT = st.lists(st.tuples(_condition(), _acts().filter(lambda acts: acts[0] != w.OP_FOLLOW)), max_size=2)


@settings(max_examples=120, deadline=None)
@given(RULES, AT)
def test_what_can_happen_is_found_and_what_is_found_is_so(standing: tuple[Any, ...], at: list[Any]) -> None:
    events = ((w.E_ON << w.EVENT_SHIFT, *at),) if at else ()
    plan = plan_of(standing, events)
    found = False
    for group in components(bit_rules(standing, ())):
        case = settle._in_every_case(group, plan)
        if case:
            found = True
            alone = plan_of(tuple(standing[rule.number] for rule in group), events)
            assert not settles(ring_of(alone, case))
    assert found or not _reachable_unsettled(plan)


@settings(max_examples=200, deadline=None)
@given(RULES)
def test_what_is_proved_without_looking_at_every_case_is_so(standing: tuple[Any, ...]) -> None:
    for group in components(bit_rules(standing, ())):
        thrown = thrown_by(group)
        table = truthtable.Table(settle.variables_of(group), group, thrown)
        values = table.start()
        for _ in range(PASSES_MAX):
            changed = table.one_pass(values)
        at_rest = eventual.in_the_end(group, time.monotonic() + 1)
        if eventual.in_all_cases(group) or (at_rest and eventual.soon_enough(group)):
            assert not changed
        if at_rest:
            for _ in range(200):
                changed = table.one_pass(values)
            assert not changed


@settings(max_examples=15, deadline=None)
@given(RULES)
def test_a_case_met_on_a_walk_is_so(standing: tuple[Any, ...]) -> None:
    plan = plan_of(standing)
    case = walk(plan, settle.variables_of(bit_rules(standing, ())), time.monotonic() + 0.02)
    if case is not None:
        assert not settles(ring_of(plan, case))
