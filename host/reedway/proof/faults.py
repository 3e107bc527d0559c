"""Every kind of single fault that is tried."""

from __future__ import annotations

from reedway.proof.boardfaults import STUCK, Reset, Unmoved
from reedway.proof.fault import MENDED, NoFault
from reedway.proof.handfaults import CarLeft, LiftedOff, SwitchTurned
from reedway.proof.hitfaults import LostHit, MagnetLost, Phantom, StuckClosed, StuckOpen

__all__ = [
    "FAULTS",
    "MENDED",
    "STUCK",
    "CarLeft",
    "LiftedOff",
    "LostHit",
    "MagnetLost",
    "NoFault",
    "Phantom",
    "Reset",
    "StuckClosed",
    "StuckOpen",
    "SwitchTurned",
    "Unmoved",
]

FAULTS: tuple[type[NoFault], ...] = (
    LostHit,
    Phantom,
    StuckOpen,
    StuckClosed,
    MagnetLost,
    CarLeft,
    Unmoved,
    Reset,
    SwitchTurned,
    LiftedOff,
)
