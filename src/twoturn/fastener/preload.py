"""What a torque does to a bolt: preload and how far it is used, over the band that friction leaves open."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import DomainError
from twoturn.fastener.sizes import HOLE_MM, WASHER_FACE_MM
from twoturn.fastener.strength import Grade
from twoturn.fastener.thread import Thread

Numbers = float | NDArray[np.float64]

FULL_USE = 0.9
"""Share of the yield point [-] to which tables of tightening torques go (VDI 2230)."""

STRONGEST = 1.3
"""A bolt is hardly ever stronger than this many times the least tensile strength of its class [-]: the greatest
hardness of ISO 898-1 over the smallest, class 8.8."""

SEAT_OVER_DIAMETER = 1.3
"""Mean seat diameter over thread diameter [-] where no head size is known."""


@dataclass(frozen=True)
class Band:
    """A best estimate between two ends.

    Attributes
    ----------
    value
        Best estimate.
    low, high
        Ends of the band, in the same unit.
    """

    value: float
    low: float
    high: float

    def as_json(self) -> dict[str, float]:
        """Keys ``value``, ``low``, ``high``."""
        return {"value": self.value, "low": self.low, "high": self.high}


USUAL_FRICTION = Band(0.12, 0.08, 0.16)
"""Friction of lightly oiled or plain zinc-plated steel [-], in thread and under the head (common practice)."""


def friction_band(low: float | None = None, high: float | None = None) -> Band:
    """The band of friction coefficients to count with.

    Parameters
    ----------
    low, high
        Ends of the band [-]; the usual ones, 0.08 and 0.16, where None.

    Returns
    -------
    Band
        Best estimate 0.12 where it lies inside, otherwise the middle [-].

    Raises
    ------
    DomainError
        Ends in the wrong order or beyond what dry or greased steel can have.
    """
    least = USUAL_FRICTION.low if low is None else low
    most = USUAL_FRICTION.high if high is None else high
    if not 0.02 <= least <= most <= 0.6:
        raise DomainError(f"friction from {least:g} to {most:g}", allowed="0.02 to 0.6, the low end first")
    usual = USUAL_FRICTION.value
    return Band(usual if least <= usual <= most else (least + most) / 2, least, most)


@dataclass(frozen=True)
class Bolt:
    """A bolt or nut as it is tightened.

    Attributes
    ----------
    thread
        Its thread.
    grade
        Its strength class; that of the weaker part, as a rule the bolt.
    friction
        Coefficient in thread and under the head [-].
    seat_mean_mm
        Mean diameter of the face it slides on, (outer diameter + hole)/2.
    seat_known
        False where the seat was estimated from the thread.
    """

    thread: Thread
    grade: Grade
    friction: Band = field(default=USUAL_FRICTION)
    seat_mean_mm: float = 0.0
    seat_known: bool = True


def make_bolt(thread: Thread, grade: Grade, friction: Band = USUAL_FRICTION, seat_mm: float | None = None) -> Bolt:
    """A bolt with the seat of its head.

    Parameters
    ----------
    thread, grade
        Size and strength.
    friction
        Band of friction coefficients [-].
    seat_mm
        Outer diameter of the face under head or nut [mm]; that of a hexagon head where None.

    Returns
    -------
    Bolt
        The bolt, its seat estimated as 1.3 times the diameter where the table knows no head.

    Raises
    ------
    DomainError
        A seat that is not wider than the hole.

    References
    ----------
    ISO 4014 and ISO 4017 (washer face), ISO 273 (hole, medium).
    """
    diameter = thread.diameter_mm
    hole = HOLE_MM.get(diameter, 1.1 * diameter)
    outer = WASHER_FACE_MM.get(diameter) if seat_mm is None else seat_mm
    if outer is None:
        return Bolt(thread, grade, friction, SEAT_OVER_DIAMETER * diameter, seat_known=False)
    if not hole < outer <= 8 * diameter:
        raise DomainError(
            f"a seat of {outer:g} mm under {thread.designation}", allowed=f"more than its hole of {hole:g} mm"
        )
    return Bolt(thread, grade, friction, (outer + hole) / 2)


def assembly_preload(thread: Thread, yield_mpa: Numbers, friction: Numbers, share: float = FULL_USE) -> Numbers:
    """Preload at which tension and torsion together reach a share of the yield point.

    Parameters
    ----------
    thread
        The thread.
    yield_mpa
        Yield strength [MPa], any shape.
    friction
        Coefficient in the thread [-], a shape that fits.
    share
        Share of the yield point that is used [-]; 0.9 in tables of tightening torques.

    Returns
    -------
    float or numpy.ndarray
        Preload [N].

    References
    ----------
    VDI 2230 part 1:2015, R7 (FM,zul; table A1 with a share of 0.9).
    """
    d2, d0 = thread.pitch_diameter_mm, thread.stress_diameter_mm
    torsion = 1.5 * d2 / d0 * (thread.pitch_mm / (np.pi * d2) + 1.155 * friction)
    return thread.stress_area_mm2 * share * yield_mpa / np.sqrt(1 + 3 * torsion**2)


def torque_arm(thread: Thread, seat_mean_mm: Numbers, friction_thread: Numbers, friction_head: Numbers) -> Numbers:
    """Torque over preload: the arm that pitch and friction make.

    Parameters
    ----------
    thread
        The thread.
    seat_mean_mm
        Mean diameter of the seat [mm], any shape.
    friction_thread, friction_head
        Coefficients [-], shapes that fit.

    Returns
    -------
    float or numpy.ndarray
        0.16·P + 0.58·d2·µG + (DKm/2)·µK [mm].

    References
    ----------
    VDI 2230 part 1:2015, R13.
    """
    pitch, d2 = thread.pitch_mm, thread.pitch_diameter_mm
    return 0.16 * pitch + 0.58 * d2 * friction_thread + seat_mean_mm / 2 * friction_head


def assembly_torque(bolt: Bolt, friction: Numbers, share: float = FULL_USE) -> Numbers:
    """Torque that brings a bolt to a share of its yield point, friction alike in thread and under the head.

    Parameters
    ----------
    bolt
        The bolt.
    friction
        Coefficient [-], any shape.
    share
        Share of the yield point [-].

    Returns
    -------
    float or numpy.ndarray
        Torque [N·m].

    References
    ----------
    VDI 2230 part 1:2015, R13 (table A1 with a share of 0.9).
    """
    preload = assembly_preload(bolt.thread, bolt.grade.yield_mpa, friction, share)
    return preload * torque_arm(bolt.thread, bolt.seat_mean_mm, friction, friction) / 1000


def preload_from_torque(bolt: Bolt, torque_nm: Numbers, friction: Numbers) -> Numbers:
    """Preload that a torque makes while the bolt stays elastic.

    Parameters
    ----------
    bolt
        The bolt.
    torque_nm
        Torque [N·m], any shape.
    friction
        Coefficient in thread and under the head [-], a shape that fits.

    Returns
    -------
    float or numpy.ndarray
        Preload [N].

    References
    ----------
    VDI 2230 part 1:2015, R13, solved for the preload.
    """
    return 1000 * torque_nm / torque_arm(bolt.thread, bolt.seat_mean_mm, friction, friction)


@dataclass(frozen=True)
class Tightened:
    """What a torque does to a bolt, over its friction band.

    Attributes
    ----------
    torque_nm
        The torque.
    preload_n
        Clamp load, as if the bolt stayed elastic: the low end belongs to high friction.
    utilisation
        Share of the yield point that is used, 0.9·M/M90 [-].
    torque_90_nm
        Torque M90 that uses 0.9 of the yield point: the low end belongs to low friction.
    yield_preload_n
        Preload at the yield point: beyond it the bolt stretches instead of clamping more.
    """

    torque_nm: float
    preload_n: Band
    utilisation: Band
    torque_90_nm: Band
    yield_preload_n: Band


def tighten(bolt: Bolt, torque_nm: float) -> Tightened:
    """Preload and utilisation of a bolt under a torque. Advice: the vehicle maker's torque wins.

    Parameters
    ----------
    bolt
        The bolt with its friction band.
    torque_nm
        Torque [N·m].

    Returns
    -------
    Tightened
        Best estimates with the ends that friction leaves open.

    Raises
    ------
    DomainError
        No torque, or one at which the bolt would break at any friction in the band.

    References
    ----------
    VDI 2230 part 1:2015, R7 and R13.
    """
    if not 0 < torque_nm < np.inf:
        raise DomainError(f"a torque of {torque_nm:g} N·m tightens nothing", allowed="more than 0 N·m")
    mu = np.array([bolt.friction.value, bolt.friction.low, bolt.friction.high])
    full = np.asarray(assembly_torque(bolt, mu))
    use = FULL_USE * torque_nm / full
    if use[2] > STRONGEST * bolt.grade.tensile_mpa / bolt.grade.yield_mpa:
        raise DomainError(
            f"{torque_nm:g} N·m would break {bolt.thread.designation} of class {bolt.grade.name}",
            allowed=f"up to about {full[0]:.3g} N·m (0.9 of its yield point)",
            next_step="check size, class and unit; if the maker says so, the maker's bolt is another one",
        )
    preload = np.asarray(preload_from_torque(bolt, torque_nm, mu))
    limit = np.asarray(assembly_preload(bolt.thread, bolt.grade.yield_mpa, mu, 1.0))
    return Tightened(torque_nm, _band(preload), _band(use), _band(full), _band(limit))


def _band(three: NDArray[np.float64]) -> Band:
    """Best estimate and sorted ends of three values at the best, lowest and highest friction."""
    return Band(float(three[0]), float(three.min()), float(three.max()))
