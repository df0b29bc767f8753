"""Onset candidates: moments at which something starts that was not there before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.pluck.working import FRAME, HOP, Array, Working

STRIDE = -(-FRAME // HOP)  # frames from one to the next that does not overlap it
FLOOR = 3.0
THRESHOLD = 1.3
APART_S = 0.07
MOST = 40


@dataclass(frozen=True)
class Onset:
    """A moment at which a sound starts.

    Attributes
    ----------
    start_s
        Time of the start [s].
    rise
        Mean logarithmic rise of the six bins that rise most [-].
    """

    start_s: float
    rise: float


def find_onsets(working: Working) -> list[Onset]:
    """Onset candidates in order of time, the strongest forty at most.

    Parameters
    ----------
    working
        The flattened recording.

    Returns
    -------
    list of Onset
        Candidates; knocks and syllables are among them.
    """
    rises = novelty(working.powers)
    reach = max(1, int(APART_S * working.rate_hz / HOP))
    padded = np.pad(rises, reach, constant_values=-1.0)
    local = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).max(axis=1)
    places = np.flatnonzero((rises >= local) & (rises > THRESHOLD))
    places = places[np.argsort(-rises[places])][:MOST]
    found: list[Onset] = []
    for place in sorted(places):
        start_s = sharpen(working, float(place * HOP) / working.rate_hz)
        if not found or start_s - found[-1].start_s > 0.5 * APART_S:
            found.append(Onset(start_s, float(rises[place])))
    return found


def novelty(powers: Array) -> Array:
    """Mean logarithmic rise of the six most rising bins about each boundary, shape (frames,) [-].

    Entry i compares the frame that starts at i·HOP with the one that ends there; before the recording is silence.

    Parameters
    ----------
    powers
        Powers of the frames, shape (frames, bins) [-].
    """
    before = np.vstack([np.zeros((STRIDE, powers.shape[1])), powers])[: len(powers)]
    rise = np.log((powers[:, 1:56] + FLOOR) / (before[:, 1:56] + FLOOR))
    top = np.partition(rise, -6, axis=1)[:, -6:]
    return np.asarray(top.mean(axis=1))


def sharpen(working: Working, near_s: float) -> float:
    """The start to some 2 ms: where the energy after exceeds the energy before by the largest factor [s].

    Parameters
    ----------
    working
        The recording, prepared.
    near_s
        Where it begins roughly [s].
    """
    rate_hz, samples = working.rate_hz, working.samples
    width = max(2, int(0.008 * rate_hz))
    low = max(0, int((near_s - 0.025) * rate_hz))
    high = min(len(samples) - 1, int((near_s + 0.045) * rate_hz))
    sums = np.concatenate([[0.0], np.cumsum(samples**2)])
    place = np.arange(low, high)
    if not len(place):
        return near_s
    ahead = sums[np.minimum(place + width, len(samples))] - sums[place]
    behind = sums[place] - sums[np.maximum(place - width, 0)]
    return float(place[int(np.argmax((ahead + width) / (behind + width)))] / rate_hz)
