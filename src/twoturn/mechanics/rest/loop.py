"""One belt with one tensioner at one temperature, looked at for any pointers, adjuster angles and cases at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from twoturn.drive.path import (
    TURN,
    BoolArray,
    ComplexArray,
    FloatArray,
    Path,
    belt_path,
    tangents,
    turning,
    wrap_angles,
)
from twoturn.mechanics.kinds.pose import Kind, Number, Pose

LEAST_LEVER = 0.3


@dataclass(frozen=True)
class Cord:
    """How the belt answers to stretch: T = length_at_n + EA·(L/L₀ − 1), never below 0.

    Attributes
    ----------
    stiffness_n, length_at_n
        EA, newtons per unit strain [N], and the tension at which the counted length holds [N].
    """

    stiffness_n: Number
    length_at_n: Number = 0.0

    def tension_n(self, length_mm: Number, free_mm: Number) -> FloatArray:
        """Tension [N] of a belt of length ``free_mm`` [mm] on a path of ``length_mm`` [mm]."""
        stretched = self.length_at_n + self.stiffness_n * (np.asarray(length_mm) / free_mm - 1.0)
        return np.maximum(stretched, 0.0)

    def rate_n_per_mm(self, length_mm: Number, free_mm: Number) -> FloatArray:
        """∂T/∂L [N/mm] at a path ``length_mm`` for a belt ``free_mm`` [mm]; 0 where the belt is slack."""
        taut = self.tension_n(length_mm, free_mm) > 0
        return np.where(taut, self.stiffness_n / np.asarray(free_mm), 0.0)

    def stretch(self, tension_n: Number) -> FloatArray:
        """L/L₀ [-] at a tension [N]."""
        return np.asarray(1.0 + (np.asarray(tension_n) - self.length_at_n) / self.stiffness_n)


@dataclass(frozen=True)
class RestOfPath:
    """The part of a path that the tensioner's pulley does not move.

    Attributes
    ----------
    length_mm, turned_rad
        Spans and arcs from the exit of the pulley after the tensioner's to the entry of the one before it [mm], and
        the signed wraps of what lies between [rad].
    first, last
        Directions in which that part begins and ends [-].
    """

    length_mm: FloatArray
    turned_rad: FloatArray
    first: ComplexArray
    last: ComplexArray


@dataclass(frozen=True)
class NearTensioner:
    """Both spans at the tensioner's pulley.

    Attributes
    ----------
    coming, going
        Their unit travel directions [-].
    coming_mm, going_mm
        Their free lengths [mm].
    length_mm
        Length of the whole path [mm].
    closed
        True where the belt has a path.
    """

    coming: ComplexArray
    going: ComplexArray
    coming_mm: FloatArray
    going_mm: FloatArray
    length_mm: FloatArray
    closed: BoolArray


@dataclass(frozen=True)
class Loop:
    """A belt's pulleys at one temperature, the tensioner's pulley left open.

    Attributes
    ----------
    centres
        Pulley centres x + i·y, anything at the tensioner's place; shape (n,) or (cases, n) [mm].
    radii_mm
        Pitch-line radii; shape (n,) or (cases, n) [mm].
    inside, sense
        As in :func:`twoturn.drive.path.belt_path`.
    at
        Index of the tensioner's pulley.
    kind
        The tensioner.
    """

    centres: ComplexArray
    radii_mm: FloatArray
    inside: BoolArray
    sense: int
    at: int
    kind: Kind

    def placed(self, centre: ComplexArray) -> ComplexArray:
        """Centres of all pulleys with the tensioner's at ``centre``; shape of ``centre`` + (n,) [mm]."""
        shape = np.broadcast_shapes(centre.shape, self.centres.shape[:-1])
        centres = np.array(np.broadcast_to(self.centres, (*shape, self.centres.shape[-1])))
        centres[..., self.at] = centre
        return centres

    def path(self, centre: ComplexArray) -> Path:
        """The path with the tensioner's pulley at ``centre`` x + i·y [mm]."""
        return belt_path(self.placed(centre), self.radii_mm, self.inside, self.sense)

    @cached_property
    def rest_of_path(self) -> RestOfPath:
        """What does not move with the tensioner's pulley; for three pulleys or more."""
        order = np.roll(np.arange(self.inside.size), -self.at - 1)[:-1]
        way = turning(self.inside, self.sense)[order]
        centres, radii = self.centres[..., order], self.radii_mm[..., order]
        spans, directions = tangents(centres[..., :-1], centres[..., 1:], way * radii)
        wraps = wrap_angles(directions[..., :-1], directions[..., 1:], way[1:-1])
        return RestOfPath(
            length_mm=spans.sum(axis=-1) + (radii[..., 1:-1] * wraps).sum(axis=-1),
            turned_rad=(np.sign(way[1:-1]) * self.sense * wraps).sum(axis=-1),
            first=directions[..., 0],
            last=directions[..., -1],
        )

    @cached_property
    def _beside(self) -> tuple[ComplexArray, ComplexArray, FloatArray, FloatArray]:
        """Centres before and after the tensioner's pulley [mm], radii of the three [mm], and which way they turn."""
        around = [(self.at + step) % self.inside.size for step in (-1, 0, 1)]
        before, after = self.centres[..., around[0]], self.centres[..., around[2]]
        return before, after, self.radii_mm[..., around], turning(self.inside, self.sense)[around]

    def near(self, centre: ComplexArray) -> NearTensioner:
        """Both spans at the tensioner's pulley and the whole length with it at ``centre`` x + i·y [mm]."""
        fixed, (before, after, radii, way) = self.rest_of_path, self._beside
        ends = _columns(before, centre, after)
        spans, directions = tangents(ends[..., :-1], ends[..., 1:], way * radii)
        coming, going = directions[..., 0], directions[..., 1]
        chain = _columns(fixed.last, coming, going, fixed.first)
        wraps = wrap_angles(chain[..., :-1], chain[..., 1:], way)
        turned = fixed.turned_rad + (way * self.sense * wraps).sum(axis=-1)
        length = fixed.length_mm + spans.sum(axis=-1) + (radii * wraps).sum(axis=-1)
        with np.errstate(invalid="ignore"):
            closed = np.asarray(np.abs(turned - TURN) < 1e-6)
        return NearTensioner(coming, going, spans[..., 0], spans[..., 1], length, closed)


