"""An hour of a show in the suite; `python tests/board/long_show.py` takes ten."""

import pytest

from board.long_show import run
from reedway.replay.machines import find_micropython


@pytest.mark.skipif(find_micropython() is None, reason="no MicroPython on this machine")
def test_an_hour_with_disturbances_leaves_nothing_wrong() -> None:
    show = run(1, 7)
    assert show.wrong == [], "seed 7"
    assert show.hits > 150 and len(show.pulses) > 250 and show.chatter > 5 and show.unplugged
    assert show.presses and show.kinds["deferred"] and set(show.stops) == {"stop by the owner"}
