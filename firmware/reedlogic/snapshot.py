"""Snapshot and restore of a controller, in two layers of plain ints, both relative to now."""

from .controller import Controller
from .logic import Logic
from .ring import MASK
from .words import W_ASKED, W_CAUTION, W_FAULT, W_LAMP, W_LEVEL, W_PANEL, W_TIMER, W_WANTED

WORDS_KEPT = W_CAUTION + 1  # relays .. caution are kept; LAMP, FAULT and WANTED follow
LOGIC_FIXED = WORDS_KEPT + 3 + 15


def save_logic(logic: Logic, now: int, out: list) -> None:
    """Append the logic layer to `out`: words, feeds, held, cautions, mode and first cause, timers."""
    words = logic.words
    for k in range(WORDS_KEPT):
        out.append(words[k])
    out.extend([words[W_LAMP], words[W_FAULT], words[W_WANTED]])
    flags = (1 if logic.started else 0) | (2 if logic.stopped else 0) | (4 if logic.maintenance else 0)
    flags |= (8 if logic.frozen else 0) | (16 if logic.is_settled else 0)
    out.extend([logic.physical, logic.feeds, logic.lamps, logic.held_by_order, flags, logic.fault + 1])
    out.extend([logic.mode, logic.strayed, logic.unmoved, logic.resting, logic.refresh])
    out.extend([logic.refresh_held, logic.asked_for, len(logic.timer_due), 0])
    _save_dues(out, words[W_TIMER], logic.timer_due, 0 if logic.frozen else now)


def restore_logic(logic: Logic, data, now: int, at: int = 0) -> int:  # type: ignore[no-untyped-def]
    """Take the logic layer from data[at:]; returns the index after it. The rules' marks start afresh."""
    words = logic.words
    for k in range(WORDS_KEPT):
        words[k] = data[at + k]
    at += WORDS_KEPT
    words[W_LAMP], words[W_FAULT], words[W_WANTED] = data[at], data[at + 1], data[at + 2]
    words[W_ASKED] = 0
    at += 3
    logic.physical, logic.feeds, logic.lamps, logic.held_by_order = data[at : at + 4]
    flags = data[at + 4]
    logic.started = bool(flags & 1)
    logic.stopped = bool(flags & 2)
    logic.maintenance = bool(flags & 4)
    logic.frozen = bool(flags & 8)
    logic.fault = data[at + 5] - 1
    logic.mode, logic.strayed, logic.unmoved, logic.resting, logic.refresh = data[at + 6 : at + 11]
    logic.refresh_held, logic.asked_for = data[at + 11], data[at + 12]
    at = _load_dues(data, at + 15, logic.timer_due, 0 if logic.frozen else now)
    logic.is_settled = bool(flags & 16)  # then the words now are the words of the last pass
    for k in range(len(words)):
        logic.settled[k] = words[k]
    return at


def save(c: Controller, now: int) -> list:
    """Both layers as one list of ints >= 0, taken between two scans (after settle)."""
    out: list = []
    save_logic(c.logic, now, out)
    out.extend([c.raw, c.panel, c.armed, c.rearming, c.timing_rest, c.gap, 1 if c.owed else 0])
    out.append((c.keep_alive - now) & MASK)
    if c.bouncing:
        c.date_edge()
    pending = (c.raw ^ c.words[W_LEVEL]) | (c.panel ^ c.words[W_PANEL]) << 30
    for i in range(len(c.edge_due)):
        out.append((c.edge_due[i] - now) & MASK if pending >> i & 1 else 0)
    _save_dues(out, c.rearming, c.rearm_due, now)
    _save_dues(out, c.timing_rest, c.rest_due, 0 if c.logic.frozen else now)
    out.extend(c.chatter)
    _save_keeper(c, now, out)
    return out


def _save_keeper(c: Controller, now: int, out: list) -> None:
    k = c.keeper
    out.extend(
        [k.phase, (k.phase_due - now) & MASK if k.phase else 0, (k.pause_due - now) & MASK if k.phase else 0]
    )
    out.extend([k.turnout, k.position, 1 if k.is_refresh else 0, k.hot, k.recharging, k.waiting])
    out.extend([k.retried, k.sent, k.deferred, k.supply_out])
    out.extend(k.heat)
    _save_dues(out, k.hot, k.cool_due, now)
    _save_dues(out, k.recharging, k.recharge_due, now)
    _save_dues(out, k.waiting, k.contact_due, now)
    _save_dues(out, c.logic.refresh_held, k.refresh_due, now)
    _save_dues(out, k.deferred, k.deferral_due, now)


def restore(c: Controller, data: list, now: int) -> None:
    """Put both layers back, as if the scan at `now` had just been settled."""
    at = restore_logic(c.logic, data, now)
    c.raw, c.panel, c.armed, c.rearming, c.timing_rest, c.gap = data[at : at + 6]
    c.owed = bool(data[at + 6])
    c.keep_alive = (now + data[at + 7]) & MASK
    at = _load_dues(data, at + 8, c.edge_due, now)
    at = _load_dues(data, at, c.rearm_due, now)
    at = _load_dues(data, at, c.rest_due, 0 if c.logic.frozen else now)
    for i in range(len(c.chatter)):
        c.chatter[i] = data[at + i]
    at += len(c.chatter)
    k = c.keeper
    k.phase = data[at]
    k.phase_due = (now + data[at + 1]) & MASK
    k.pause_due = (now + data[at + 2]) & MASK
    k.turnout, k.position = data[at + 3], data[at + 4]
    k.is_refresh = bool(data[at + 5])
    k.hot, k.recharging, k.waiting, k.retried, k.sent, k.deferred, k.supply_out = data[at + 6 : at + 13]
    at += 13
    for i in range(len(k.heat)):
        k.heat[i] = data[at + i]
    at += len(k.heat)
    for dues in (k.cool_due, k.recharge_due, k.contact_due, k.refresh_due, k.deferral_due):
        at = _load_dues(data, at, dues, now)
    k.changed = c.logic.moved = True
    c.bouncing = 0
    c.at = now
    c.find_next()


def _save_dues(out: list, bits: int, dues: list, base: int) -> None:
    for i in range(len(dues)):
        out.append((dues[i] - base) & MASK if bits >> i & 1 else 0)


def _load_dues(data: list, at: int, dues: list, base: int) -> int:
    for i in range(len(dues)):
        dues[i] = (base + data[at + i]) & MASK
    return at + len(dues)
