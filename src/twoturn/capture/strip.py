"""What a plot of a capture shows: cam levels over the two turns of a cycle, strokes of cylinder 1, speed over angle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.capture.cams import CYCLE_DEG
from twoturn.capture.decode import Decoded
from twoturn.capture.model import Array

STROKES = ("power", "exhaust", "inlet", "compression")


@dataclass(frozen=True, eq=False)
class CaptureStrip:
    """The numbers of a plot.

    Attributes
    ----------
    cams
        For each cam channel its name and rows (angle [crank degrees], u [crank degrees], edge), 0 to 720.
    strokes
        Rows (from, to [crank degrees], stroke of cylinder 1); empty where TDC is unknown. They may run past 720.
    speed_angle_deg, speed_rpm
        Mean speed over the cycle: angles [crank degrees] and speeds [1/min], shape (m,) each; empty where unknown.
    """

    cams: tuple[tuple[str, tuple[tuple[float, float, str], ...]], ...]
    strokes: tuple[tuple[float, float, str], ...]
    speed_angle_deg: Array
    speed_rpm: Array


def capture_strip(decoded: Decoded, tdc_deg: float | None = None, points: int = 144) -> CaptureStrip:
    """The numbers for a plot of a decoded capture.

    Parameters
    ----------
    decoded
        The decoded capture.
    tdc_deg
        Firing TDC of cylinder 1 after the zero of the crank wheel [crank degrees]; None where unknown.
    points
        Points of the speed curve over the cycle [-].

    Returns
    -------
    CaptureStrip
        Cam edges, strokes and speed over the 720° of a cycle.
    """
    cams = tuple(
        (cam.channel, tuple((edge.angle_deg, edge.u, edge.edge) for edge in cam.edges)) for cam in decoded.cams
    )
    strokes: tuple[tuple[float, float, str], ...] = ()
    if tdc_deg is not None:
        starts = [(tdc_deg + 180 * number) % CYCLE_DEG for number in range(4)]
        strokes = tuple((start, start + 180, name) for start, name in zip(starts, STROKES, strict=True))
    angles, speeds = _speed(decoded, points)
    return CaptureStrip(cams, strokes, angles, speeds)


def _speed(decoded: Decoded, points: int) -> tuple[Array, Array]:
    """Mean speed over the cycle [1/min]; empty where the time or the crank is unknown."""
    if decoded.angle is None or decoded.rpm is None:
        return np.empty(0), np.empty(0)
    track = decoded.angle
    moments = (track.times_s[1:] + track.times_s[:-1]) / 2
    angles, speeds = track.at(moments)
    known = np.isfinite(angles) & np.isfinite(speeds)
    bins = np.floor(angles[known] % CYCLE_DEG * points / CYCLE_DEG).astype(int) % points
    counts = np.bincount(bins, minlength=points)
    sums = np.bincount(bins, weights=speeds[known] / 6, minlength=points)
    filled = counts > 0
    centres = (np.arange(points) + 0.5) * CYCLE_DEG / points
    return centres[filled], sums[filled] / counts[filled]
