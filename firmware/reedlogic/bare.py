"""Functions of numbers and tables alone, and how they are marked.

`build` compiles a function that is marked `bare` to bare instructions of the board's processor (viper), where
an argument marked ptr8, ptr16 or ptr32 is the address of a table of bytes or of words; everywhere else it is
the plain Python that stands there: one text, one meaning. So: whole numbers of at most 31 bits, no attribute,
no call, nothing on the heap, and tables that are bytes or from tables.py. In what `build` compiles the marks
are gone, and no module on the board imports this one.
"""

TYPE_CHECKING = False  # mypy takes it for True; `typing` is not on the board
if TYPE_CHECKING:
    from typing import Any as ptr8
    from typing import Any as ptr16
    from typing import Any as ptr32
else:
    ptr8 = ptr16 = ptr32 = object


def bare(function):  # type: ignore[no-untyped-def]
    """Mark a function; it stays what it is."""
    return function
