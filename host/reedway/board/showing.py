"""What a board's status means in the owner's words."""

from __future__ import annotations

from typing import Any

from reedway.board.client import CAUSES, Hello, Status
from reedway.board.protocol import WATCH_MS
from reedway.board.virtual import VirtualBoard
from reedway.boardfile.compile import Compiled
from reedway.boardfile.names import Names
from reedway.boardfile.numbering import PANEL_BASE
from reedway.counting import counted, times
from reedway.sessionlog.kinds import MODE_WORDS, w
from reedway.sessionlog.names import Codec
from reedway.sessionlog.tell import fault_words


def _levels(status: Status, names: Names) -> dict[str, str]:
    found = {}
    for i, name in enumerate(names.inputs):
        word, bit = (status.panel, i - PANEL_BASE) if i >= PANEL_BASE else (status.raw, i)
        if name:
            found[name] = names.input_words[i][0 if word >> bit & 1 else 1]
    return found


def _turnouts(status: Status, names: Names) -> dict[str, str]:
    found = {}
    for i, (name, *positions) in enumerate(names.turnouts):
        if status.known >> i & 1:
            found[name] = positions[status.position >> i & 1]
        else:
            found[name] = f"not known, wanted {positions[status.wanted >> i & 1]}"
    return found


def fault_now(status: Status, names: Names) -> str:
    """The fault that stands, or nothing."""
    if not status.fault:
        return ""
    cause, index = status.fault - 1 >> 7, status.fault - 1 & 127
    _, name, value = Codec(names).by_name(w.R_FAULT, index, cause)
    return fault_words(name, int(value))


def kept_fault(hello: Hello) -> str:
    """The fault that stood before the last reset, or nothing."""
    if not hello.kept_fault:
        return ""
    cause, index = hello.kept_fault - 1 >> 7, hello.kept_fault - 1 & 127
    return fault_words(f"#{index}", cause)


def status_json(hello: Hello, status: Status, names: Names, is_shadow: bool = False) -> dict[str, Any]:
    """Everything there is to say."""
    return {
        "mode": MODE_WORDS.get(status.mode, str(status.mode)),
        "shadow": is_shadow,
        "fault": fault_now(status, names),
        "inputs": _levels(status, names),
        "turnouts": _turnouts(status, names),
        "feeds": {name: bool(status.feeds >> i & 1) for i, name in enumerate(names.blocks)},
        "held": [name for i, name in enumerate(names.blocks) if status.held >> i & 1],
        "firmware": hello.firmware,
        "chip": f"RP{hello.chip}",
        "began_with": CAUSES[min(hello.cause, len(CAUSES) - 1)],
        "fault_before_reset": kept_fault(hello),
        "late_scans": status.late_scans,
        "unwatched": status.unwatched,
        "records_waiting": status.end - status.oldest,
        "lines_not_understood": status.refused,
    }


def status_lines(hello: Hello, status: Status, names: Names, is_shadow: bool = False) -> list[str]:
    """The same as text."""
    data = status_json(hello, status, names, is_shadow)
    mode = f"fault: {data['fault']}" if data["fault"] else data["mode"]
    lines = [f"{mode}; firmware {data['firmware']} on {data['chip']}"]
    if is_shadow:
        lines.append("shadow mode: no coil and no feed moves; what stands here is the logic's")
    lines.append(f"began with: {data['began_with']}")
    if data["fault_before_reset"]:
        lines.append(f"before that: fault: {data['fault_before_reset']}")
    if status.unwatched:
        lines.append(
            f"in maintenance everything went off {times(status.unwatched)}: no computer was heard for "
            f"{WATCH_MS // 1000} s"
        )
    lines += [f"  {name}: {'goes' if on else 'stops'}" for name, on in data["feeds"].items()]
    lines += [f"  {name}: held" for name in data["held"]]
    lines += [f"  {name}: {position}" for name, position in data["turnouts"].items()]
    lines += [f"  {name}: {level}" for name, level in data["inputs"].items()]
    waiting = data["records_waiting"]
    wait = f"{counted(waiting, 'record')} {'waits' if waiting == 1 else 'wait'} to be recorded"
    lines.append(f"{wait}, {counted(data['late_scans'], 'late scan')}")
    return lines


def running_lines(board: VirtualBoard, compiled: Compiled) -> list[str]:
    """What a virtual board's outputs are."""
    names = compiled.names
    feeds = ", ".join(
        f"{name} {'goes' if on else 'stops'}" for name, on in zip(names.blocks, board.feeds(), strict=True)
    )
    pulses = board.take_pulses()
    told = [f"{names.coils[pulse.coil]}: {pulse.ms} ms" for pulse in pulses]
    return [
        f"{MODE_WORDS.get(board.out.mode, '?')}; {feeds}" + ("; pulses: " + ", ".join(told) if told else "")
    ]
