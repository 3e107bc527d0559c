"""The talk with the computer: commands in; answers, records, state and status out."""

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

PROTOCOL = 2
STATE_STEP = 12  # numbers of a snapshot in one line
DONE, NOT_NOW, NOT_UNDERSTOOD, OUT_OF_ORDER = 0, 1, 2, 3
NOTHING = -1

# Letters of the lines.
HELLO, RECORD, STATE, STATUS, TALLY, ANSWER = 104, 114, 115, 113, 116, 97
CONFIRM, ORDER, TO_MAINTENANCE, TO_RESET, WATCH = 107, 111, 109, 122, 119


class Link:
    """Steps are small: one byte in, or one field or byte out."""

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
        self.wants_answer = False
        self.wants_hello = True
        self.wants_status = self.wants_state = self.wants_birth = False
        self.tally_row = NOTHING
        self.state: list = []  # a snapshot on its way
        self.state_at = 0
        self.state_record = 0
        self.state_time = 0

    def step(self, now: int) -> bool:
        """One small piece of work; False when there was nothing to do."""
        byte = self.port.read_byte()
        if byte >= 0:
            if self.receiver.feed(byte):
                self._take(now)
            return True
        sender = self.sender
        if sender.is_free() and self._begin_line(now):
            return True
        return sender.step()

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
            self.wants_hello = True
        elif self.command >= 0 and receiver.sequence == self.command + 1 & 255:
            self.command = receiver.sequence
            self.result = self.answer = self._carry_out(kind, now)
        elif receiver.sequence == self.command:
            self.answer = self.result  # the same line again: the same answer
        else:
            self.answer = OUT_OF_ORDER
        self.answered = receiver.sequence
        self.wants_answer = True

    def _carry_out(self, kind: int, now: int) -> int:
        receiver = self.receiver
        if kind == ORDER:
            if receiver.count != 2:
                return NOT_UNDERSTOOD
            self.board.watch(now)
            return DONE if self.board.ask(receiver.fields[0], receiver.fields[1]) else NOT_NOW
        if kind == STATE and receiver.count == 1:
            self.wants_state = self.wants_birth = True
            return DONE
        if receiver.count:
            return NOT_UNDERSTOOD
        if kind == STATUS:
            self.wants_status = True
        elif kind == TALLY:
            self.tally_row = 0
        elif kind == STATE:
            self.wants_state = True
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

    def _begin_line(self, now: int) -> bool:
        sender = self.sender
        if self.wants_answer:
            self.wants_answer = False
            sender.begin(ANSWER)
            sender.add(self.answered)
            sender.add(self.answer)
        elif self.wants_hello:
            self.wants_hello = False
            self._hello(now)
        elif self.wants_status:
            self.wants_status = False
            self._status(now)
        elif self.tally_row >= 0:
            sender.begin(TALLY)
            sender.add(self.tally_row)
            self.tally_row = self.board.tally.add_row(self.tally_row, sender)
        elif self.wants_state:
            self.wants_state = False
            self._take_state()
            self._state_part()
        elif self.state_at < len(self.state):
            self._state_part()
        else:
            place = self.feed.due((now - self.feed.listens_until) & MASK)
            if place < 0:
                return False
            self._record(place)
        return True

    def _record(self, place: int) -> None:
        sender = self.sender
        journal = self.controller.journal
        sender.begin(RECORD)
        sender.add(self.feed.next)
        sender.add(journal.time(place))
        sender.add(journal.kind(place))
        sender.add(journal.which(place))
        sender.add(journal.value(place))
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

    def _state_part(self) -> None:
        sender = self.sender
        sender.begin(STATE)
        sender.add(self.state_record)
        sender.add(self.state_time)
        sender.add(len(self.state))
        sender.add(self.state_at)
        for i in range(self.state_at, min(self.state_at + STATE_STEP, len(self.state))):
            sender.add(self.state[i])
        self.state_at += STATE_STEP


STATUS_WORDS = (W_POSITION, W_KNOWN, W_WANTED, W_HELD)
