"""Milliseconds on a ring of 2**29, the index of a lone bit, and how numbers are kept."""

from array import array

try:
    from micropython import const
except ImportError:

    def const(value: int) -> int:
        """CPython has no const(); the value is the value."""
        return value


try:
    import micropython as board
except ImportError:
    board = None  # CPython: memory is no matter, and a tuple and a list are quicker

MASK = const(0x1FFFFFFF)  # 2**29 - 1: a time of the ring is a small int on every board
HALF = const(0x10000000)
JUMP_MS_MAX = const(1 << 27)  # one advance may jump this far (37 hours)
KEEP_ALIVE_MS = const(1 << 26)  # a deadline is always pending within this

# INDEX[bit % 37] is the number of a lone bit 0..35: 2 is a primitive root of 37, so all remainders differ.
# (MicroPython has no int.bit_length.)
_index = bytearray(37)
for _i in range(36):
    _index[(1 << _i) % 37] = _i
INDEX = bytes(_index) if board else tuple(_index)


def zeros(count: int):  # type: ignore[no-untyped-def]
    """Numbers of 32 bits, all 0."""
    return array("I", bytes(4 * count)) if board else [0] * count
