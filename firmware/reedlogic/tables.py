"""Tables of words: arrays on MicroPython, which bare functions read; on CPython lists, the fastest there."""

from .bare import bare, ptr32

if not hasattr(int, "bit_length"):  # MicroPython
    from array import array

    def table(numbers) -> list:  # type: ignore[no-untyped-def]
        """A table with these numbers."""
        return array("I", numbers)  # type: ignore[return-value]

    @bare
    def copy(words: ptr32, into: ptr32, count: int) -> int:
        """A table into another of the same length."""
        for k in range(count):
            into[k] = words[k]
        return 0

else:

    def table(numbers) -> list:  # type: ignore[no-untyped-def]
        return list(numbers)

    def copy(words: list, into: list, count: int) -> int:
        into[:] = words
        return 0


@bare
def new_words(words: ptr32, old: ptr32, count: int) -> int:
    """Bit k: word k is another than it was."""
    new = 0
    for k in range(count):
        if words[k] != old[k]:
            new |= 1 << k
    return new
