"""Does a coil's driver go with its kind of current, and is it off at reset? What is refused and warned of."""

from __future__ import annotations

from reedway.electrics.parts import Wired
from reedway.layout.model import Layout
from reedway.problems import Complaint

# RP2040 data sheet, table of digital IO: 3.3 V on IOVDD; at reset a pull-down of 50 to 80 kohm.
PIN_V_MAX = 3.3
PIN_PULL_DOWN_KOHM = 50
MODULE_PULL_UP_KOHM = 100  # of relay modules that pull in when low; common practice, no source


def driver_refusals(layout: Layout, wired: Wired) -> list[Complaint]:
    """What burns a coil or a supply, with the reason."""
    part, alternating = wired.part, wired.source.alternating
    found = []
    if alternating and not part.by_relay:
        found.append(
            Complaint(
                layout.path,
                wired.turnout.line,
                f"turnout {wired.turnout.name}: a transistor switches DC only, its source is AC; with the "
                "gate off, the diode inside a MOSFET still feeds the coil every other half wave, and a "
                "freewheel diode shorts the supply; put a bridge rectifier before it and write DC with the "
                "voltage after it (the coil then draws more), or driver: relay",
            )
        )
    if alternating and part.suppression == "diode":
        found.append(
            Complaint(
                layout.path,
                part.line,
                f"coil part {part.name}: a diode across a coil on AC is a short every other half wave; "
                "take a two-way clamp above the peak of the AC and write suppression: clamp",
            )
        )
    if part.active_low:
        volts = PIN_V_MAX * PIN_PULL_DOWN_KOHM / (PIN_PULL_DOWN_KOHM + MODULE_PULL_UP_KOHM)
        found.append(
            Complaint(
                layout.path,
                part.line,
                f"coil part {part.name}: a driver that is on when its pin is low is undecided at reset, "
                f"while the pin is an input: {MODULE_PULL_UP_KOHM} kohm up and the pin's "
                f"{PIN_PULL_DOWN_KOHM} kohm down leave {volts:.1f} V; take one that is on when high, with "
                "its own pull-down",
            )
        )
    return found


def driver_warnings(layout: Layout, wired: Wired) -> list[Complaint]:
    """A relay for an AC coil wants a second one in series, closed for each throw only."""
    named = wired.turnout.supply.text if wired.turnout.supply else None
    switched = any(one.name == named and one.terminal for one in layout.supplies)
    if not (wired.source.alternating and wired.part.by_relay) or switched:
        return []
    message = (
        f"turnout {wired.turnout.name}: a welded contact holds the coil on; give its supply an output "
        "(terminal: supply 1, with lead and trail): a second relay that closes for each throw only"
    )
    return [Complaint(layout.path, wired.turnout.line, message)]
