"""Runs unchanged on CPython and MicroPython: COUNT random lines built, damaged and read; prints them all."""

import sys

from reedboard.receiver import Receiver
from reedboard.sender import Sender

FROM_BOARD, TO_BOARD = b"@", b"#"


class Chance:
    """A linear congruential generator (Numerical Recipes' constants), the same everywhere."""

    def __init__(self, seed):
        self.state = seed

    def below(self, n):
        self.state = (self.state * 1664525 + 1013904223) & 0xFFFFFFFF
        return (self.state >> 8) % n


class Wire:
    """Takes every byte."""

    def __init__(self):
        self.taken = bytearray()

    def write_byte(self, byte):
        self.taken.append(byte)
        return True


def built(chance, wire, sender):
    """A line with up to 16 fields, as the board sends it."""
    sender.begin(97 + chance.below(26))
    for _ in range(chance.below(17)):
        if chance.below(8) == 0 and sender.count < 3:
            sender.add(-1 - chance.below(3))
        else:
            sender.add(chance.below(1 << chance.below(24)) << chance.below(7))
    sender.end()
    while sender.step():
        pass
    line = bytes(wire.taken)
    wire.taken = bytearray()
    return line


def damaged(chance, line):
    """Mostly whole; else a byte changed, dropped or doubled."""
    data = bytearray(line)
    what, at = chance.below(6), chance.below(len(line))
    if what == 0:
        data[at] = 32 + chance.below(95)
    elif what == 1:
        data = data[:at] + data[at + 1 :]
    elif what == 2:
        data = data[:at] + data[at : at + 1] + data[at:]
    return data


def read(data):
    """What the board makes of it."""
    receiver = Receiver()
    found = [receiver.feed(byte) for byte in data]
    if True not in found:
        return "refused %d" % receiver.refused
    return "%d %d %s" % (receiver.kind, receiver.sequence, list(receiver.fields)[: receiver.count])


def turned(line):
    """A line of the board as one to the board: another first byte, so the checks are those of the new one."""
    from reedboard.crc import TABLE, checks

    body = TO_BOARD + line[1:-8]
    return body + b"*%06X\n" % checks(body, 0, len(body), 255, TABLE)


def main(count, seed):
    chance, wire = Chance(seed), Wire()
    sender = Sender(wire, (b"0.1.0", b"2040", b"5a" * 32))
    for _ in range(count):
        line = built(chance, wire, sender)
        print(line)
        print(read(damaged(chance, turned(line))))


main(int(sys.argv[1]), int(sys.argv[2]))
