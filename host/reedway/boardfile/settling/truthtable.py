"""All cases of a few bits at once: a value is one long number with a bit for each case.

Case c of n variables is the one in which variable i is bit i of c. One operation on such numbers works
out all 2**n cases, so that standing rules can be tried in every case there is.
"""

from __future__ import annotations

from reedlogic import words as w
from reedway.boardfile.settling.bitrules import CLEAR, FOLLOW, PHYSICAL, Bit, BitRule

VARIABLES_MAX = 20  # a million cases: an operation takes some ten microseconds


class Table:
    """The cases of some variables, and passes of rules over them."""

    def __init__(self, variables: list[Bit], rules: list[BitRule], thrown: set[int]) -> None:
        assert len(variables) <= VARIABLES_MAX
        self.variables = variables
        self.rules = rules
        self.thrown = thrown
        self.size = 1 << len(variables)
        self.all = (1 << self.size) - 1
        self.place = {bit: i for i, bit in enumerate(variables)}
        self.columns = [self._column(i) for i in range(len(variables))]

    def _column(self, i: int) -> int:
        """Variable i in every case: blocks of 2**i zeros and ones in turn."""
        column, size = ((1 << (1 << i)) - 1) << (1 << i), 2 << i
        while size < self.size:
            column |= column << size
            size *= 2
        return column

    def start(self) -> dict[Bit, int]:
        """Each variable as it is in each case; what is only written begins as it may change most."""
        cleared = {bit: 0 for rule in self.rules for effect, bit in rule.acts if effect != CLEAR}
        only_written = {bit: cleared.get(bit, self.all) for rule in self.rules for bit in rule.writes()}
        return {**only_written, **dict(zip(self.variables, self.columns, strict=True))}

    def value(self, values: dict[Bit, int], bit: Bit) -> int:
        if bit[0] == w.W_KNOWN and bit[1] in self.thrown:
            wanted, lies = values[w.W_WANTED, bit[1]], values[w.W_POSITION, bit[1]]
            return values[PHYSICAL, bit[1]] & (self.all ^ wanted ^ lies)
        return values[bit]

    def run(self, values: dict[Bit, int], rule: BitRule) -> None:
        """One rule in all cases: acts where its literals hold."""
        holds = self.all
        for bit, want in rule.literals:
            value = self.value(values, bit)
            holds &= value if want else self.all ^ value
            if not holds:
                break
        for effect, bit in rule.acts:
            if effect == FOLLOW:
                values[bit] = holds
            elif effect == CLEAR:
                values[bit] &= self.all ^ holds
            else:
                values[bit] |= holds

    def one_pass(self, values: dict[Bit, int]) -> int:
        """All rules in order; the cases in which something is different afterwards."""
        before = dict(values)
        for rule in self.rules:
            self.run(values, rule)
        changed = 0
        for bit, value in values.items():
            changed |= value ^ before[bit]
        return changed

    def free(self, cases: int, bits: set[Bit]) -> int:
        """The cases that differ from one of these in no other bits than the given ones."""
        for bit in bits:
            if bit in self.place:
                i = self.place[bit]
                ones = cases & self.columns[i]
                zeros = cases ^ ones
                cases |= ones >> (1 << i) | zeros << (1 << i)
        return cases

    def where(self, fixed: dict[Bit, bool]) -> int:
        """The cases in which these bits are so."""
        cases = self.all
        for bit, want in fixed.items():
            if bit in self.place:
                column = self.columns[self.place[bit]]
                cases &= column if want else self.all ^ column
        return cases

    def case(self, cases: int) -> dict[Bit, bool]:
        """The first of some cases."""
        number = (cases & -cases).bit_length() - 1
        return {bit: bool(number >> i & 1) for i, bit in enumerate(self.variables)}
