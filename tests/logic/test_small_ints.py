"""On a board a small int has 31 bits; beyond that it lives on the heap. Nothing in the logic goes there."""

from __future__ import annotations

from logic.drive import Player
from logic.runs import case
from logic.sessions import RING

LOW, HIGH = -(1 << 30), (1 << 30) - 1  # MicroPython on a 32-bit board


class Small(int):
    """An int that stays one through arithmetic and refuses to leave the range of a small int."""


def checked(name: str):  # type: ignore[no-untyped-def]
    plain = getattr(int, name)

    def operate(self, *other):  # type: ignore[no-untyped-def]
        result = plain(self, *other)
        if result is NotImplemented or isinstance(result, bool):
            return result
        assert LOW <= result <= HIGH, f"{name}({int(self)}, {other}) = {result}"
        return Small(result)

    return operate


for _name in ["add", "sub", "mul", "and", "or", "xor", "lshift", "rshift", "floordiv", "mod"]:
    setattr(Small, f"__{_name}__", checked(f"__{_name}__"))
    setattr(Small, f"__r{_name}__", checked(f"__r{_name}__"))
for _name in ("neg", "invert", "pos"):
    setattr(Small, f"__{_name}__", checked(f"__{_name}__"))


def small(value):  # type: ignore[no-untyped-def]
    return tuple(small(item) for item in value) if isinstance(value, tuple) else Small(value)


def test_the_check_bites() -> None:
    one = Small(1)
    assert isinstance(5 - one, Small) and isinstance(one << 3, Small)
    for wrong in (lambda: one << 30, lambda: 1 << (one + 29), lambda: -Small(HIGH) - 2):
        try:
            wrong()
        except AssertionError:
            continue
        raise AssertionError("went beyond a small int unseen")


def test_no_number_leaves_a_small_int(seeds) -> None:  # type: ignore[no-untyped-def]
    for seed in seeds.of(50_000, 60):
        plan, (base, raw, panel, steps) = case(seed)
        base = RING - 200 if seed % 2 else base
        player = Player(small(plan), (Small(base % RING), Small(raw), Small(panel), ()))
        c = player.controller
        for t, raw, panel, gap, orders in steps:
            now = Small((base + t) % RING)
            if gap:
                c.late(now, Small(gap))
            while c.advance(now, Small(raw), Small(panel)):
                pass
            for which, value in orders:
                c.order(now, Small(which), Small(value))
            c.settle(now)
            for part in (c, c.logic, c.keeper):
                for name, value in vars(part).items():
                    values = value if isinstance(value, list) else [value]
                    wrong = [n for n in values if isinstance(n, int) and not LOW <= n <= HIGH]
                    assert not wrong, f"{name}: {wrong}; {seeds.again(seed)}"
