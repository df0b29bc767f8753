"""Double eccentric (an automatic roller with pointer) and sprung arm: an arm that a torsion spring turns.

centre = bolt + adjuster·u(α) + arm·u(φ); M = spring − rate·pointer, the pointer taken from the adjuster where the
spring reacts on it. A sprung arm is the same with no setting eccentric between.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.path import ComplexArray
from twoturn.mechanics.kinds.pose import RAD_PER_DEG, Number, Pose, unit_at

NMM_PER_NM = 1000.0


@dataclass(frozen=True)
class TorsionSpring:
    """A spring that turns an arm.

    Attributes
    ----------
    at_notch_nm, rate_nm_per_deg, friction_nm
        Torque at the notch towards tightening [N·m], its fall per degree of pointer [N·m/°], dry friction [N·m].
    adjuster_zero_deg
        Where the spring reacts on the adjuster: the adjuster angle at which the pointer is on the notch [°]; else None.
    """

    at_notch_nm: Number
    rate_nm_per_deg: Number = 0.0
    friction_nm: Number = 0.0
    adjuster_zero_deg: Number | None = None


@dataclass(frozen=True)
class SprungEccentric:
    """An arm on a spring, carried by the block or by a setting eccentric.

    Attributes
    ----------
    bolt
        Centre of the bolt or pivot at the temperature, x + i·y [mm].
    arm_mm, notch_deg, tightens
        Arm [mm], its clock angle with the pointer on the notch [°], +1 when it tightens clockwise.
    adjuster_mm
        Eccentricity of the setting eccentric [mm]; 0 for a sprung arm.
    spring
        The spring.
    """

    bolt: ComplexArray
    arm_mm: Number
    notch_deg: Number
    tightens: int
    spring: TorsionSpring
    adjuster_mm: Number = 0.0
    per_unit: float = RAD_PER_DEG

    def pose(self, pointer: Number, adjuster_deg: Number) -> Pose:
        """The pulley at pointers [°] and adjuster angles [°]."""
        pointer = np.asarray(pointer, dtype=float) + 0 * np.asarray(adjuster_deg, dtype=float)
        angle = (self.notch_deg + self.tightens * pointer) * RAD_PER_DEG
        turned = (np.asarray(adjuster_deg, dtype=float) + 0 * pointer) * RAD_PER_DEG
        outward = self.arm_mm * unit_at(angle)
        carried = self.adjuster_mm * unit_at(turned)
        centre = self.bolt + carried + outward
        effort, by_adjuster = self._effort(pointer, adjuster_deg)
        zero = np.zeros(np.shape(centre))
        return Pose(
            centre=centre,
            first=-1j * self.tightens * outward,
            second=-outward,
            by_adjuster=-1j * carried,
            effort=zero + effort,
            effort_slope=zero - NMM_PER_NM * self.spring.rate_nm_per_deg / RAD_PER_DEG,
            effort_by_adjuster=zero + by_adjuster,
            friction=zero + NMM_PER_NM * self.spring.friction_nm,
            friction_slope=zero,
            lever_mm=zero + self.arm_mm,
            leads=np.ones(np.shape(centre), dtype=bool),
        )

    def _effort(self, pointer: Number, adjuster_deg: Number) -> tuple[Number, Number]:
        """Torque towards tightening [N·mm] and its change with the adjuster [N·mm/rad]."""
        spring = self.spring
        if spring.adjuster_zero_deg is None:
            return NMM_PER_NM * (spring.at_notch_nm - spring.rate_nm_per_deg * pointer), 0.0
        turned = np.mod(np.asarray(adjuster_deg) - spring.adjuster_zero_deg + 180.0, 360.0) - 180.0
        wound = pointer - self.tightens * turned
        torque = NMM_PER_NM * (spring.at_notch_nm - spring.rate_nm_per_deg * wound)
        return torque, NMM_PER_NM * spring.rate_nm_per_deg * self.tightens / RAD_PER_DEG
