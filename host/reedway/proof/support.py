"""What an event can depend on and what it can change, read off the rules: the rest of the state is idle.

Two states that agree in these bits are changed alike by the event; so its effect is worked out once, by the
controller, and looked up for all others. Read too much costs time; too little would be wrong, and is
looked for by comparing with the controller, transition by transition, in the tests.
"""

from __future__ import annotations

from collections.abc import Iterable

from reedlogic import words as w
from reedway.proof import packing as p
from reedway.proof.packing import Packing

ALL = (1 << 30) - 1
_THROWS = (w.OP_THROW_A, w.OP_THROW_B)
Bits = dict[int, int]  # number of a saved state -> bits of it


class Support:
    """Reads one plan. `of(number)` is None when an event may depend on everything."""

    def __init__(self, plan: tuple, packing: Packing) -> None:
        self.packing = packing
        self.at: dict[int, tuple] = {event[0]: event[1:] for event in plan[w.PLAN_AT]}
        self.standing = [(self._reads(rule), self._writes(rule)) for rule in plan[w.PLAN_STANDING]]

    @staticmethod
    def _reads(rule: tuple) -> Bits:
        conditions = rule[0]
        reads: Bits = {}
        for j in range(0, len(conditions), 3):
            _add(reads, conditions[j], conditions[j + 1])
        return reads

    @staticmethod
    def _writes(rule: tuple) -> Bits:
        acts = rule[1]
        writes: Bits = {}
        for j in range(0, len(acts), 3):
            op, word, mask = acts[j], acts[j + 1], acts[j + 2]
            if op in _THROWS:
                _add(writes, p.WANTED, mask)
                _add(writes, w.W_KNOWN, mask)
            elif op in (w.OP_START, w.OP_RESTART, w.OP_CANCEL):
                _add(writes, w.W_TIMER, mask)
            elif word == w.W_FAULT:
                _add(writes, p.FAULT, mask)
                _add(writes, p.MODE, ALL)
            elif word == w.W_CAUTION:
                _add(writes, w.W_CAUTION, mask)
                _add(writes, w.W_HELD, ALL)
            elif word not in (w.W_LAMP, w.W_NOTE):
                _add(writes, word, mask)
        return writes

    def of(self, numbers: Iterable[int], changed: Bits) -> int | None:
        """The bits of a packed state that matter to these events, which change `changed` to begin with."""
        cone: Bits = dict(changed)
        reads: Bits = {p.FLAGS: ALL, p.MODE: ALL, p.CAUSE: ALL}
        rules: list[tuple[Bits, Bits]] = []
        for number in numbers:
            rules += [(self._reads(rule), self._writes(rule)) for rule in self.at.get(number, ())]
        for rule_reads, rule_writes in rules:
            _join(reads, rule_reads)
            _join(cone, rule_writes)
        self._follow(cone, reads)
        if cone.get(p.MODE):
            return None
        self._gate(cone, reads)
        _join(reads, cone)
        return sum(self.packing.mask(index, bits) for index, bits in reads.items())

    def _follow(self, cone: Bits, reads: Bits) -> None:
        """Standing rules that read or write what changes, and turnouts asked back: until nothing is added."""
        known: Bits = {}
        while known != cone:
            known = dict(cone)
            for rule_reads, rule_writes in self.standing:
                if _meet(rule_reads, cone) or _meet(rule_writes, cone):
                    _join(reads, rule_reads)
                    _join(cone, rule_writes)
            wanted = cone.get(p.WANTED, 0)
            for turnout in range(self.packing.turnouts):
                if wanted >> turnout & 1:
                    for rule in self.at.get(w.E_POSITION << w.EVENT_SHIFT | turnout, ()):
                        _join(reads, self._reads(rule))
                        _join(cone, self._writes(rule))

    @staticmethod
    def _gate(cone: Bits, reads: Bits) -> None:
        """What the feeds are worked out from."""
        turnouts = (w.W_KNOWN, w.W_POSITION, p.WANTED, p.PHYSICAL)
        if any(cone.get(index) for index in turnouts):
            for index in (*turnouts, w.W_GO, w.W_HELD, p.FEEDS):
                _add(reads, index, ALL)
            return
        blocks = cone.get(w.W_GO, 0) | cone.get(w.W_HELD, 0)
        if blocks:
            for index in (w.W_GO, w.W_HELD, p.FEEDS):
                _add(reads, index, blocks)
            _add(reads, w.W_KNOWN, ALL)


def _add(bits: Bits, index: int, mask: int) -> None:
    bits[index] = bits.get(index, 0) | mask


def _join(bits: Bits, others: Bits) -> None:
    for index, mask in others.items():
        _add(bits, index, mask)


def _meet(bits: Bits, others: Bits) -> bool:
    return any(mask & others.get(index, 0) for index, mask in bits.items())
