"""A belt with its one tensioner, ready to be looked at at any temperature: drive file in, loops out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, Hydraulic, LockedEccentric, Slide, SprungArm, Tensioner
from twoturn.drive.parts import Belt, Drive, Pulley
from twoturn.drive.path import ComplexArray, FloatArray
from twoturn.drive.radii import pulley_expansion_per_k
from twoturn.mechanics.kinds.double import SprungEccentric, TorsionSpring
from twoturn.mechanics.kinds.locked import Locked
from twoturn.mechanics.kinds.pose import Kind, Number
from twoturn.mechanics.kinds.ram import RamArm
from twoturn.mechanics.kinds.slide import Sliding
from twoturn.mechanics.rest.limits import Limits, limits_of
from twoturn.mechanics.rest.loop import Cord, Loop
from twoturn.mechanics.rest.numbers import AS_WRITTEN, Numbers


@dataclass(frozen=True)
class Setting:
    """What was set once, at the reference temperature, and is held at any other.

    Attributes
    ----------
    adjuster_deg
        Clock angle of the setting eccentric [°].
    adjuster_zero_deg
        The one that puts the pointer on the notch [°], where the spring reacts on it; else None.
    pointer
        Pointer of a roller that is locked [°]; None while it is free.
    offset_mm
        Closure offset added to the belt's length [mm].
    """

    adjuster_deg: Number = 0.0
    adjuster_zero_deg: Number | None = None
    pointer: Number | None = None
    offset_mm: Number = 0.0


@dataclass(frozen=True)
class Stand:
    """A belt and its tensioner with every number at hand.

    Attributes
    ----------
    table
        The tensioner's table.
    numbers
        Where numbers come from.
    setting
        What was set.
    """

    drive: Drive
    belt: Belt
    table: Tensioner
    numbers: Numbers = AS_WRITTEN
    setting: Setting = Setting()

    def with_setting(self, setting: Setting) -> Stand:
        """The same with another setting."""
        return replace(self, setting=setting)

    @property
    def limits(self) -> Limits:
        """What the tensioner allows."""
        return limits_of(self.table)

    @property
    def way(self) -> int:
        """σ: +1 when the arm turns clockwise as it tightens, −1 counter-clockwise (and for a slide +1)."""
        return -1 if getattr(self.table, "tightens", None) == "counter-clockwise" else 1

    @property
    def adjust_way(self) -> int:
        """+1 when the adjuster lengthens the path turning clockwise, −1 counter-clockwise, 0 where it is not said."""
        turns = getattr(self.table, "adjust_turns", None)
        return 0 if turns is None else (1 if turns == "clockwise" else -1)

    @property
    def at(self) -> int:
        """Index of the tensioner's pulley on the belt."""
        return [pulley.id for pulley in self.belt.pulleys].index(self.table.pulley)

    @property
    def cord(self) -> Cord:
        """The belt as a spring; its stiffness must be given."""
        table = self.belt.table
        stiffness = math.nan if table.stiffness_n is None else table.stiffness_n
        return Cord(
            stiffness_n=self.numbers.plain("belt", self.belt.id, "stiffness_n", stiffness),
            length_at_n=self.numbers.plain("belt", self.belt.id, "length_at_n", table.length_at_n),
        )

    def made_mm(self, teeth: int | FloatArray | None = None) -> Number:
        """Length N·p + length_error_mm as made [mm], of the belt's own or of other tooth counts ``teeth`` [-]."""
        table = self.belt.table
        count = table.teeth if teeth is None else teeth
        error = self.numbers.plain("belt", self.belt.id, "length_error_mm", table.length_error_mm)
        return count * (table.pitch_mm or math.nan) + error

    def free_mm(self, warmer_k: Number = 0.0, teeth: int | FloatArray | None = None) -> Number:
        """L₀ [mm], ``warmer_k`` [K] above the reference temperature, of the belt's own or other ``teeth`` [-]."""
        expansion = self.numbers.plain("belt", self.belt.id, "expansion_per_k", self.belt.table.expansion_per_k)
        return (self.made_mm(teeth) + self.setting.offset_mm) * (1 + expansion * warmer_k)

    def growth(self, warmer_k: Number) -> Number:
        """Factor [-] by which the block grows away from the origin, ``warmer_k`` [K] above the reference."""
        per_k = self.numbers.plain("drive", "", "block_expansion_per_k", self.drive.file.drive.block_expansion_per_k)
        return 1 + per_k * warmer_k

    def loop(self, warmer_k: Number = 0.0) -> Loop:
        """The belt's pulleys ``warmer_k`` [K] above the reference temperature."""
        growth = self.growth(warmer_k)
        centres = [self._centre(pulley) * growth for pulley in self.belt.pulleys]
        radii = [radius_mm(self.belt, pulley, self.numbers, warmer_k) for pulley in self.belt.pulleys]
        return Loop(
            centres=_side_by_side(centres, np.complex128),
            radii_mm=_side_by_side(radii, np.float64),
            inside=np.array([pulley.inside for pulley in self.belt.pulleys]),
            sense=self.belt.sense,
            at=self.at,
            kind=self.kind(growth),
        )

    def _centre(self, pulley: Pulley) -> ComplexArray:
        """Centre at the reference temperature; a tensioner's pulley stands at the origin unless placed by number."""
        written = None if pulley.is_tensioner else pulley.centre_mm
        return self.numbers.point("pulley", pulley.id, "at_mm", written or (0.0, 0.0))

    def kind(self, growth: Number = 1.0) -> Kind:
        """The tensioner with everything bolted to the block moved away from the origin by ``growth`` [-]."""
        return _kind(self.table, _Reader(self), growth)


