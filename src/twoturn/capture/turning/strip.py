"""What a plot of a capture shows beside the cam edges: mean speed over the two turns of a cycle."""

from __future__ import annotations

import numpy as np

from twoturn.capture.cams import CYCLE_DEG
from twoturn.capture.decode import Decoded
from twoturn.capture.model import Array


def mean_speed(decoded: Decoded, points: int = 90) -> tuple[Array, Array]:
    """Mean speed over the cycle of a decoded capture.

    Parameters
    ----------
    decoded
        The decoded capture.
    points
        Points of the curve over the cycle [-].

    Returns
    -------
    tuple
        Angles [crank degrees] and speeds [1/min], shape (m,) each; empty where the time or the crank is unknown.
    """
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
