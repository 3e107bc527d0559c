"""The numbers that the rings agree on: words of the state, events, acts, orders and record kinds."""

try:
    from micropython import const
except ImportError:

    def const(value: int) -> int:
        """CPython has no const(); the value is the value."""
        return value


WORD_BITS = const(30)  # a small int on a 32-bit board holds 30 bits without the heap
NONE = const(63)  # "no such input, coil or output" in the board file

# Words of the state that conditions can read.
W_RELAY = const(0)  # four words: 0, 1, 2, 3
W_LEVEL = const(4)  # confirmed levels of inputs 0..29 (on GPIO)
W_PANEL = const(5)  # confirmed levels of inputs 30..59 (on the panel registers)
W_RESTING = const(6)  # a magnet rests on sensor 0..29
W_POSITION = const(7)  # turnout lies in its second position (diverging)
W_KNOWN = const(8)  # known = physically known AND wanted = position
W_GO = const(9)  # block is wanted to go
W_TIMER = const(10)  # timer runs
W_HELD = const(11)  # block is held by an order or a caution
W_CAUTION = const(12)  # caution of a rule stands
# Words that only acts write.
W_LAMP = const(13)
W_NOTE = const(14)
W_FAULT = const(15)
W_WANTED = const(16)  # turnout is wanted in its second position
W_ASKED = const(17)  # turnout was asked for in this event
W_RESTART = const(18)  # timer was restarted in this event
WORDS = const(19)

# Acts: flat triples (op, word, mask).
OP_SET = const(0)
OP_CLEAR = const(1)
OP_THROW_A = const(2)  # to the first position (straight); word unused
OP_THROW_B = const(3)
OP_START = const(4)  # timers
OP_RESTART = const(5)
OP_CANCEL = const(6)
OP_FOLLOW = const(7)  # standing only: the bit is in exactly while the conditions hold

# Parts of the plan, and what a row of each is; parts 17 and 18, the pin table, are in boardfile.py.
# Conditions are flat triples (word, mask, value); acts are as above.
PLAN_LIMITS = const(0)  # late_ms, pause_ms of the keeper, defer_ms_max, 0
PLAN_GPIO = const(1)  # kind of input, confirm_ms, opening_ms, rearm_ms, at_rest_ms (0: never)
PLAN_PANEL = const(2)  # the same, of the inputs from 30 on
PLAN_BUTTONS = const(3)  # flat triples: input, order, value
PLAN_RELAYS = const(4)  # how many; then four words: 1 where the safe side is in
PLAN_FEEDS = const(5)  # number of blocks; 1 where there is a track feed
PLAN_PLACES = const(6)  # bit of the place's block, or 0
# First and second coil, pulse_ms, supply, mask of the turnouts it comes after, refresh_every_ms, pulses and
# cool_ms of the heat budget, first and second position contact (or NONE), contact_wait_ms.
PLAN_TURNOUTS = const(7)
PLAN_SUPPLIES = const(8)  # recharge_ms, lead_ms, trail_ms, 1 where it has an output
PLAN_TIMERS = const(9)  # time_ms
PLAN_CAUTIONS = const(10)  # mask of the blocks that this caution of a rule holds
PLAN_MESSAGES = const(11)  # number of notes, number of faults of rules
PLAN_LAMPS = const(12)  # what it shows, index of that
PLAN_POWER = const(13)  # the input "track power present", or NONE
PLAN_AT = const(14)  # event, then a pair (conditions, acts) for each of its rules
PLAN_STANDING = const(15)  # (conditions, acts)
PLAN_STARTS = const(16)  # conditions, four relay words, wanted, wanted go, mask of places with a train

# Events: kind * 64 + index.
E_HIT = const(0)  # sensor hit, button pressed
E_OPENING = const(1)  # sensor opens, button released
E_REARM = const(2)
E_REST = const(3)  # magnet at rest
E_ON = const(4)  # detector occupied, switch on
E_OFF = const(5)  # detector free, switch off
E_TIMER = const(6)  # timer end
E_POSITION = const(7)  # turnout in position
E_START = const(8)
E_STOP = const(9)
E_GO_ON = const(10)
E_ACKNOWLEDGE = const(11)
E_GO = const(12)  # place let go by order
E_HOLD = const(13)  # place held by order
E_SET_ON = const(14)  # train set on at a place
E_LIFT_OFF = const(15)  # train lifted off at a place
E_SUPPRESSED = const(16)  # a closing that rearm suppresses; no event rules
EVENT_SHIFT = const(6)

