"""Small plans written by hand, and runs of them with records in words."""

from reedlogic import words as w
from reedlogic.controller import Controller

NAMES = {
    value: name[2:].lower() for name, value in vars(w).items() if name.startswith("R_") and name != "R_KINDS"
}
START = (w.O_START, w.NONE)
SENSOR = (w.IN_SENSOR, 5, 5, 20, 0)
LEVEL = (w.IN_LEVEL, 5, 5, 0, 0)


def turnout(a: int, b: int, **other: int) -> tuple[int, ...]:
    """A turnout of coils a and b; everything else has a plain value unless named."""
    values = {"pulse": 10, "supply": 0, "after": 0, "refresh": 50, "pulses": 4, "cool": 1000}
    values |= {"first": w.NONE, "second": w.NONE, "wait": 20}
    return (a, b, *(values | other).values())


def plan(**parts: object) -> tuple:
    """A plan with one sensor, one block and one start, and the parts given."""
    values: dict[str, object] = {
        "limits": (20, 5, 2000, 0),
        "inputs": (SENSOR,),
        "panel": (),
        "buttons": (),
        "relays": (4, 0, 0, 0, 0),
        "blocks": (1, 0),
        "places": (1,),
        "turnouts": (),
        "supplies": ((0, 0, 0, 0),),
        "timers": (50,),
        "cautions": (0,),
        "messages": (1, 1),
        "lamps": (),
        "power": w.NONE,
        "at": (),
        "standing": (),
        "starts": (((), (0, 0, 0, 0), 0, 0, 0),),
    }
    assert not set(parts) - set(values)
    return tuple((values | parts).values())


class Scene:
    """A controller at time 0; `at` moves it on, `told` is what it recorded as (ms, kind, which, value)."""

    def __init__(self, small_plan: tuple, raw: int = 0, started: bool = True) -> None:
        self.c = Controller(small_plan)
        self.c.begin(0, raw, 0)
        self.raw = raw
        self.told: list[tuple[int, str, int, int]] = []
        if started:
            self.at(1, START)

    def at(self, now: int, *orders: tuple[int, int], raw: int | None = None, gap: int = 0) -> "Scene":
        """One scan at `now`: contacts, orders; `gap`: ms since the last scan if that is too long."""
        self.raw = self.raw if raw is None else raw
        if gap:
            self.c.late(now, gap)
        while self.c.advance(now, self.raw, 0):
            pass
        for order in orders:
            self.c.order(now, *order)
        self.c.settle(now)
        j = self.c.journal
        self.told += [(j.time(i), NAMES[j.kind(i)], j.which(i), j.value(i)) for i in range(j.held())]
        j.clear()
        return self

    def all(self, kind: str, since: int = 0) -> list[tuple[int, int, int]]:
        """(ms, which, value) of all records of one kind."""
        return [(t, which, value) for t, name, which, value in self.told if name == kind and t >= since]
