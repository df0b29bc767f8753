"""Locked eccentric (a fixed roller, set by hand): bolt + arm·u(φ), φ = notch + σ·pointer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.path import ComplexArray
from twoturn.mechanics.kinds.pose import RAD_PER_DEG, Number, Pose, still, unit_at


@dataclass(frozen=True)
class Locked:
    """A wheel on an eccentric that is turned and then held by its bolt.

    Attributes
    ----------
    bolt
        Centre of the bolt at the temperature, x + i·y [mm].
    arm_mm, notch_deg, tightens
        Eccentricity [mm], clock angle of the arm on the notch [°], +1 when it tightens clockwise.
    """

    bolt: ComplexArray
    arm_mm: Number
    notch_deg: Number
    tightens: int
    per_unit: float = RAD_PER_DEG

    def pose(self, pointer: Number, adjuster_deg: Number) -> Pose:
        """The pulley at a pointer [°]; ``adjuster_deg`` [°] plays no part."""
        angle = (self.notch_deg + self.tightens * np.asarray(pointer, dtype=float) + 0 * adjuster_deg) * RAD_PER_DEG
        outward = self.arm_mm * unit_at(angle)
        return still(self.bolt + outward, -1j * self.tightens * outward, -outward, self.arm_mm)
