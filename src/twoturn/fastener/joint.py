"""How stiff a bolted joint is: needed to say what a tightening angle adds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from twoturn.errors import DomainError
from twoturn.fastener.preload import Bolt
from twoturn.fastener.sizes import HOLE_MM
from twoturn.fastener.thread import Thread

STEEL_MPA: Final = 205_000.0
ALUMINIUM_MPA: Final = 70_000.0

SPREAD_DEG: Final = 30.0
"""Half angle of the pressure cone in the clamped parts [°]."""

STIFFNESS_BAND: Final = 0.25
"""How far a stiffness computed from the grip alone may be off [-] (judgement: shank, washers, cone, engagement)."""


@dataclass(frozen=True)
class Joint:
    """What a bolt clamps.

    Attributes
    ----------
    grip_mm
        Length from the face under the head to the first thread that carries.
    clamped_mpa
        Young's modulus of the clamped parts.
    """

    grip_mm: float
    clamped_mpa: float = STEEL_MPA

    def __post_init__(self) -> None:
        if not (0 < self.grip_mm <= 500 and 1000 <= self.clamped_mpa <= 1e6):
            raise DomainError(
                f"a grip of {self.grip_mm:g} mm in parts of {self.clamped_mpa:g} MPa",
                allowed="a grip up to 500 mm, parts of 1000 MPa to 1 000 000 MPa",
            )


def bolt_compliance(thread: Thread, grip_mm: float, modulus_mpa: float = STEEL_MPA) -> float:
    """Elongation of a bolt threaded over its whole grip, per newton.

    Parameters
    ----------
    thread
        The thread.
    grip_mm
        Clamped length [mm].
    modulus_mpa
        Young's modulus of the bolt [MPa].

    Returns
    -------
    float
        Compliance [mm/N]: head 0.5·d, thread of the grip, engaged thread 0.5·d at the root and 0.4·d of the nut.

    References
    ----------
    VDI 2230 part 1:2015, 5.1.1 (δS).
    """
    d = thread.diameter_mm
    full = math.pi / 4 * d**2
    return ((0.5 + 0.4) * d / full + (grip_mm + 0.5 * d) / thread.root_area_mm2) / modulus_mpa


def clamped_compliance(hole_mm: float, seat_mm: float, joint: Joint) -> float:
    """Compression of the clamped parts per newton: two pressure cones, base to base.

    Parameters
    ----------
    hole_mm
        Hole through the parts [mm].
    seat_mm
        Outer diameter of the faces that press on them [mm], wider than the hole.
    joint
        Grip [mm] and modulus [MPa].

    Returns
    -------
    float
        Compliance [mm/N].

    References
    ----------
    Shigley's Mechanical Engineering Design, section "Joints: member stiffness", frustum of 30°; the integral of
    dx/(E·A(x)) over each cone.
    """
    slope = 2 * math.tan(math.radians(SPREAD_DEG))
    base = seat_mm + slope * joint.grip_mm / 2
    narrow = math.log((base - hole_mm) * (seat_mm + hole_mm) / ((base + hole_mm) * (seat_mm - hole_mm)))
    return 2 * narrow * 2 / (math.pi * joint.clamped_mpa * hole_mm * slope)


def preload_per_degree(bolt: Bolt, joint: Joint) -> float:
    """Preload that one degree of further turning adds while the bolt stays elastic.

    Parameters
    ----------
    bolt
        The bolt.
    joint
        What it clamps.

    Returns
    -------
    float
        P/360/(δS + δP) [N/°].

    References
    ----------
    VDI 2230 part 1:2015, 5.4.3.2 (angle-controlled tightening).
    """
    thread = bolt.thread
    hole = HOLE_MM.get(thread.diameter_mm, 1.1 * thread.diameter_mm)
    seat = max(2 * bolt.seat_mean_mm - hole, 1.01 * hole)
    both = bolt_compliance(thread, joint.grip_mm) + clamped_compliance(hole, seat, joint)
    return thread.pitch_mm / 360 / both