# Orders.
O_START = const(0)  # value: index of the start, or NONE: the switches choose
O_STOP = const(1)
O_GO_ON = const(2)
O_ACKNOWLEDGE = const(3)
O_GO = const(4)  # value: place
O_HOLD = const(5)  # value: place
O_THROW = const(6)  # value: turnout * 2 + position
O_SET_ON = const(7)  # value: place
O_LIFT_OFF = const(8)  # value: place
O_MAINTENANCE = const(9)  # only before start; until the next reset
O_BOARD_FAULT = const(10)  # from the board: value = cause * 64 + which
O_FEED = const(11)  # only in maintenance; value: feed * 2 + 1 to feed it, + 0 to take the feed away
O_LIGHT = const(12)  # only in maintenance; value: lamp * 2 + lit
O_UNWATCHED = const(13)  # from the board, in maintenance: no computer was heard for `value` ms
O_FROM_BUTTON = const(64)  # added to the order in the record when a button gave it

# Modes.
M_BEFORE = const(0)
M_RUNNING = const(1)
M_STOPPED = const(2)
M_FAULT = const(3)
M_MAINTENANCE = const(4)

# Kinds of input.
IN_SENSOR = const(0)  # hits, rearm, magnet at rest
IN_LEVEL = const(1)  # detector, switch, position contact, track power present
IN_BUTTON = const(2)

# Records: (time, kind, which, value). Inputs first: these three are what a replay feeds in.
R_EDGE = const(0)  # input, raw level
R_ORDER = const(1)  # order (+64 from a button), value
R_LATE = const(2)  # 0, gap in ms
R_STATE = const(3)  # a snapshot follows
R_HIT = const(4)  # input
R_OPENING = const(5)  # input
R_CHANGE = const(6)  # input, level
R_REST = const(7)  # input
R_CHATTER = const(8)  # input, closings that rearm suppressed
R_TIMER = const(9)  # timer; 0 cancelled, 1 started, 2 ended
R_RELAY = const(10)  # relay, in
R_GO = const(11)  # block, wanted go
R_LAMP = const(12)  # lamp, lit
R_FEED = const(13)  # feed, fed
R_THROW = const(14)  # turnout, wanted position
R_PULSE = const(15)  # coil, length in ms
R_PULSE_END = const(16)  # coil
R_POSITION = const(17)  # turnout, position: it has come to lie there, or is known again
R_DEFERRED = const(18)  # turnout, wanted position
R_REFRESH = const(19)  # turnout; 0 asked for, 1 skipped
R_NOTE = const(20)  # note
R_CAUTION = const(21)  # index, kind of caution
R_CLEAR = const(22)  # index, kind of caution
R_FAULT = const(23)  # index, cause
R_START = const(24)  # start
R_REFUSED = const(25)  # order, reason
R_CLASH = const(26)  # bit, word
R_POWER = const(27)  # 0, track power present
R_MODE = const(28)  # mode
R_SUPPLY = const(29)  # supply, closed
R_LOST = const(30)  # records lost because the ring was full (written by who drains it)
R_KINDS = const(31)

# Kinds of caution (value of R_CAUTION and R_CLEAR).
C_RULE = const(0)  # index: caution of a rule
C_REST = const(1)  # index: input
C_STRAYED = const(2)  # index: turnout left its position without a pulse
C_UNMOVED = const(3)  # index: turnout did not reach its position

# Causes of a fault.
F_RULE = const(0)  # index: fault of a rule
F_UNSETTLED = const(1)  # index: the standing rule that changed something last
F_DEFERRED = const(2)  # index: turnout whose throw was put off past the limit
F_OUT_OF_STEP = const(3)  # index: turnout; the hardware one-shot was not idle
F_LATE = const(4)  # scans came too late
F_BOARD = const(5)  # board file or pin table refused

# Reasons of R_REFUSED.
N_NOT_BEFORE = const(0)  # only before start
N_NOT_STARTED = const(1)
N_UNKNOWN = const(2)  # no such start, place, turnout
N_NO_MATCH = const(3)  # no start for these switches
N_SWITCH = const(64)  # + input: this switch stands otherwise

# What a lamp shows.
L_RULES = const(0)  # acts light and darken it
L_BELONGS = const(1)  # before start: a train belongs at place
L_HELD = const(2)  # block
L_FED = const(3)  # block
L_CAUTION = const(4)
L_FAULT = const(5)
L_RUNNING = const(6)
