"""Onset candidates: moments at which something starts that was not there before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.bank import SCALES, Rises, rises, start_of_tone
from twoturn.pluck.working import FRAME, HOP, Array, Ints, Working

STRIDE = -(-FRAME // HOP)  # frames from one to the next that does not overlap it
FLOOR = 3.0
THRESHOLD = 1.3
TONE_THRESHOLD = 1.9  # in white noise one such rise in some hundred seconds
SUDDEN = 4.0  # factor of the energy over 8 ms from which it tells the start
APART_S = 0.07
STRONG, RINGS_S = 2.5, 0.25  # after so strong a start, for so long, a weak tone that comes up is no new start
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
    broad = novelty(working.powers)
    found = [
        Onset(sharpen(working, place * HOP / working.rate_hz)[0], float(broad[place]))
        for place in peaks(broad, HOP / working.rate_hz, THRESHOLD)
    ]
    strong = np.array([onset.start_s for onset in found if onset.rise > STRONG])
    for scale in SCALES:
        tones = tone_starts(working, rises(working.samples, working.rate_hz, scale), found, broad)
        found += [onset for onset in tones if not _rings_on(onset.start_s, strong)]
    found = sorted(found, key=lambda onset: -onset.rise)[:MOST]
    apart: list[Onset] = []
    for onset in sorted(found, key=lambda onset: onset.start_s):
        if not apart or onset.start_s - apart[-1].start_s > 0.5 * APART_S:
            apart.append(onset)
    return apart


def _rings_on(start_s: float, strong: Array) -> bool:
    """Whether a tone that seems to start is part of what a strong start shortly before left ringing."""
    return bool(((start_s > strong) & (start_s - strong < RINGS_S)).any())


def tone_starts(working: Working, tones: Rises, known: Sequence[Onset], broad: Array) -> list[Onset]:
    """Onsets of single tones, too weak or too lonely to raise the sound as a whole.

    Parameters
    ----------
    working
        The flattened recording.
    tones
        Rise of the most rising tone over time.
    known
        Onsets found already; what starts near one of them is left out.
    broad
        Rise of the sound as a whole, shape (frames,) [-].
    """
    rate_hz, found = working.rate_hz, []
    times = np.array([onset.start_s for onset in known])
    for place in peaks(tones.rise, tones.hop / rate_hz, TONE_THRESHOLD):
        near_s = place * tones.hop / rate_hz
        if len(times) and np.abs(times - near_s).min() < APART_S:
            continue
        start_s, factor = sharpen(working, near_s)
        if factor < SUDDEN:
            start_s = start_of_tone(working.samples, rate_hz, float(tones.hertz[place]), tones.decay_s, near_s)
        frame = min(len(broad) - 1, int(start_s * rate_hz / HOP))
        found.append(Onset(start_s, float(min(THRESHOLD, broad[frame]))))
    return found


def peaks(values: Array, step_s: float, least: float) -> Ints:
    """Where values exceed ``least`` and all within 70 ms about them, shape (k,) [-].

    Parameters
    ----------
    values
        Values over time, shape (n,) [-].
    step_s
        Time from one to the next [s].
    least
        What they must exceed [-].
    """
    reach = max(1, int(APART_S / step_s))
    padded = np.pad(values, reach, constant_values=-1.0)
    local = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).max(axis=1)
    return np.flatnonzero((values >= local) & (values > least))


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


def sharpen(working: Working, near_s: float) -> tuple[float, float]:
    """The start to some 2 ms: where the energy after exceeds the energy before by the largest factor [s], and that.

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
        return near_s, 1.0
    ahead = sums[np.minimum(place + width, len(samples))] - sums[place]
    behind = sums[place] - sums[np.maximum(place - width, 0)]
    factor = (ahead + width) / (behind + width)
    best = int(np.argmax(factor))
    return float(place[best] / rate_hz), float(factor[best])
