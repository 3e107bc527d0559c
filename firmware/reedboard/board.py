"""One scan: look at every input once, let the logic decide, put each event's outputs out before the next."""

from reedlogic.controller import Controller
from reedlogic.ring import HALF, MASK
from reedlogic.snapshot import save
from reedlogic.words import (
    F_LATE,
    F_OUT_OF_STEP,
    O_BOARD_FAULT,
    O_LIGHT,
    O_UNWATCHED,
    PLAN_LIMITS,
    W_GO,
    W_LAMP,
)

from .blink import Blink
from .journalfeed import JournalFeed
from .tally import Tally
from .terminals import Terminals, moved

LATE_FAULT_MS = 250  # half the watchdog's time: past this the show stops
# In maintenance everything goes off so long after the computer was last heard. It says every 0.5 s that it is
# there (walking/watching.py): three can be lost; and a train at a walking owner's speed, 0.3 m/s, goes 0.6 m.
WATCH_MS = 2000
ORDERS_MAX = 8
LED = 1 << 25
BLINK_MASK = 63  # the board's lamp is looked after every 64 ms
PULSE_MS_MAX = 250
VALUE_END = 1 << 18  # of an order, as a record holds it
NONE = -1


class Board:
    """Everything between pins and logic. `pins` is the thin layer: of the chip, or of a virtual board."""

    def __init__(self, plan: tuple, pins, terminals: Terminals, records: int) -> None:  # type: ignore[no-untyped-def]
        self.controller = Controller(plan, records)
        self.keeper = self.controller.keeper
        self.logic = self.controller.logic
        self.pins = pins
        self.terminals = terminals
        self.input_mask = terminals.input_mask
        self.panel_mask = terminals.panel_mask
        self.is_shadow = terminals.is_shadow
        self.arm = 0 if self.is_shadow else terminals.arm
        self.late_ms = plan[PLAN_LIMITS][0]
        self.is_busy = False  # something waits for the next scan, also when no input changes
        self.journal_feed = JournalFeed(self.controller.journal)
        self.tally = Tally(self.journal_feed)
        self.blink = Blink(self.logic)
        self.orders = [0] * (2 * ORDERS_MAX)
        self.order_count = 0
        self.word = 0  # input pins as last seen, closed = 1
        self.raw = 0
        self.panel_word = 0
        self.panel = 0
        self.feeds = self.supplies = self.lamps = 0
        self.out = 0  # feed and supply pins that are high
        self.lamp_word = 0  # what the lamps' registers show
        self.lit = 0
        self.last = 0
        self.late_scans = 0
        self.worst_gap_ms = 0
        self.board_fault = NONE  # found out by the board, told to the logic in the scan's turn of orders
        self.is_watched = False  # in maintenance: a computer says that it is there
        self.watched_until = 0
        self.unwatched = 0  # times that everything went off because none did
        self.fault = self.logic.fault
        self.reset_cause = 0
        self.kept_fault = 0
        self.reset_to = 0  # mark of a reset that was asked for
        self.birth: list = []  # snapshot of the first look: where a log of everything since can begin
        self.birth_time = 0

    # -- inputs -----------------------------------------------------------------------------------------

    def look(self) -> None:
        """Every GPIO in one read; bits move into file order only when one changed."""
        if not self.pins.moved():
            return
        changed = (~self.pins.inputs() & self.input_mask) ^ self.word
        if changed:
            self.word ^= changed
            self.raw ^= moved(changed, self.terminals.input_bit)
        if self.panel_mask:
            changed = (~self.pins.panel() & self.panel_mask) ^ self.panel_word
            if changed:
                self.panel_word ^= changed
                self.panel ^= moved(changed, self.terminals.panel_bit)

    # -- the scan ---------------------------------------------------------------------------------------

    def begin(self, now: int) -> None:
        """First look after a reset."""
        self.look()
        self.controller.begin(now, self.raw, self.panel)
        self.put_out()
        self.put_lamps()
        self.last = now
        self.birth = self.snapshot()
        self.birth_time = now

    def scan(self, now: int) -> bool:
        """One scan at `now`; True when it came on time."""
        gap_ms = (now - self.last) & MASK
        self.last = now
        on_time = gap_ms <= self.late_ms
        self.look()
        controller = self.controller
        if not on_time:
            self._late(now, gap_ms)
        while controller.advance(now, self.raw, self.panel):
            self.put_out()
        if self.is_busy:
            self._give_orders(now)
        if controller.owed:
            controller.turn(now)
            if self.keeper.pulse_coil >= 0 or self.keeper.supply_out != self.supplies:
                self.put_pulse()
            controller.look()
        if self.board_fault >= 0:  # the one-shot was not idle: told now, not an instant later
            self._give_orders(now)
            controller.settle(now)
            self.put_out()
        self.put_lamps()
        word = self.arm if on_time else 0  # the arm line moves only with a scan on time
        if not now & BLINK_MASK:
            word |= self._lamp(now)
        if word:
            self.pins.toggle(word)
        return on_time

    def _late(self, now: int, gap_ms: int) -> None:
        self.late_scans += 1
        if gap_ms > self.worst_gap_ms:
            self.worst_gap_ms = gap_ms
        if gap_ms > LATE_FAULT_MS:
            self.board_fault = F_LATE << 6
            self.is_busy = True
        self.controller.late(now, gap_ms)
        self.put_out()

    def _lamp(self, now: int) -> int:
        """The board's own lamp says what is the matter."""
        lit = LED if self.blink.is_lit(now) else 0
        changed = lit ^ self.lit
        self.lit = lit
        return changed

    def put_out(self) -> None:
        """Outputs as the logic has them now; a pulse is handed over in the scan that starts it."""
        keeper = self.keeper
        logic = self.logic
        feeds = logic.feeds ^ self.feeds
        if feeds and not self.is_shadow:
            self.feeds ^= feeds
            self._toggle(moved(feeds, self.terminals.feed_gpio))
        if keeper.pulse_coil >= 0 or keeper.supply_out != self.supplies:
            self.put_pulse()
        if logic.fault != self.fault:
            self.fault = logic.fault
            self.pins.keep_fault(self.fault + 1)

    def put_pulse(self) -> None:
        """What the keeper's turn gives out: the supplies, then the pulse."""
        keeper = self.keeper
        supplies = keeper.supply_out ^ self.supplies
        if supplies and not self.is_shadow:
            self.supplies ^= supplies
            self._toggle(moved(supplies, self.terminals.supply_gpio))
        coil = keeper.pulse_coil
        if coil >= 0:
            keeper.pulse_coil = NONE
            if not self.is_shadow:
                self._hand_over(coil, keeper.pulse_ms)

    def _toggle(self, word: int) -> None:
        self.out ^= word
        self.pins.toggle(word)

    def put_lamps(self) -> None:
        """Last in a scan: nothing waits for a lamp."""
        lamps = self.logic.lamps ^ self.lamps
        if lamps:
            self.lamps ^= lamps
            self.lamp_word ^= moved(lamps, self.terminals.lamp_place)
            self.pins.lamps(self.lamp_word)

    def _hand_over(self, coil: int, pulse_ms: int) -> None:
        terminals = self.terminals
        is_ours = terminals.coils >> coil & 1 and pulse_ms <= PULSE_MS_MAX
        if not is_ours or not self.pins.pulse(coil - terminals.coil_first, pulse_ms):
            self.board_fault = F_OUT_OF_STEP << 6 | self.keeper.turnout
            self.is_busy = True

    # -- orders -----------------------------------------------------------------------------------------

    def ask(self, order: int, value: int) -> bool:
        """Queue an operator's order for the next scan; False when there is no such order or no room."""
        if self.order_count == ORDERS_MAX or order > O_LIGHT or order == O_BOARD_FAULT or value >= VALUE_END:
            return False
        self.orders[2 * self.order_count] = order
        self.orders[2 * self.order_count + 1] = value
        self.order_count += 1
        self.is_busy = True
        return True

    def _give_orders(self, now: int) -> None:
        self.is_busy = False
        if self.board_fault != NONE:
            fault = self.board_fault
            self.board_fault = NONE
            self.controller.order(now, O_BOARD_FAULT, fault)
            self.put_out()
        for i in range(self.order_count):
            self.controller.order(now, self.orders[2 * i], self.orders[2 * i + 1])
            self.put_out()
        self.order_count = 0
        if self.logic.maintenance:
            self._look_after(now)

    # -- maintenance ------------------------------------------------------------------------------------

    def watch(self, now: int) -> None:
        """A computer is there: what maintenance has switched on may stay on for so long."""
        self.watched_until = now + WATCH_MS & MASK
        self.is_watched = True

    def _look_after(self, now: int) -> None:
        """Nothing stays on without a computer. Looked at in every scan, which `is_busy` makes a whole one."""
        self.is_busy = True
        if self.is_watched:
            if (now - self.watched_until) & MASK >= HALF:
                return
            self.is_watched = False  # kept, so that no time comes round the ring into the future again
        words = self.logic.words
        if words[W_GO] | words[W_LAMP] | self.logic.asked_for:
            self.unwatched += 1
            self.controller.order(now, O_UNWATCHED, WATCH_MS)
            self.put_out()

    def snapshot(self) -> list:
        """Both layers as of the last scan. Allocates: only on request."""
        return save(self.controller, self.last)
