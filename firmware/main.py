"""Starts the scan loop; in maintenance leaves the board at its prompt, with outputs off and no watchdog."""

import micropython

micropython.kbd_intr(-1)  # again: the interpreter lets Ctrl-C in anew for each file that it runs

if not globals().get("maintenance", False):
    from reedboard.start import run

    run(globals().get("reset_cause", 5), globals().get("kept_fault", 0))
