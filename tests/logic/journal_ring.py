"""On both interpreters: records one at a time and by the word, into rings of many sizes, against a list."""

import sys

from reedlogic.journal import Journal


class Draw:
    """The same numbers on every interpreter (constants of Numerical Recipes' quick generator)."""

    def __init__(self, seed):
        self.state = seed

    def below(self, end):
        self.state = (self.state * 1664525 + 1013904223) & 0xFFFFFFFF
        return (self.state >> 8) % end

    def word(self):
        """Of few bits, of many or of all."""
        bits = 0 if self.below(3) else (1 << 30) - 1
        for _ in range(self.below(4) if self.below(3) else 30):
            bits |= 1 << self.below(30)
        return bits


class Plain:
    """The same with a list."""

    def __init__(self, size):
        self.size, self.records, self.lost = size, [], 0

    def put(self, *record):
        self.records.append(record)
        if len(self.records) > self.size:
            self.records.pop(0)
            self.lost += 1

    def put_bits(self, time, kind, base, bits, word):
        for i in range(30):
            if bits >> i & 1:
                self.put(time, kind, base + i, word >> i & 1)


def held(journal):
    return [
        (journal.time(i), journal.kind(i), journal.which(i), journal.value(i)) for i in range(journal.held())
    ]


def main(count, seed):
    draw = Draw(seed)
    for _ in range(count):
        size = 1 + draw.below(100)
        journal, plain = Journal(size), Plain(size)
        for now in range((1 << 29) - 40, 1 << 29):
            what = draw.below(8)
            if what < 4:
                given = now, draw.below(31), 30 * draw.below(4), draw.word(), draw.word()
                journal.put_bits(*given)
                plain.put_bits(*given)
            elif what < 7:
                given = now, draw.below(31), draw.below(128), draw.below(1 << 18)
                journal.put(*given)
                plain.put(*given)
            else:
                n = min(draw.below(60), journal.held())
                journal.drop(n)
                del plain.records[:n]
            if held(journal) != plain.records or journal.lost != plain.lost:
                raise AssertionError("size %d: %s and %s" % (size, held(journal), plain.records))
    print("alike", draw.state)


main(int(sys.argv[1]), int(sys.argv[2]))
