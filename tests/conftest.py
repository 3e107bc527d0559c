"""Property-based tests choose the same cases in every run, and no test is judged by its time."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache

import pytest
from hypothesis import settings

settings.register_profile("suite", deadline=None, derandomize=True, database=None)
settings.load_profile("suite")


@pytest.fixture(scope="session", autouse=True)
def firmware_compiled_once() -> Iterator[None]:
    """Compiling the firmware takes seconds; every board folder of a run gets the same files."""
    from reedway.boardfile import build, firmwarefiles

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(build, "firmware_files", cache(firmwarefiles.firmware_files))
        patch.setattr(build, "compiler_version", cache(firmwarefiles.compiler_version))
        yield


@pytest.fixture(scope="session", autouse=True)
def same_text_read_once() -> Iterator[None]:
    """Reading YAML is most of what a small test does; the trees it gives are never changed."""
    from reedway.layout import load, yamltext
    from reedway.problems import LayoutError

    @lru_cache(100)
    def tree_of(data: bytes) -> yamltext.Mapping:
        return yamltext.parse("", data)

    def parse(path: str, data: bytes) -> yamltext.Mapping:
        try:
            return tree_of(data)
        except LayoutError:
            return yamltext.parse(path, data)  # complaints name the path

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(load, "parse", parse)
        yield
