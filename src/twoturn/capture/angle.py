"""Crank angle over time between the teeth and across gaps, with acceleration, and how far it can be trusted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array

BLOCK = 20_000
REACH_DEG = 20.0


@dataclass(frozen=True, eq=False)
class AngleTrack:
    """Crank angles of the teeth of a capture.

    Attributes
    ----------
    times_s
        Times of the teeth, growing, shape (n,) [s].
    angles_deg
        Unwrapped crank angles, shape (n,) [crank degrees]; 0 is a tooth 0.
    half
        Teeth used on either side of a moment [-].
    most_deg
        Steps from tooth to tooth longer than this are not read across [crank degrees].
    """

    times_s: Array
    angles_deg: Array
    half: int
    most_deg: float = np.inf

    def inside(self, times_s: Array) -> NDArray[np.bool_]:
        """Which moments [s] lie between teeth that are near enough to read between them."""
        index = np.searchsorted(self.times_s, times_s)
        within = (index >= 1) & (index < self.times_s.size)
        place = np.clip(index, 1, self.times_s.size - 1)
        return np.asarray(within & (self.angles_deg[place] - self.angles_deg[place - 1] <= self.most_deg))

    def at(self, times_s: Array) -> tuple[Array, Array]:
        """Crank angle and speed at any moments.

        A cubic in time through the nearest teeth, by least squares where there are more than four.

        Parameters
        ----------
        times_s
            Moments, shape (m,) [s].

        Returns
        -------
        tuple
            Angles [crank degrees] and speeds [deg/s], shape (m,) each; NaN outside the teeth.
        """
        angles, speeds = np.full(times_s.size, np.nan), np.full(times_s.size, np.nan)
        wanted = np.flatnonzero(self.inside(times_s))
        for start in range(0, wanted.size, BLOCK):
            chosen = wanted[start : start + BLOCK]
            index = np.searchsorted(self.times_s, times_s[chosen])
            window = self._window(index)
            angles[chosen], speeds[chosen] = self._cubic(times_s[chosen], window)
        return angles, speeds

    def hidden(self) -> Array:
        """Each tooth's angle less what its neighbours say of it, shape (n,) [crank degrees]; NaN at the ends."""
        count = self.times_s.size
        off = np.full(count, np.nan)
        middle = np.arange(self.half, count - self.half)
        for start in range(0, middle.size, BLOCK):
            chosen = middle[start : start + BLOCK]
            before = np.arange(-self.half, 0)
            window = chosen[:, None] + np.concatenate([before, -before[::-1]])[None, :]
            told, _ = self._cubic(self.times_s[chosen], window)
            off[chosen] = self.angles_deg[chosen] - told
        return off

    def _window(self, index: NDArray[np.int64]) -> NDArray[np.int64]:
        """Indices of the teeth round a moment that lies before tooth ``index``, shape (m, 2·half)."""
        size = min(2 * self.half, self.times_s.size)
        first = np.clip(index - self.half, 0, self.times_s.size - size)
        return np.asarray(first[:, None] + np.arange(size)[None, :])

    def _cubic(self, times: Array, window: NDArray[np.int64]) -> tuple[Array, Array]:
        """Value and slope at ``times`` of the cubic through the teeth of each row of ``window``."""
        near, angles = self.times_s[window], self.angles_deg[window]
        base = angles[:, :1]
        scale = np.maximum(near[:, -1:] - near[:, :1], 1e-12) / 2
        x = (near - times[:, None]) / scale
        order = min(4, window.shape[1])
        powers = x[:, :, None] ** np.arange(order)
        rows = np.linalg.pinv(powers)[:, : min(2, order), :]
        told = np.einsum("mij,mj->mi", rows, angles - base)
        speed = told[:, 1] / scale[:, 0] if order > 1 else np.full(times.size, np.nan)
        return told[:, 0] + base[:, 0], speed


def angle_track(times_s: Array, angles_deg: Array, pitch_deg: float, widest_deg: float | None = None) -> AngleTrack:
    """Crank angles of teeth, made ready for reading between them.

    Parameters
    ----------
    times_s, angles_deg
        Times [s] and unwrapped angles [crank degrees] of the teeth, shape (n,) each.
    pitch_deg
        Angle of a normal step of the wheel [crank degrees].
    widest_deg
        Angle of its longest step [crank degrees]; nothing is read across more than two and a half of them.
    """
    most = np.inf if widest_deg is None else 2.5 * widest_deg
    return AngleTrack(times_s, angles_deg, int(np.clip(round(REACH_DEG / pitch_deg), 2, 12)), most)


def tooth_scatter_deg(track: AngleTrack) -> float:
    """How far teeth lie from where their neighbours put them: robust standard deviation [crank degrees]."""
    off = track.hidden()
    off = off[np.isfinite(off)]
    return 1.4826 * float(np.median(np.abs(off))) if off.size else float("inf")
