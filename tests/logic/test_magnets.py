"""A magnet at rest over a sensor, and one that chatters: one pulse, one caution, and other trains go on."""

from random import Random

import pytest

from logic.small import Scene, plan, turnout
from reedlogic import words as w

REST_MS, REARM_MS = 300, 40
# Sensor 0 throws the turnout and feeds the block; sensor 1 is another train's and counts in relay 0.
THROWS = (w.OP_THROW_B, 0, 1, w.OP_SET, w.W_GO, 1)
PULLS_IN = ((w.W_RELAY, 1, 0), (w.OP_SET, w.W_RELAY, 1))
DROPS_OUT = ((w.W_RELAY, 1, 1), (w.OP_CLEAR, w.W_RELAY, 1))
LAYOUT = plan(
    inputs=((w.IN_SENSOR, 5, 8, REARM_MS, REST_MS), (w.IN_SENSOR, 5, 8, REARM_MS, REST_MS)),
    turnouts=(turnout(0, 1, refresh=1),),
    at=((w.E_HIT << w.EVENT_SHIFT, ((), THROWS)), (w.E_HIT << w.EVENT_SHIFT | 1, PULLS_IN, DROPS_OUT)),
)


def started() -> Scene:
    return Scene(LAYOUT).at(100)


def pass_over(scene: Scene, at: int, others: int) -> None:
    """The other train passes sensor 1 at `at`, whatever the contacts in `others` do."""
    scene.at(at, raw=others | 2).at(at + 10, raw=others).at(at + 70)


def test_a_magnet_at_rest_gives_one_pulse_and_one_caution() -> None:
    scene = started().at(200, raw=1)
    for k in range(100):
        pass_over(scene, 1000 + 100 * k, others=1)
    assert scene.all("hit")[0] == (205, 0, 0)
    assert scene.all("pulse", 200) == [(205, 1, 10)]
    assert scene.all("rest") == [(205 + REST_MS, 0, 0)]
    assert scene.all("caution") == [(205 + REST_MS, 0, w.C_REST)]
    assert [r for r in scene.all("hit") if r[1] == 1] == [(1005 + 100 * k, 1, 0) for k in range(100)]
    assert len(scene.all("relay")) == 100  # each of the other train's hits did its work
    assert scene.all("mode") == [(1, 0, w.M_RUNNING)]  # a caution, never a fault
    assert scene.c.logic.feeds == 1  # nothing is held
    scene.at(20_000, raw=0).at(20_100)
    assert scene.all("clear") == [(20_000 + 8 + REARM_MS, 0, w.C_REST)]


@pytest.mark.parametrize("seed", range(5))
def test_a_chattering_magnet_gives_one_pulse_and_one_caution(seed: int) -> None:
    """A thousand closings, none of them after an opening as long as rearm; the other train goes on."""
    rng = Random(seed)
    scene = started()
    t, passes = 200, 0
    for k in range(1001):
        scene.at(t, raw=1)
        t += 5 + rng.randint(0, 30)
        scene.at(t, raw=0)
        t += 8 + rng.randint(0, REARM_MS - 6)  # opening, then less than rearm until the next is confirmed
        if k % 20 == 0:
            scene.at(t, raw=1)
            pass_over(scene, t + 10, others=1)
            t += 100
            passes += 1
            scene.at(t, raw=0)
            t += 8
    scene.at(t + 100)
    assert [r for r in scene.all("hit") if r[1] == 0] == [(205, 0, 0)]
    assert scene.all("pulse", 200) == [(205, 1, 10)]
    assert scene.all("caution") == [(205 + REST_MS, 0, w.C_REST)]
    assert scene.all("chatter")[0][1:] == (0, 1000 + passes)
    assert scene.all("clear") == [(scene.all("chatter")[0][0], 0, w.C_REST)]
    assert len([r for r in scene.all("hit") if r[1] == 1]) == passes == len(scene.all("relay"))
    assert scene.all("mode") == [(1, 0, w.M_RUNNING)]
    scene.at(t + 200, raw=1).at(t + 300)
    assert [r for r in scene.all("hit") if r[1] == 0][1:] == [(t + 205, 0, 0)]  # rearmed: it hits again


def test_glitches_shorter_than_confirm_are_nothing() -> None:
    scene = started()
    for k in range(1000):
        scene.at(200 + 10 * k, raw=1).at(200 + 10 * k + 4, raw=0)
    assert scene.all("hit") == scene.all("opening") == scene.all("chatter") == []
    assert len(scene.all("edge")) == 2000


def test_a_contact_that_opens_exactly_at_its_confirm_time_was_a_hit() -> None:
    scene = started().at(200, raw=1).at(205, raw=0).at(300)
    assert scene.all("hit") == [(205, 0, 0)]
    assert scene.all("opening") == [(213, 0, 0)]
