"""A layout file through every stage, loader to compiled rules, for each command that needs a good one."""

from __future__ import annotations

from dataclasses import dataclass

from reedway.boardfile.advice import advise
from reedway.boardfile.compile import Compiled, compile_layout
from reedway.electrics.limits import notes
from reedway.electrics.wirechecks import Checks, fuse_of_all_trains
from reedway.layout.load import load
from reedway.layout.model import Layout
from reedway.problems import Complaint, LayoutError


@dataclass(frozen=True)
class Checked:
    """A layout that can be built, with advice that does not stop it."""

    layout: Layout
    compiled: Compiled
    advice: list[Complaint]


def check_file(path: str) -> Checked:
    """LayoutError with all complaints of the first stage that has any."""
    layout = load(path)
    compiled = compile_layout(layout)
    wires = Checks(layout).run()
    if wires.refused:
        raise LayoutError(wires.refused)
    fuse = fuse_of_all_trains(layout)
    advice = [*compiled.undecided, *advise(layout, compiled), *notes(layout), *fuse]
    return Checked(layout, compiled, sorted(advice))
