"""A layout file through every stage, for each command that needs a good one."""

from __future__ import annotations

from dataclasses import dataclass, field

from reedway.layout.load import load
from reedway.layout.model import Layout
from reedway.problems import Complaint


@dataclass(frozen=True)
class Checked:
    """A layout that can be built, with advice that does not stop it."""

    layout: Layout
    advice: list[Complaint] = field(default_factory=list)


def check_file(path: str) -> Checked:
    """LayoutError with all complaints of the first stage that has any."""
    return Checked(load(path))