@dataclass(frozen=True)
class Look:
    """What a loop shows at some pointers; ``x`` is the pointer in rad (arms) or mm (slides).

    Attributes
    ----------
    pose
        The tensioner.
    length_mm
        Path length [mm]; NaN where there is none.
    lever, lever_slope
        g = ∂L/∂x [mm/rad or -] and ∂g/∂x.
    reach
        The greatest g any place of the arm could have with these spans: arm·|u_in − u_out| [mm/rad or -].
    by_adjuster, lever_by_adjuster
        ∂L/∂adjuster [mm/rad] and ∂g/∂adjuster.
    closed
        True where the belt has a path.
    """

    pose: Pose
    length_mm: FloatArray
    lever: FloatArray
    lever_slope: FloatArray
    reach: FloatArray
    by_adjuster: FloatArray
    lever_by_adjuster: FloatArray
    closed: BoolArray

    @property
    def leads(self) -> BoolArray:
        """True where the lever is long enough: g > 0, g ≥ 0.3·reach, and the ram's own lever likewise."""
        with np.errstate(invalid="ignore"):
            return np.asarray(
                self.closed & self.pose.leads & (self.lever > 0) & (self.lever >= LEAST_LEVER * self.reach)
            )


def look(loop: Loop, pointer: Number, adjuster_deg: Number = 0.0) -> Look:
    """Length, lever and their derivatives at pointers [° or mm] and adjuster angles [°]; shapes broadcast.

    Parameters
    ----------
    loop
        The belt and its tensioner.
    pointer
        Pointer [° or mm]; shape (cases,) or plain.
    adjuster_deg
        Clock angle of the setting eccentric [°].

    Notes
    -----
    ∂L/∂centre = u_in − u_out. A span of free length ℓ turns by δ·n/ℓ when one end moves by δ (n its left normal), so
    the second derivative of L is n·nᵀ/ℓ summed over both spans: g′ follows without differences.
    """
    pose = loop.kind.pose(pointer, adjuster_deg)
    near = loop.near(pose.centre) if loop.inside.size > 2 else _near_of_two(loop, pose.centre)
    pull = near.coming - near.going
    sideways = [1j * near.coming, 1j * near.going]
    free = [near.coming_mm, near.going_mm]
    across = [_dot(side, pose.first) for side in sideways]
    across_adjuster = [_dot(side, pose.by_adjuster) for side in sideways]
    bend = sum(a * a / length for a, length in zip(across, free, strict=True))
    mixed = sum(a * b / length for a, b, length in zip(across, across_adjuster, free, strict=True))
    return Look(
        pose=pose,
        length_mm=near.length_mm,
        lever=_dot(pull, pose.first),
        lever_slope=np.asarray(bend + _dot(pull, pose.second)),
        reach=pose.lever_mm * np.abs(pull),
        by_adjuster=_dot(pull, pose.by_adjuster),
        lever_by_adjuster=np.asarray(mixed),
        closed=near.closed,
    )


