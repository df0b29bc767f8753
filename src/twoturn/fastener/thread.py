"""Metric threads: from a designation to diameters and areas."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import DomainError, QuantityError
from twoturn.fastener.sizes import COARSE_PITCH_MM, FINE_PITCHES_MM
from twoturn.quantity.parse import parse_number

Numbers = float | NDArray[np.float64]

_DESIGNATION = re.compile(
    r"\s*m\s*(?P<diameter>\d+(?:[.,]\d+)?)(?:\s*[x×*]\s*(?P<pitch>\d*[.,]?\d+)\s*(?:mm)?)?"
    r"(?:\s*[x×*]\s*(?P<length>\d+(?:[.,]\d+)?)\s*(?:mm)?)?(?:\s*-?\s*[4-9][a-hA-H](?:[4-9][a-hA-H])?)?(?P<left>\s*-?\s*LH)?\s*",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Thread:
    """A metric thread.

    Attributes
    ----------
    diameter_mm
        Nominal diameter d.
    pitch_mm
        Pitch P.
    left_hand
        Whether it is a left-hand thread; the preload of a torque is the same.
    """

    diameter_mm: float
    pitch_mm: float
    left_hand: bool = False

    @property
    def designation(self) -> str:
        """As printed: ``M8``, ``M10x1.25``, ``M12x1.5-LH``."""
        coarse = COARSE_PITCH_MM.get(self.diameter_mm) == self.pitch_mm
        size = f"M{self.diameter_mm:g}" if coarse else f"M{self.diameter_mm:g}x{self.pitch_mm:g}"
        return size + ("-LH" if self.left_hand else "")

    @property
    def pitch_diameter_mm(self) -> float:
        """Pitch diameter d2 [mm]."""
        return float(pitch_diameter(self.diameter_mm, self.pitch_mm))

    @property
    def minor_diameter_mm(self) -> float:
        """Basic minor diameter d1 [mm]."""
        return float(minor_diameter(self.diameter_mm, self.pitch_mm))

    @property
    def root_diameter_mm(self) -> float:
        """Root diameter d3 of a bolt [mm]."""
        return float(root_diameter(self.diameter_mm, self.pitch_mm))

    @property
    def stress_diameter_mm(self) -> float:
        """Diameter d0 of the stress area [mm]."""
        return (self.pitch_diameter_mm + self.root_diameter_mm) / 2

    @property
    def stress_area_mm2(self) -> float:
        """Stress area As [mm²]."""
        return float(stress_area(self.diameter_mm, self.pitch_mm))

    @property
    def root_area_mm2(self) -> float:
        """Area A3 at the root [mm²]."""
        return float(np.pi / 4 * self.root_diameter_mm**2)


def triangle_height(pitch_mm: Numbers) -> Numbers:
    """Height H of the thread's fundamental triangle.

    Parameters
    ----------
    pitch_mm
        Pitch P [mm], any shape.

    Returns
    -------
    float or numpy.ndarray
        H = (√3/2)·P [mm], same shape.

    References
    ----------
    ISO 68-1.
    """
    return math.sqrt(3) / 2 * pitch_mm


def pitch_diameter(diameter_mm: Numbers, pitch_mm: Numbers) -> Numbers:
    """Pitch diameter d2 of a metric thread.

    Parameters
    ----------
    diameter_mm
        Nominal diameter d [mm], any shape.
    pitch_mm
        Pitch P [mm], a shape that fits.

    Returns
    -------
    float or numpy.ndarray
        d2 = d − (3/4)·H [mm].

    References
    ----------
    ISO 724.
    """
    return diameter_mm - 0.75 * triangle_height(pitch_mm)


def minor_diameter(diameter_mm: Numbers, pitch_mm: Numbers) -> Numbers:
    """Basic minor diameter d1 of a metric thread.

    Parameters
    ----------
    diameter_mm
        Nominal diameter d [mm], any shape.
    pitch_mm
        Pitch P [mm], a shape that fits.

    Returns
    -------
    float or numpy.ndarray
        d1 = d − (5/4)·H [mm].

    References
    ----------
    ISO 724.
    """
    return diameter_mm - 1.25 * triangle_height(pitch_mm)


def root_diameter(diameter_mm: Numbers, pitch_mm: Numbers) -> Numbers:
    """Root diameter d3 of a metric bolt thread.

    Parameters
    ----------
    diameter_mm
        Nominal diameter d [mm], any shape.
    pitch_mm
        Pitch P [mm], a shape that fits.

    Returns
    -------
    float or numpy.ndarray
        d3 = d − (17/12)·H [mm].

    References
    ----------
    ISO 898-1, 9.1.6 (d3 = d1 − H/6).
    """
    return diameter_mm - 17 / 12 * triangle_height(pitch_mm)


def stress_area(diameter_mm: Numbers, pitch_mm: Numbers) -> Numbers:
    """Stress area As of a metric bolt thread.

    Parameters
    ----------
    diameter_mm
        Nominal diameter d [mm], any shape.
    pitch_mm
        Pitch P [mm], a shape that fits.

    Returns
    -------
    float or numpy.ndarray
        As = (π/4)·((d2 + d3)/2)² [mm²].

    References
    ----------
    ISO 898-1, 9.1.6.1.
    """
    mean = (pitch_diameter(diameter_mm, pitch_mm) + root_diameter(diameter_mm, pitch_mm)) / 2
    return np.pi / 4 * mean**2


def parse_thread(text: str) -> Thread:
    """The thread a designation names.

    Parameters
    ----------
    text
        ``M8`` (coarse pitch), ``M10x1.25``, ``M10×1,25``, ``m 12 x 1,5 LH``; a tolerance class such as ``-6g`` is
        passed over.

    Returns
    -------
    Thread
        The thread, one of ISO 261.

    Raises
    ------
    QuantityError
        Not the designation of a metric thread.
    DomainError
        A size or pitch that ISO 261 does not have, with the nearest ones it has.
    """
    found = _DESIGNATION.fullmatch(text)
    if found is None:
        raise QuantityError(f"{text.strip()!r} is not a metric thread", allowed="a designation like M8 or M10x1.25")
    diameter = float(found["diameter"].replace(",", "."))
    if diameter not in COARSE_PITCH_MM and diameter not in FINE_PITCHES_MM:
        raise DomainError(f"M{diameter:g} is not a size in the table", allowed=_nearest_sizes(diameter))
    if found["length"]:
        size = text.strip()[: found.start("length") - len(text) + len(text.lstrip())].rstrip("xX×* ")
        raise QuantityError(f"{text.strip()!r} carries a bolt length", next_step=f"write the thread alone: {size}")
    pitch = parse_number(found["pitch"], (0.1, 10.0)) if found["pitch"] else COARSE_PITCH_MM.get(diameter)
    known = [*([COARSE_PITCH_MM[diameter]] if diameter in COARSE_PITCH_MM else []), *FINE_PITCHES_MM.get(diameter, ())]
    if pitch not in known:
        raise _wrong_pitch(diameter, pitch, known)
    return Thread(diameter, pitch, left_hand=found["left"] is not None)


def _wrong_pitch(diameter: float, pitch: float | None, known: list[float]) -> DomainError:
    allowed = ", ".join(f"M{diameter:g}x{value:g}" for value in known)
    if pitch is None:
        return DomainError(f"M{diameter:g} has no coarse pitch", allowed=allowed, next_step="write the pitch too")
    hint = f"if {pitch:g} is the bolt's length, write M{diameter:g} alone" if pitch >= diameter else ""
    return DomainError(f"M{diameter:g} has no pitch of {pitch:g} mm", allowed=allowed, next_step=hint)


def _nearest_sizes(diameter: float) -> str:
    sizes = sorted({*COARSE_PITCH_MM, *FINE_PITCHES_MM}, key=lambda size: (abs(size - diameter), size))[:2]
    return f"M{min(sizes):g} and M{max(sizes):g} are the nearest; the table goes from M3 to M39"
