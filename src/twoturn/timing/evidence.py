"""What was seen of a shaft's timing: marks, pins, painted lines and sensor recordings, all in crank degrees."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from twoturn.drive.parts import Drive
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.errors import DomainError

Kind = Literal["mark", "pin", "capture", "line"]
MARK_U_TEETH = 0.125
PIN_U_DEG = 1.0


@dataclass(frozen=True)
class Evidence:
    """One reading of a shaft's timing.

    Attributes
    ----------
    shaft
        Shaft id.
    deg
        How late it is [crank degrees, positive late]. Of kind "line": by how much the sprocket lags the belt's painted
        line, as laid on. Of the crankshaft itself (kind "mark"): how far it still was before its mark when the other
        marks were read.
    u
        Standard uncertainty [crank degrees].
    kind
        "mark", "pin" (looked at, at the setting position), "capture" (sensor recording) or "line" (painted line against
        the sprocket's mark before the turns).
    """

    shaft: str
    deg: float
    u: float
    kind: Kind


def mark_evidence(drive: Drive, shaft: str, teeth: float, u_teeth: float = MARK_U_TEETH) -> Evidence:
    """A mark read in belt teeth.

    Parameters
    ----------
    drive, shaft
        The drive and the shaft's id.
    teeth
        How many belt teeth late the mark stands [-]; 0 on its mark.
    u_teeth
        Standard uncertainty [-]; an eighth of a tooth by eye (judgement).
    """
    known = {item.id: item for item in drive.shafts}
    if shaft not in known:
        raise DomainError(f'the drive has no shaft "{shaft}"', allowed=", ".join(known))
    moves = shaft_deg_per_tooth(drive, known[shaft])
    if moves is None:
        raise DomainError(
            f'"{shaft}" has no toothed wheel on a belt, so {teeth:g} teeth of it mean no angle',
            next_step="give the offset in crank degrees",
        )
    return Evidence(shaft, teeth * float(moves), u_teeth * float(moves), "mark")


def pin_evidence(shaft: str, u: float = PIN_U_DEG) -> Evidence:
    """A pin or bar that went in by hand: the shaft stands right within its play.

    Parameters
    ----------
    shaft
        The shaft's id.
    u
        Standard uncertainty by the pin's play [crank degrees]; 1° by default (judgement).
    """
    return Evidence(shaft, 0.0, u, "pin")
