"""The talk with the computer: commands in; answers, records, state and status out."""

from reedlogic.journal import VALUE_MAX
from reedlogic.keeper import PULSE
from reedlogic.ring import MASK
from reedlogic.words import (
    M_BEFORE,
    M_FAULT,
    M_MAINTENANCE,
    M_STOPPED,
    W_HELD,
    W_KNOWN,
    W_POSITION,
    W_WANTED,
)

from .marks import MAINTENANCE, RESET
from .receiver import Receiver
from .sender import Sender
from .tally import END

PROTOCOL = 3
STATE_STEP = 12  # numbers of a snapshot in one line
DONE, NOT_NOW, NOT_UNDERSTOOD, OUT_OF_ORDER = 0, 1, 2, 3
# What waits to be said, in this order.
SAY_ANSWER, SAY_HELLO, SAY_STATUS, SAY_TALLY, SAY_STATE, SAY_PART = 1, 2, 4, 8, 16, 32
BYTES = 4  # out, between two looks for one that has come in
BYTES_IN = 64  # a line, after which one may go out though more comes in

# Letters of the lines.
HELLO, RECORD, STATE, STATUS, TALLY, ANSWER = 104, 114, 115, 113, 116, 97
CONFIRM, ORDER, TO_MAINTENANCE, TO_RESET, WATCH = 107, 111, 109, 122, 119


