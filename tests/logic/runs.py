"""Random runs that several tests share, and how a failure names the line that repeats it."""

from functools import cache

from logic.drive import play
from logic.plans import random_plan
from logic.sessions import random_session

SHARED = 400  # seeds 0.. of the runs that tests read together


@cache
def case(seed: int, span: int = 500, contacts: bool = True, idles: int = 0) -> tuple:
    """(plan, session) of this seed; every other seed avoids faults, so that its run goes on.

    Without contacts it is a case for the oracle, which knows no position contacts and no maintenance.
    """
    plan = random_plan(seed, contacts=contacts, settled=bool(seed % 2))
    return plan, random_session(seed, plan, span, idles, upkeep=contacts)


@cache
def shared_run(seed: int) -> tuple:
    """Plan, session and records of one of the shared runs."""
    plan, session = case(seed)
    return plan, session, tuple(play(plan, session))


def difference(first: list, second: list) -> str:
    """The first record that two runs do not share, in short."""
    for i, (a, b) in enumerate(zip(first, second, strict=False)):
        if a != b:
            return f"record {i}: {a} and {b}, after {first[max(0, i - 3) : i]}"
    if len(first) != len(second):
        return f"{len(first)} and {len(second)} records, the shorter is a beginning of the other"
    return ""


def again(test: str, seed: int) -> str:
    """The one line that repeats a failure."""
    return f"seed {seed}; repeat: python -m pytest 'tests/logic/{test}' --seed {seed}"
