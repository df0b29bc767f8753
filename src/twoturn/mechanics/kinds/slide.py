"""Slide: a roller that a spring pushes along a straight guide; the pointer is the way s in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.path import ComplexArray
from twoturn.mechanics.kinds.pose import RAD_PER_DEG, Number, Pose, unit_at


@dataclass(frozen=True)
class Sliding:
    """A roller on a straight guide.

    Attributes
    ----------
    at_notch
        Pulley centre with the pointer on the notch, at the temperature, x + i·y [mm].
    towards_deg
        Clock angle along which it tightens [°].
    spring_n, rate_n_per_mm, friction_n
        Force at the notch [N], its fall per mm [N/mm], dry friction [N].
    """

    at_notch: ComplexArray
    towards_deg: Number
    spring_n: Number
    rate_n_per_mm: Number = 0.0
    friction_n: Number = 0.0
    per_unit: float = 1.0

    def pose(self, pointer: Number, adjuster_deg: Number) -> Pose:
        """The pulley at a way [mm]; ``adjuster_deg`` [°] plays no part."""
        way = np.asarray(pointer, dtype=float) + 0 * np.asarray(adjuster_deg, dtype=float)
        towards = unit_at(np.asarray(self.towards_deg) * RAD_PER_DEG) + 0 * way
        centre = self.at_notch + way * towards
        zero = np.zeros(np.shape(centre))
        return Pose(
            centre=centre,
            first=towards + 0 * centre,
            second=np.zeros(np.shape(centre), dtype=np.complex128),
            by_adjuster=np.zeros(np.shape(centre), dtype=np.complex128),
            effort=zero + self.spring_n - self.rate_n_per_mm * way,
            effort_slope=zero - self.rate_n_per_mm,
            effort_by_adjuster=zero,
            friction=zero + self.friction_n,
            friction_slope=zero,
            lever_mm=zero + 1.0,
            leads=np.ones(np.shape(centre), dtype=bool),
        )