def _near_of_two(loop: Loop, centre: ComplexArray) -> NearTensioner:
    """Both spans where the belt runs over the tensioner's pulley and one other."""
    path = loop.path(centre)
    before = loop.at - 1
    spans, ways = path.spans_mm, path.directions
    return NearTensioner(
        ways[..., before], ways[..., loop.at], spans[..., before], spans[..., loop.at], path.length_mm, path.closed
    )


def _columns(*values: ComplexArray) -> ComplexArray:
    """Values side by side in a new last axis; their shapes broadcast."""
    table = np.empty((*np.broadcast(*values).shape, len(values)), dtype=np.complex128)
    for index, value in enumerate(values):
        table[..., index] = value
    return table


def _dot(a: ComplexArray, b: ComplexArray) -> FloatArray:
    return np.asarray(a.real * b.real + a.imag * b.imag)


@dataclass(frozen=True)
class Balance:
    """The torque balance R = M ± friction − T·g at some pointers.

    Attributes
    ----------
    lead
        R, what the spring leads the belt by [N·mm or N]; 0 at rest.
    slope
        ∂R/∂pointer, per degree or mm.
    by_adjuster
        ∂R/∂adjuster, per degree.
    tension_n
        T [N].
    """

    lead: FloatArray
    slope: FloatArray
    by_adjuster: FloatArray
    tension_n: FloatArray


def balance(seen: Look, cord: Cord, free_mm: Number, per_unit: float, friction: Number = 0.0) -> Balance:
    """Torque balance of a look.

    Parameters
    ----------
    seen
        The look.
    cord, free_mm
        The belt and its length without load [mm].
    per_unit
        rad of ``x`` a degree of pointer, or 1 [-].
    friction
        How much of the dry friction helps the spring [-]: −1, 0 or +1.
    """
    tension = cord.tension_n(seen.length_mm, free_mm)
    rate = cord.rate_n_per_mm(seen.length_mm, free_mm)
    pose = seen.pose
    slope = pose.effort_slope + friction * pose.friction_slope - rate * seen.lever**2 - tension * seen.lever_slope
    by_adjuster = pose.effort_by_adjuster - rate * seen.by_adjuster * seen.lever - tension * seen.lever_by_adjuster
    return Balance(
        lead=np.asarray(pose.effort + friction * pose.friction - tension * seen.lever),
        slope=np.asarray(slope * per_unit),
        by_adjuster=np.asarray(by_adjuster * np.pi / 180),
        tension_n=tension,
    )
