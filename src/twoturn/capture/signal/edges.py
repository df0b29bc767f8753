"""From channels to edges: when a level changed, and which way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array, Channel

GLITCH_SHARE: Final[float] = 0.04
"""Pulses shorter than this share of the typical pulse are no teeth [-]."""


@dataclass(frozen=True, eq=False)
class EdgeTrain:
    """The edges of one channel.

    Attributes
    ----------
    name
        The channel's name.
    times_s
        Times of the edges, growing, shape (n,) [s].
    rising
        True where the level rises, shape (n,).
    u_s
        Standard uncertainty of one edge's time from sampling [s].
    sensor
        ``"logic"``, ``"two-level"`` (a Hall sensor sampled in volts), ``"inductive"`` or ``"edge times"``.
    steep_v_per_s
        How steep each crossing of an inductive sensor is, shape (n,) [V/s]; None for others.
    hum_hz
        Frequency of the mains hum that was taken out of an inductive sensor's voltage [Hz]; None where none was.
    """

    name: str
    times_s: Array
    rising: NDArray[np.bool_]
    u_s: float
    sensor: str
    steep_v_per_s: Array | None = None
    hum_hz: float | None = None

    def of(self, edge: str) -> Array:
        """Times of the edges of one polarity [s]; all of them where the file does not tell polarities."""
        if self.sensor == "edge times":
            return self.times_s
        return np.asarray(self.times_s[self.rising == (edge == "rising")])

    def steepness(self, times_s: Array) -> Array:
        """Steepness of the crossings at given times, shape (m,) [V/s]; 1 where it is not known.

        Parameters
        ----------
        times_s
            Times of some of the edges, shape (m,) [s].
        """
        if self.steep_v_per_s is None or self.times_s.size < 20:
            return np.ones(times_s.size)
        return np.asarray(self.steep_v_per_s[np.searchsorted(self.times_s, times_s)])

    @property
    def polarities(self) -> tuple[str, ...]:
        """The polarities that can be told apart."""
        return ("as recorded",) if self.sensor == "edge times" else ("falling", "rising")


def edge_train(channel: Channel) -> EdgeTrain:
    """The edges of a channel, glitches taken out.

    Parameters
    ----------
    channel
        A channel of levels, volts or bare edge times.

    Returns
    -------
    EdgeTrain
        Its edges [s]; for an inductive sensor the zero crossings between lobes.
    """
    if channel.kind == "edges":
        rising = np.ones(channel.times_s.size, dtype=bool)
        return EdgeTrain(channel.name, channel.times_s, rising, _resolution(channel.times_s), "edge times")
    if channel.kind == "logic":
        return _logic_edges(channel)
    from twoturn.capture.signal.analogue import analogue_edges

    found = analogue_edges(channel.times_s, channel.values)
    if found.sensor == "inductive":
        told = (found.times_s, found.rising, found.u_s, found.sensor)
        return EdgeTrain(channel.name, *told, found.steep_v_per_s, found.hum_hz)
    times, rising = without_glitches(found.times_s, found.rising)
    return EdgeTrain(channel.name, times, rising, found.u_s, found.sensor)


def _logic_edges(channel: Channel) -> EdgeTrain:
    """Edges of a channel of two levels; with even sampling the change lies half a sample before it is seen."""
    at = np.flatnonzero(np.diff(channel.values)) + 1
    step = 1 / channel.rate_hz if channel.rate_hz else 0.0
    times = channel.times_s[at] - step / 2
    u_s = step / np.sqrt(12) if step else _resolution(times)
    times, rising = without_glitches(times, channel.values[at] > 0.5)
    return EdgeTrain(channel.name, times, rising, float(u_s), "logic")


def without_glitches(times_s: Array, rising: NDArray[np.bool_]) -> tuple[Array, NDArray[np.bool_]]:
    """Take out pulses far shorter than their neighbours (both their edges).

    Parameters
    ----------
    times_s
        Times of the edges, shape (n,) [s].
    rising
        True where the level rises, shape (n,).

    Returns
    -------
    tuple
        Times [s] and polarities that are left.
    """
    for _ in range(6):
        if times_s.size < 8:
            break
        widths = np.diff(times_s)
        short = widths < GLITCH_SHARE * np.median(widths[widths > 0.02 * np.median(widths)])
        if not short.any():
            break
        drop = np.zeros(times_s.size, dtype=bool)
        taken = -1
        for index in np.flatnonzero(short).tolist():
            if index > taken:
                drop[index : index + 2] = True
                taken = index + 1
        times_s, rising = times_s[~drop], rising[~drop]
    return times_s, rising


def _resolution(times: Array) -> float:
    """Standard uncertainty of times written on an unknown grid: the finest step that they share, over √12 [s]."""
    if times.size < 3:
        return 0.0
    steps = np.diff(np.sort(np.diff(times)))
    steps = steps[steps > 1e-12]
    return float(np.percentile(steps, 5) / np.sqrt(12)) if steps.size else 0.0
