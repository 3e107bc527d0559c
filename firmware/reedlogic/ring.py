"""Milliseconds on a ring of 2**29, and the index of a lone bit."""

try:
    from micropython import const
except ImportError:

    def const(value: int) -> int:
        """CPython has no const(); the value is the value."""
        return value


MASK = const(0x1FFFFFFF)  # 2**29 - 1: a time of the ring is a small int on every board
HALF = const(0x10000000)
JUMP_MS_MAX = const(1 << 27)  # one advance may jump this far (37 hours)
KEEP_ALIVE_MS = const(1 << 26)  # a deadline is always pending within this

# INDEX[bit % 37] is the number of a lone bit 0..35: 2 is a primitive root of 37, so all remainders differ.
# (MicroPython has no int.bit_length.)
_index = bytearray(37)
for _i in range(36):
    _index[(1 << _i) % 37] = _i
INDEX = bytes(_index)
