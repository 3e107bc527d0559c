"""The starts of a layout as words: switches, relays, positions, blocks that go, places with a train."""

from __future__ import annotations

from reedlogic import words as w
from reedway.boardfile.grammar import throwables
from reedway.boardfile.numbering import Numbering
from reedway.boardfile.sentences import SentenceError, Sentences, plain
from reedway.layout.model import Start, Text
from reedway.layout.near import did_you_mean
from reedway.problems import Complaint

StartPlan = tuple[tuple[int, ...], tuple[int, int, int, int], int, int, int]


def compile_starts(
    numbering: Numbering, sentences: Sentences, complaints: list[Complaint]
) -> tuple[StartPlan, ...]:
    """All starts; complaints are added to the list."""
    maker = _Maker(numbering, sentences, complaints)
    return tuple(maker.start(start) for start in numbering.layout.starts)


class _Maker:
    def __init__(self, numbering: Numbering, sentences: Sentences, complaints: list[Complaint]) -> None:
        self.numbering = numbering
        self.sentences = sentences
        self.complaints = complaints

    def complain(self, line: int, message: str) -> None:
        self.complaints.append(Complaint(self.numbering.layout.path, line, message))

    def start(self, start: Start) -> StartPlan:
        return (
            self._switches(start),
            self._relays(start),
            self._positions(start),
            self._bits(start, "block", start.go, self.numbering.blocks),
            self._bits(start, "place", start.trains_at, self.numbering.places),
        )

    def _bits(self, start: Start, kind: str, names: list[Text], known: dict[str, int]) -> int:
        bits = 0
        for text in names:
            index = known.get(plain(text.text))
            if index is None:
                hint = did_you_mean(text.text, known)
                self.complain(text.line, f"start {start.name}: there is no {kind} '{text}'; {hint}")
            else:
                bits |= 1 << index
        return bits

    def _switches(self, start: Start) -> tuple[int, ...]:
        merged: dict[int, tuple[int, int]] = {}
        switches = [item for item in self.numbering.inputs if item.kind == "switch"]
        for text in start.switches:
            try:
                ((word, mask, value),) = self.sentences.condition(text.text).bits[:1]
            except SentenceError as error:
                self.complain(text.line, f"start {start.name}: {error}")
                continue
            if not any(item.word == word and item.bit == mask for item in switches):
                sentences = [f"{item.name} {state}" for item in switches for state in item.words]
                self.complain(
                    text.line,
                    f"start {start.name}: '{text}' is not about a switch; "
                    f"a start is chosen by switches; {did_you_mean(text.text, sentences)}",
                )
                continue
            old_mask, old_value = merged.get(word, (0, 0))
            if old_mask & mask and (old_value ^ value) & mask:
                self.complain(
                    text.line,
                    f"start {start.name}: '{text}' contradicts another switch of this start; "
                    f"a switch stands one way; remove one",
                )
                continue
            merged[word] = (old_mask | mask, old_value | value)
        return tuple(number for word in sorted(merged) for number in (word, *merged[word]))

    def _relays(self, start: Start) -> tuple[int, int, int, int]:
        words = [0, 0, 0, 0]
        layout = self.numbering.layout
        for text in start.relays_in:
            index = self.numbering.relays.get(plain(text.text))
            if index is None:
                hint = did_you_mean(text.text, [relay.name for relay in layout.relays])
                self.complain(text.line, f"start {start.name}: there is no relay '{text}'; {hint}")
            elif layout.relays[index].follows is not None:
                self.complain(
                    text.line,
                    f"start {start.name}: relay {text} follows its pulled_in_while (line "
                    f"{layout.relays[index].line}); only other relays can be given a side; remove it here",
                )
            elif index < 4 * w.WORD_BITS:
                words[index // w.WORD_BITS] |= 1 << index % w.WORD_BITS
        return (words[0], words[1], words[2], words[3])

    def _positions(self, start: Start) -> int:
        """The word of wanted positions; a turnout that is not named starts in its first position."""
        table = {
            plain(f"{name} to {position}"): (first, second)
            for name, positions in throwables(self.numbering)
            for position, first, second in positions
            if position
        }
        to_first = to_second = 0
        for text in start.turnouts:
            found = table.get(plain(text.text))
            if found is None:
                self.complain(
                    text.line,
                    f"start {start.name}: '{text}' is no position; written as TURNOUT to POSITION or "
                    f"GANG to POSITION; {did_you_mean(text.text, table)}",
                )
                continue
            if found[0] & to_second or found[1] & to_first:
                self.complain(
                    text.line,
                    f"start {start.name}: '{text}' contradicts an earlier position of this start; "
                    f"a turnout starts in one; remove one",
                )
                continue
            to_first |= found[0]
            to_second |= found[1]
        return to_second
