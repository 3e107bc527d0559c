"""Starts the scan loop; in maintenance leaves the board at its prompt, with outputs off and no watchdog."""

import micropython

if globals().get("maintenance", False):
    micropython.kbd_intr(3)
else:
    from reedboard.start import run

    run(globals().get("reset_cause", 5), globals().get("kept_fault", 0))