@dataclass(frozen=True)
class _Reader:
    """Numbers of one tensioner's table."""

    stand: Stand

    def __call__(self, key: str) -> Number:
        written = getattr(self.stand.table, key)
        return self.stand.numbers.plain("tensioner", self.stand.table.pulley, key, 0.0 if written is None else written)

    def point(self, key: str) -> ComplexArray:
        written = getattr(self.stand.table, key)
        return self.stand.numbers.point("tensioner", self.stand.table.pulley, key, written)


def radius_mm(belt: Belt, pulley: Pulley, numbers: Numbers, warmer_k: Number) -> Number:
    """Pitch-line radius [mm] with replaced numbers, ``warmer_k`` [K] above the reference temperature.

    As :func:`twoturn.drive.radii.pitch_line_radius_mm`.
    """
    growth = 1 + numbers.plain("pulley", pulley.id, "expansion_per_k", pulley_expansion_per_k(pulley)) * warmer_k
    if pulley.teeth is not None:
        return pulley.teeth * (belt.table.pitch_mm or math.nan) / (2 * math.pi) * growth
    diameter = numbers.plain("pulley", pulley.id, "diameter_mm", pulley.table.diameter_mm or math.nan)
    key = "tip_mm" if pulley.inside else "back_mm"
    return diameter / 2 * growth + numbers.plain("belt", belt.id, key, getattr(belt.table, key))


def _side_by_side(values: list[Any], kind: type) -> Any:
    """Plain numbers or one for each case, side by side in a last axis."""
    if all(np.ndim(value) == 0 for value in values):
        return np.array(values, dtype=kind)
    return np.stack(np.broadcast_arrays(*values), axis=-1).astype(kind)


def _kind(table: Tensioner, of: _Reader, growth: Number) -> Kind:
    if isinstance(table, LockedEccentric):
        return Locked(of.point("bolt_mm") * growth, of("arm_mm"), of("notch_deg"), of.stand.way)
    if isinstance(table, Slide):
        return Sliding(
            of.point("at_notch_mm") * growth,
            of("tightens_deg"),
            of("spring_n"),
            of("rate_n_per_mm"),
            of("friction_n"),
        )
    if isinstance(table, Hydraulic):
        return _ram(of, growth)
    zero = of.stand.setting.adjuster_zero_deg if isinstance(table, DoubleEccentric) else None
    spring = TorsionSpring(of("spring_nm"), of("rate_nm_per_deg"), of("friction_nm"), zero)
    bolt = of.point("pivot_mm" if isinstance(table, SprungArm) else "bolt_mm") * growth
    adjuster = of("adjuster_mm") if isinstance(table, DoubleEccentric) else 0.0
    return SprungEccentric(bolt, of("arm_mm"), of("notch_deg"), of.stand.way, spring, adjuster)


def _ram(of: _Reader, growth: Number) -> RamArm:
    """The ram arm; its length at the notch is that of the reference temperature."""

    def at(factor: Number, at_notch_mm: Number) -> RamArm:
        """The ram arm with the block grown by ``factor`` [-] and a given length at the notch [mm]."""
        return RamArm(
            pivot=of.point("pivot_mm") * factor,
            base=of.point("base_mm") * factor,
            arm_mm=of("arm_mm"),
            notch_deg=of("notch_deg"),
            tightens=of.stand.way,
            ram_arm_mm=of("ram_arm_mm"),
            ram_deg=of("ram_deg"),
            ram_n=of("ram_n"),
            at_notch_mm=at_notch_mm,
            rate_n_per_mm=of("rate_n_per_mm"),
            friction_n=of("friction_n"),
        )

    return at(growth, at(1.0, 0.0).ram(0.0)[0])