class Link:
    """Steps are small: one byte in, one byte out, or one line built."""

    def __init__(self, board, port, texts: tuple) -> None:  # type: ignore[no-untyped-def]
        self.board = board
        self.controller = board.controller
        self.port = port
        self.sender = Sender(port, texts)
        self.receiver = Receiver()
        self.feed = board.journal_feed
        self.command = -1  # sequence number of the last command; none before a hello
        self.result = DONE  # of that command
        self.answered = 0  # what the answer on its way is about
        self.answer = DONE
        self.to_say = SAY_HELLO
        self.wants_birth = False  # as the state that is asked for
        self.tally_row = 0
        self.sent = 0  # bytes since the last look for one that has come in
        self.heard = 0  # bytes since it was looked whether there is something to say
        self.state: list = []  # a snapshot on its way
        self.state_at = 0
        self.state_record = 0
        self.state_time = 0

    def step(self, now: int) -> bool:
        """One small piece of work; False when there was nothing to do."""
        sender = self.sender
        if sender.size and self.sent < BYTES:
            self.sent += 1
            if sender.step():
                return True
        self.sent = 0
        is_turn = self.heard == BYTES_IN  # of what there is to say
        byte = -1 if is_turn else self.port.read_byte()
        if byte >= 0:
            self.heard += 1
            if self.receiver.feed(byte):
                self._take(now)
            return True
        self.heard = 0
        if sender.is_free() and (self.to_say or self.feed.has_more()) and self._say(now):
            return True
        return sender.step() or is_turn

    # -- commands ---------------------------------------------------------------------------------------

    def _take(self, now: int) -> None:
        receiver = self.receiver
        kind = receiver.kind
        if kind == CONFIRM:
            if receiver.count == 1:
                self.feed.confirm(receiver.fields[0], now)
            return
        if kind == WATCH:
            if not receiver.count:
                self.board.watch(now)
            return
        if kind == HELLO:
            self.command = receiver.sequence
            self.result = self.answer = DONE
            self.to_say |= SAY_HELLO
        elif self.command >= 0 and receiver.sequence == self.command + 1 & 255:
            self.command = receiver.sequence
            self.result = self.answer = self._carry_out(kind, now)
        elif receiver.sequence == self.command:
            self.answer = self.result  # the same line again: the same answer
        else:
            self.answer = OUT_OF_ORDER
        self.answered = receiver.sequence
        self.to_say |= SAY_ANSWER

    def _carry_out(self, kind: int, now: int) -> int:
        receiver = self.receiver
        if kind == ORDER:
            if receiver.count != 2:
                return NOT_UNDERSTOOD
            self.board.watch(now)
            return DONE if self.board.ask(receiver.fields[0], receiver.fields[1]) else NOT_NOW
        if kind == STATE and receiver.count == 1:
            self.wants_birth = True
            self.to_say |= SAY_STATE
            return DONE
        if receiver.count:
            return NOT_UNDERSTOOD
        if kind == STATUS:
            self.to_say |= SAY_STATUS
        elif kind == TALLY:
            self.tally_row = 0
            self.to_say |= SAY_TALLY
        elif kind == STATE:
            self.to_say |= SAY_STATE
        elif kind == TO_MAINTENANCE or kind == TO_RESET:
            mode = self.controller.logic.mode
            if mode != M_BEFORE and mode != M_FAULT and mode != M_MAINTENANCE and mode != M_STOPPED:
                return NOT_NOW
            if self.board.keeper.phase == PULSE:  # no running pulse is cut
                return NOT_NOW
            self.board.reset_to = MAINTENANCE if kind == TO_MAINTENANCE else RESET
            self.board.is_busy = True  # the loop looks at it in a whole scan
        else:
            return NOT_UNDERSTOOD
        return DONE

    def _take_state(self) -> None:
        """A snapshot of now, which is between two scans, or of the first look, to be sent slowly."""
        board = self.board
        self.to_say &= ~SAY_PART  # of a state before this one
        self.state_at = 0
        if self.wants_birth:
            self.wants_birth = False
            self.state = board.birth
            self.state_record = 0
            self.state_time = board.birth_time
            return
        self.state = board.snapshot()
        self.state_record = self.feed.end()
        self.state_time = board.last

    # -- lines ------------------------------------------------------------------------------------------

    def _say(self, now: int) -> bool:
        """Build one line: what waits to be said, else a record."""
        sender = self.sender
        said = self.to_say & -self.to_say
        self.to_say ^= said
        if said == SAY_ANSWER:
            sender.begin(ANSWER)
            sender.add(self.answered)
            sender.add(self.answer)
        elif said == SAY_HELLO:
            self._hello(now)
        elif said == SAY_STATUS:
            self._status(now)
        elif said == SAY_TALLY:
            sender.begin(TALLY)
            sender.add(self.tally_row)
            self.tally_row = self.board.tally.add_row(self.tally_row, sender)
            if self.tally_row != END:
                self.to_say |= SAY_TALLY
        elif said == SAY_STATE:
            self._take_state()
            self._state_part()
        elif said == SAY_PART:
            self._state_part()
        else:
            place = self.feed.due((now - self.feed.listens_until) & MASK)
            if place < 0:
                return False
            self._record(place)
        sender.end()
        return True

    def _record(self, place: int) -> None:
        sender = self.sender
        journal = self.controller.journal
        slot = journal.slot(place)
        data = journal.data[slot]
        sender.begin(RECORD)
        fields = sender.fields
        fields[0] = self.feed.next
        fields[1] = journal.times[slot]
        fields[2] = data >> 25
        fields[3] = data >> 18 & 127
        fields[4] = data & VALUE_MAX
        sender.count = 5
        self.feed.next += 1

    def _hello(self, now: int) -> None:
        sender = self.sender
        sender.begin(HELLO)
        sender.add(PROTOCOL)
        sender.add(-1)  # texts: firmware version, chip, layout hash
        sender.add(-2)
        sender.add(-3)
        sender.add(self.board.reset_cause)
        sender.add(self.board.kept_fault)
        sender.add(now)
        sender.add(self.controller.logic.mode)

    def _status(self, now: int) -> None:
        sender = self.sender
        controller = self.controller
        logic = controller.logic
        words = logic.words
        sender.begin(STATUS)
        sender.add(now)
        sender.add(logic.mode)
        sender.add(controller.raw)
        sender.add(controller.panel)
        sender.add(logic.feeds)
        sender.add(logic.lamps)
        for word in STATUS_WORDS:
            sender.add(words[word])
        sender.add(self.feed.end())
        sender.add(self.feed.oldest())
        sender.add(self.board.late_scans)
        sender.add(self.receiver.refused)
        sender.add(self.board.unwatched)
        sender.add(logic.fault + 1)

    def _state_part(self) -> None:
        sender = self.sender
        sender.begin(STATE)
        sender.add(self.state_record)
        sender.add(self.state_time)
        sender.add(len(self.state))
        sender.add(self.state_at)
        end = min(self.state_at + STATE_STEP, len(self.state))
        for i in range(self.state_at, end):
            sender.add(self.state[i])
        self.state_at = end
        if end < len(self.state):
            self.to_say |= SAY_PART


STATUS_WORDS = (W_POSITION, W_KNOWN, W_WANTED, W_HELD)
