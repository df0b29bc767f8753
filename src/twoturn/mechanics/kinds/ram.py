"""Hydraulic: a roller on an arm that a ram pushes; the ram's length ℓ runs from its base on the block to the arm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.path import ComplexArray, FloatArray
from twoturn.mechanics.kinds.pose import RAD_PER_DEG, Number, Pose, unit_at

LEAST_LEVER = 0.3


@dataclass(frozen=True)
class RamArm:
    """A roller on an arm with a ram.

    Attributes
    ----------
    pivot, base
        Pivot of the arm and foot of the ram at the temperature, x + i·y [mm].
    arm_mm, notch_deg, tightens
        Arm to the roller [mm], its clock angle on the notch [°], +1 when it tightens clockwise.
    ram_arm_mm, ram_deg
        Where the ram meets the arm: pivot + ram_arm·u(φ + ram_deg) [mm, °].
    ram_n, rate_n_per_mm, friction_n
        Push at the notch [N], its fall per mm of ram [N/mm], dry friction [N].
    at_notch_mm
        Ram length with the pointer on the notch at the reference temperature, held [mm].
    """

    pivot: ComplexArray
    base: ComplexArray
    arm_mm: Number
    notch_deg: Number
    tightens: int
    ram_arm_mm: Number
    ram_deg: Number
    ram_n: Number
    at_notch_mm: Number
    rate_n_per_mm: Number = 0.0
    friction_n: Number = 0.0
    per_unit: float = RAD_PER_DEG

    def ram(self, pointer: Number) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Ram length ℓ [mm] at pointers [°], with ∂ℓ/∂φ [mm/rad] and ∂²ℓ/∂φ² [mm/rad²], φ the way it tightens."""
        angle = (self.notch_deg + self.tightens * np.asarray(pointer, dtype=float) + self.ram_deg) * RAD_PER_DEG
        outward = self.ram_arm_mm * unit_at(angle)
        rod = self.pivot + outward - self.base
        first = -1j * self.tightens * outward
        length = np.abs(rod)
        slope = (rod * np.conj(first)).real / length
        curve = (np.abs(first) ** 2 - (rod * np.conj(outward)).real - slope**2) / length
        return length, slope, curve

    def pose(self, pointer: Number, adjuster_deg: Number) -> Pose:
        """The pulley at a pointer [°]; ``adjuster_deg`` [°] plays no part."""
        pointer = np.asarray(pointer, dtype=float) + 0 * np.asarray(adjuster_deg, dtype=float)
        angle = (self.notch_deg + self.tightens * pointer) * RAD_PER_DEG
        outward = self.arm_mm * unit_at(angle)
        centre = self.pivot + outward
        length, slope, curve = self.ram(pointer)
        push = self.ram_n - self.rate_n_per_mm * (length - self.at_notch_mm)
        zero = np.zeros(np.shape(centre))
        return Pose(
            centre=centre,
            first=-1j * self.tightens * outward,
            second=-outward,
            by_adjuster=np.zeros(np.shape(centre), dtype=np.complex128),
            effort=zero + push * slope,
            effort_slope=zero - self.rate_n_per_mm * slope**2 + push * curve,
            effort_by_adjuster=zero,
            friction=zero + self.friction_n * slope,
            friction_slope=zero + self.friction_n * curve,
            lever_mm=zero + self.arm_mm,
            leads=np.asarray(slope >= LEAST_LEVER * np.asarray(self.ram_arm_mm)),
        )
