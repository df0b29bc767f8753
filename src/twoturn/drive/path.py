"""The belt's path round its pulleys: tangents, wraps, length and the exact gradient of the length.

Points and directions are worked on as complex numbers x + i·y. A pulley that turns clockwise (ε = +1) lies to the right
of the belt's travel, so its tangent point is c + ε·r·i·u with u the unit travel direction. For a span from pulley a to
pulley b this gives c_b − c_a = (ℓ − i·q)·u with q = ε_b·r_b − ε_a·r_a: one closed form for open and crossed tangents.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
BoolArray = NDArray[np.bool_]

TURN = 2 * np.pi


@dataclass(frozen=True)
class Path:
    """The pitch line of one belt, for any number of cases at once.

    Attributes
    ----------
    directions
        Unit travel direction of the span that leaves pulley i, x + i·y; shape (cases, n) [-].
    spans_mm
        Free length of that span from tangent point to tangent point; shape (cases, n) [mm].
    leaves, enters
        Where that span leaves pulley i and where it meets pulley i + 1, x + i·y; shape (cases, n) [mm].
    wraps_rad
        Wrap angle at pulley i, 0 or more under either side of the belt; shape (cases, n) [rad].
    inside
        True where the pulley sits inside the loop; shape (n,).
    length_mm
        Length of the pitch line; shape (cases,) [mm]; NaN where a tangent does not exist.
    closed
        True where every tangent exists and the signed wraps add up to one turn; shape (cases,).
    """

    directions: ComplexArray
    spans_mm: FloatArray
    leaves: ComplexArray
    enters: ComplexArray
    wraps_rad: FloatArray
    inside: BoolArray
    length_mm: FloatArray
    closed: BoolArray

    @property
    def signed_wraps_rad(self) -> FloatArray:
        """Wraps with the sign of the turn, positive inside the loop, negative under the back; (cases, n) [rad]."""
        return np.where(self.inside, self.wraps_rad, -self.wraps_rad)

    @property
    def pulls(self) -> ComplexArray:
        """∂L/∂centre = u_in − u_out of every pulley, as ∂L/∂x + i·∂L/∂y; shape (cases, n) [-]."""
        return np.asarray(np.roll(self.directions, 1, axis=-1) - self.directions)


def as_complex(points_mm: Any) -> ComplexArray:
    """Points (…, 2) [mm] as complex numbers x + i·y (…) [mm]."""
    points = np.asarray(points_mm, dtype=float)
    return np.asarray(points[..., 0] + 1j * points[..., 1])


def as_points(values: ComplexArray) -> FloatArray:
    """Complex numbers x + i·y (…) as points (…, 2), in the same unit."""
    return np.stack([values.real, values.imag], axis=-1)


def turning(inside: Any, sense: int) -> FloatArray:
    """+1 for a pulley that turns clockwise, −1 for the other way; shape (n,) [-].

    Parameters
    ----------
    inside
        True where the pulley sits inside the loop; shape (n,).
    sense
        +1 when pulleys inside the loop turn clockwise, −1 when counter-clockwise.
    """
    return np.where(np.asarray(inside, dtype=bool), float(sense), -float(sense))


def belt_path(centres: ComplexArray, radii_mm: FloatArray, inside: BoolArray, sense: int) -> Path:
    """Path of a belt round its pulleys in order along travel, vectorised over cases.

    Parameters
    ----------
    centres
        Pulley centres x + i·y; shape (cases, n) or (n,) [mm]. See :func:`as_complex`.
    radii_mm
        Pitch-line radii; shape (cases, n) or (n,) [mm].
    inside
        True where the toothed side (inside of the loop) touches the pulley; shape (n,).
    sense
        +1 when pulleys inside the loop turn clockwise, −1 when counter-clockwise.

    Returns
    -------
    Path
        Its arrays have the broadcast shape of ``centres`` and ``radii_mm``. Cases without a tangent hold NaN.

    Notes
    -----
    Closed-form common tangents of two circles; ∂L/∂centre = u_in − u_out and ∂L/∂radius = wrap follow from the
    envelope theorem, since the belt's length is stationary against a shift of its tangent points.
    """
    way = turning(inside, sense)
    signed = way * radii_mm
    around = np.concatenate([np.arange(way.size), [0]])
    closed_round = centres[..., around]
    spans, directions = tangents(closed_round[..., :-1], closed_round[..., 1:], signed[..., around])
    wraps = wrap_angles(directions[..., around[:-1] - 1], directions, way)
    leaves = centres + 1j * signed * directions
    length = spans.sum(axis=-1) + (radii_mm * wraps).sum(axis=-1)
    with np.errstate(invalid="ignore"):
        whole = np.asarray(np.abs((way * sense * wraps).sum(axis=-1) - TURN) < 1e-6)
    return Path(
        directions=directions,
        spans_mm=spans,
        leaves=leaves,
        enters=leaves + spans * directions,
        wraps_rad=wraps,
        inside=np.asarray(inside, dtype=bool),
        length_mm=length,
        closed=whole,
    )


def tangents(starts: ComplexArray, ends: ComplexArray, signed_mm: FloatArray) -> tuple[FloatArray, ComplexArray]:
    """Common tangents of a chain of circles, each to the next.

    Parameters
    ----------
    starts, ends
        Centres x + i·y of the circles each span leaves and meets; shape (cases, k) [mm].
    signed_mm
        ε·r of all circles of the chain, positive when they turn clockwise; shape (cases, k + 1) or (k + 1,) [mm].

    Returns
    -------
    tuple
        Free lengths [mm] and unit travel directions x + i·y [-] of the spans; shape (cases, k); NaN where none exists.
    """
    across = ends - starts
    step = signed_mm[..., 1:] - signed_mm[..., :-1]
    squared = across.real**2 + across.imag**2
    free = squared - step * step
    with np.errstate(invalid="ignore", divide="ignore"):
        spans = np.sqrt(np.where(free > 0, free, np.nan))
        return spans, np.asarray(across * (spans + 1j * step) / squared)


def wrap_angles(coming: ComplexArray, going: ComplexArray, way: FloatArray) -> FloatArray:
    """Angle from incoming to outgoing direction, the way each pulley turns.

    Parameters
    ----------
    coming, going
        Unit travel directions x + i·y; shape (cases, k) [-].
    way
        +1 for a pulley that turns clockwise, −1 for the other way; shape (k,) [-].

    Returns
    -------
    FloatArray
        Wraps from 0 to one turn; shape (cases, k) [rad].
    """
    with np.errstate(invalid="ignore"):
        turn = going * np.conj(coming)
        angle = -np.arctan2(turn.imag, turn.real) * way
        return np.asarray(np.where(angle < -1e-12, angle + TURN, np.maximum(angle, 0.0)))


def span_clearances(path: Path, centres: ComplexArray, radii_mm: FloatArray) -> FloatArray:
    """How far every free span stays clear of every pulley it does not touch.

    Parameters
    ----------
    path
        The path of one case or many.
    centres
        Pulley centres x + i·y; shape (cases, n) or (n,) [mm].
    radii_mm
        Radii of the pulleys' bodies; shape (cases, n) or (n,) [mm].

    Returns
    -------
    FloatArray
        Distance between span i and the rim of pulley j, negative where the span runs through it; shape (cases, n, n)
        [mm]; infinite for the two pulleys the span touches.
    """
    n = path.spans_mm.shape[-1]
    offset = centres[..., None, :] - path.leaves[..., :, None]
    along = (offset * np.conj(path.directions[..., :, None])).real
    nearest = np.clip(along, 0.0, path.spans_mm[..., :, None])
    gap = np.abs(offset - nearest * path.directions[..., :, None]) - np.asarray(radii_mm)[..., None, :]
    own = (np.arange(n)[:, None] == np.arange(n)) | ((np.arange(n)[:, None] + 1) % n == np.arange(n))
    return np.asarray(np.where(own, np.inf, gap))


def span_crossings(path: Path) -> BoolArray:
    """Which free spans cross which other ones.

    Parameters
    ----------
    path
        The path of one case or many.

    Returns
    -------
    BoolArray
        True where span i and span j have a point in common that is an end of neither; shape (cases, n, n). False where
        a span is not known.

    Notes
    -----
    Each one's ends lie on different sides of the other.
    """
    starts, ends = path.leaves[..., None, :], path.enters[..., None, :]
    base, way = path.leaves[..., :, None], path.directions[..., :, None]
    with np.errstate(invalid="ignore"):
        sides = [((point - base) * np.conj(way)).imag for point in (starts, ends)]
        apart = sides[0] * sides[1] < 0
    return np.asarray(apart & np.swapaxes(apart, -1, -2))


def pulley_gaps(centres: ComplexArray, radii_mm: FloatArray) -> FloatArray:
    """Gap between the rims of every two pulleys, negative where they overlap.

    Parameters
    ----------
    centres
        Pulley centres x + i·y; shape (cases, n) or (n,) [mm].
    radii_mm
        Radii of the pulleys' bodies; shape (cases, n) or (n,) [mm].

    Returns
    -------
    FloatArray
        Shape (cases, n, n) [mm]; infinite on the diagonal.
    """
    radii = np.asarray(radii_mm)
    gap = np.abs(centres[..., :, None] - centres[..., None, :]) - radii[..., :, None] - radii[..., None, :]
    return np.asarray(np.where(np.eye(centres.shape[-1], dtype=bool), np.inf, gap))
