"""--seed N runs the random tests of this folder on that one seed."""

import pytest

import logic.runs as runs


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--seed", type=int, default=None, help="run random tests of the logic on this seed only")


@pytest.fixture
def seeds(request: pytest.FixtureRequest) -> "Seeds":
    return Seeds(request.config.getoption("--seed", default=None), request.node.name, request.path.name)


class Seeds:
    """The seeds of one test, and the message that names the one that failed."""

    def __init__(self, only: int | None, test: str, file: str) -> None:
        self.only = only
        self.name = f"{file}::{test}"

    def of(self, first: int, count: int) -> "list[int]":
        return [self.only] if self.only is not None else list(range(first, first + count))

    def again(self, seed: int) -> str:
        return runs.again(self.name, seed)
