"""What every kind of tensioner answers for a pointer: the pulley's place, its derivatives, and the effort behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from twoturn.drive.path import BoolArray, ComplexArray, FloatArray

RAD_PER_DEG = np.pi / 180
Number = float | FloatArray
"""A plain number, or one for each case; shapes broadcast."""


@dataclass(frozen=True)
class Pose:
    """A tensioner's pulley at some pointers; ``x`` is the pointer in rad (arms) or mm (slides).

    Attributes
    ----------
    centre
        Pulley centre x + i·y [mm].
    first, second
        ∂centre/∂x [mm/rad or -] and ∂²centre/∂x².
    by_adjuster
        ∂centre/∂adjuster [mm/rad]; 0 where there is no setting eccentric.
    effort, effort_slope, effort_by_adjuster
        Generalised force towards tightening that balances T·∂L/∂x [N·mm or N], its ∂/∂x, and its ∂/∂adjuster [1/rad].
    friction, friction_slope
        Dry friction as the same generalised force [N·mm or N], and its ∂/∂x.
    lever_mm
        Greatest possible ∂L/∂x for a unit of pull: |first| [mm or -].
    leads
        True where the ram, if any, has enough lever on the arm.
    """

    centre: ComplexArray
    first: ComplexArray
    second: ComplexArray
    by_adjuster: ComplexArray
    effort: FloatArray
    effort_slope: FloatArray
    effort_by_adjuster: FloatArray
    friction: FloatArray
    friction_slope: FloatArray
    lever_mm: FloatArray
    leads: BoolArray


class Kind(Protocol):
    """A tensioner at one temperature, its settings held."""

    @property
    def per_unit(self) -> float:
        """rad of ``x`` a degree of pointer, or 1 for a slide's millimetres."""

    def pose(self, pointer: Number, adjuster_deg: Number) -> Pose:
        """The pulley at pointers [° or mm] and adjuster angles [°]; shapes broadcast."""


def unit_at(angle_rad: Number) -> ComplexArray:
    """u(θ) = (sin θ, cos θ) of a clock angle [rad], as sin θ + i·cos θ [-]; its slope u′(θ) is −i·u(θ)."""
    return np.asarray(np.sin(angle_rad) + 1j * np.cos(angle_rad))


def still(centre: ComplexArray, first: ComplexArray, second: ComplexArray, lever_mm: Number) -> Pose:
    """A pose without effort of its own: the arm is held. ``lever_mm`` [mm] as in :class:`Pose`."""
    zero = np.zeros(np.shape(centre))
    return Pose(
        centre=centre,
        first=first,
        second=second,
        by_adjuster=np.zeros(np.shape(centre), dtype=np.complex128),
        effort=zero,
        effort_slope=zero,
        effort_by_adjuster=zero,
        friction=zero,
        friction_slope=zero,
        lever_mm=zero + lever_mm,
        leads=np.ones(np.shape(centre), dtype=bool),
    )
