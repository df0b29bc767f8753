"""Crank angle over time between the teeth and across gaps, with acceleration, and how far it can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array

BLOCK = 20_000
REACH_DEG = 20.0
CYCLE_DEG = 720.0


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
    late_deg
        How late the crankshaft comes to angles evenly spread from 0 to 720 against an even turning, in every cycle
        alike [crank degrees]; None where that is not known. Between teeth it is read as even turning but for this.
    """

    times_s: Array
    angles_deg: Array
    half: int
    most_deg: float = np.inf
    late_deg: Array | None = None

    @cached_property
    def even_deg(self) -> Array:
        """Where an even turning would stand when the teeth come, shape (n,) [crank degrees]."""
        return self.angles_deg if self.late_deg is None else self.angles_deg + self._late(self.angles_deg)

    def _late(self, angles: Array) -> Array:
        """How late the crankshaft comes to angles [crank degrees], any shape."""
        assert self.late_deg is not None  # noqa: S101 - the callers look
        grid = np.linspace(0.0, CYCLE_DEG, self.late_deg.size)
        return np.asarray(np.interp(angles % CYCLE_DEG, grid, self.late_deg))

    def _turned(self, even: Array, speed: Array) -> tuple[Array, Array]:
        """Angles [crank degrees] and speeds [deg/s] from those of an even turning."""
        if self.late_deg is None:
            return even, speed
        grid = np.linspace(0.0, CYCLE_DEG, self.late_deg.size)
        table = grid + self.late_deg
        cycle = np.floor((even - table[0]) / CYCLE_DEG)
        within = even - cycle * CYCLE_DEG
        slow = np.interp(within, (table[1:] + table[:-1]) / 2, np.diff(table) / np.diff(grid), period=CYCLE_DEG)
        return np.interp(within, table, grid) + cycle * CYCLE_DEG, speed / slow

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
            angles[chosen], speeds[chosen] = self._turned(*self._cubic(times_s[chosen], window))
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
            off[chosen] = self.even_deg[chosen] - told
        return off

    def _window(self, index: NDArray[np.int64]) -> NDArray[np.int64]:
        """Indices of the teeth round a moment that lies before tooth ``index``, shape (m, 2·half)."""
        size = min(2 * self.half, self.times_s.size)
        first = np.clip(index - self.half, 0, self.times_s.size - size)
        return np.asarray(first[:, None] + np.arange(size)[None, :])

    def _cubic(self, times: Array, window: NDArray[np.int64]) -> tuple[Array, Array]:
        """Value and slope at ``times`` of the cubic through the teeth of each row of ``window``."""
        near, angles = self.times_s[window], self.even_deg[window]
        base = angles[:, :1]
        scale = np.maximum(near[:, -1:] - near[:, :1], 1e-12) / 2
        x = (near - times[:, None]) / scale
        order = min(4, window.shape[1])
        powers = x[:, :, None] ** np.arange(order)
        rows = np.linalg.pinv(powers)[:, : min(2, order), :]
        told = np.einsum("mij,mj->mi", rows, angles - base)
        speed = told[:, 1] / scale[:, 0] if order > 1 else np.full(times.size, np.nan)
        return told[:, 0] + base[:, 0], speed


def reading_weights(angles_deg: Array, teeth_deg: Array, half: int) -> tuple[Array, NDArray[np.int64]]:
    """From which teeth, with what weights, an angle is read at an even speed.

    Parameters
    ----------
    angles_deg
        Angles, shape (m,) [crank degrees].
    teeth_deg
        Angles of the teeth of one turn, growing from 0 on, shape (t,) [crank degrees].
    half
        Teeth used on either side [-].

    Returns
    -------
    tuple
        Weights [-] and running numbers of the teeth (from the turn of angle 0 on), shape (m, 2·half).
    """
    count = teeth_deg.size
    turn = np.floor(angles_deg / 360.0).astype(np.int64)
    after = np.searchsorted(teeth_deg, angles_deg - 360.0 * turn, side="right") + turn * count
    teeth = after[:, None] + np.arange(-half, half)[None, :]
    x = teeth_deg[teeth % count] + 360.0 * (teeth // count) - angles_deg[:, None]
    x = x / np.abs(x).max(axis=1, keepdims=True)
    powers = x[:, :, None] ** np.arange(min(4, 2 * half))
    return np.asarray(np.linalg.pinv(powers)[:, 0, :]), teeth


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
