"""What a layout has and which pins it takes, in two lines."""

from __future__ import annotations

from reedway.boardfile.terminals import BOARDS, USABLE, pins_free, pins_used
from reedway.layout.keys import BY_NAME
from reedway.layout.model import Layout


def has(layout: Layout) -> dict[str, int]:
    """How many of each kind, in the order of the file reference; none are left out."""
    levels = {
        kind: sum(level.kind == kind for level in layout.levels) for kind in ("detector", "switch", "contact")
    }
    counts = {
        "sensors": len(layout.sensors),
        "detectors": levels["detector"],
        "switches": levels["switch"],
        "buttons": len(layout.buttons),
        "contacts": levels["contact"],
        "supplies": len(layout.supplies),
        "turnouts": len(layout.turnouts),
        "gangs": len(layout.gangs),
        "blocks": len(layout.blocks),
        "lamps": len(layout.lamps),
        "places": len(layout.places),
        "relays": len(layout.relays),
        "timers": len(layout.timers),
        "rules": len(layout.rules),
        "starts": len(layout.starts),
    }
    return {name: count for name, count in counts.items() if count}


def summary(layout: Layout) -> tuple[str, str]:
    """`6 sensors, 1 switch, ...` and `19 of 26 pins used; free: GPIO 3, 4`."""
    counts = has(layout)
    parts = [f"{count} {name if count > 1 else BY_NAME[name].one}" for name, count in counts.items()]
    used, free = pins_used(layout), pins_free(layout)
    spare = "free: GPIO " + ", ".join(map(str, free)) if free else "none free"
    pins = f"{BOARDS[layout.board]}: {len(used)} of {len(USABLE)} pins used; {spare}"
    if layout.is_shadow:
        pins += "; shadow mode: coils, feeds, supplies and arm line stay off"
    return ", ".join(parts) or "nothing yet", pins
