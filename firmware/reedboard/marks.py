"""Marks that outlive a reset: what was going on, and which fault stood; main.py has a copy of the numbers.

Two scratch registers of the watchdog. The first holds MAGIC, the mark and the kept fault; the second the
time of the last good scan: the chip's clock begins again at 0 with every reset but the soft one, and so a
time that has gone on tells a soft reset from a watchdog bite.
"""

MAGIC = 0x2D57  # bits 16 to 29
NOTHING, RUNNING, RESET, MAINTENANCE = 0, 1, 2, 3  # marks, bits 12 to 15

# Reset causes as the hello says them.
POWER_ON, BITE, SOFT, ASKED, ASKED_MAINTENANCE, UNKNOWN = 0, 1, 2, 3, 4, 5


def pack(mark: int, fault: int) -> int:
    """The first scratch word; fault is cause * 128 + index + 1, or 0."""
    return MAGIC << 16 | mark << 12 | fault & 0xFFF


def cause_of(word: int, last_scan: int, now: int) -> int:
    """Why the board began anew, from the scratch words as they were found and the chip's clock."""
    if word >> 16 != MAGIC:
        return POWER_ON
    mark = word >> 12 & 15
    if mark == RESET:
        return ASKED
    if mark == MAINTENANCE:
        return ASKED_MAINTENANCE
    if now >= last_scan:
        return SOFT
    return BITE if mark == RUNNING else UNKNOWN


def fault_of(word: int) -> int:
    """The fault that stood, or 0."""
    return word & 0xFFF if word >> 16 == MAGIC else 0
