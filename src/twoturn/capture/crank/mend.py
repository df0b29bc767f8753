"""Counting on across a silence of the crank sensor: the cams tell how many sections of the wheel passed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from twoturn.capture.crank.choose import CrankCandidate
from twoturn.capture.model import Array
from twoturn.capture.signal.edges import EdgeTrain

FAR = 1.0


def mended(candidate: CrankCandidate, cams: Sequence[EdgeTrain], repeat: int) -> CrankCandidate:
    """The same candidate with its stretches between silences set to the cams.

    Parameters
    ----------
    candidate
        The crank channel.
    cams
        The cam channels.
    repeat
        After how many sections of the wheel all of them repeat [-].

    Returns
    -------
    CrankCandidate
        Tooth numbers after a silence moved by whole sections, so that cam edges come where they came in the longest
        stretch. Unchanged without silences or cams.
    """
    track = candidate.track
    if not track.breaks or repeat < 2:
        return candidate
    ends = [0, *track.breaks, track.tooth.size]
    parts = list(pairwise(ends))
    main = max(parts, key=lambda part: track.times_s[part[1] - 1] - track.times_s[part[0]])
    template = _edges(candidate, cams, main, repeat)
    tooth = track.tooth.copy()
    per_section = len(candidate.shape.steps)
    for number, part in enumerate(parts):
        if part != main:
            shift = _best_shift(_edges(candidate, cams, part, repeat), template, repeat)
            tooth[part[0] : part[1]] += shift * per_section
        if number:
            while tooth[part[0]] <= tooth[part[0] - 1]:
                tooth[part[0] :] += repeat * per_section
    return replace(candidate, track=replace(track, tooth=tooth))


def _edges(
    candidate: CrankCandidate, cams: Sequence[EdgeTrain], part: tuple[int, int], repeat: int
) -> dict[tuple[int, bool], Array]:
    """Positions of the cam edges of one stretch within the repeat [sections], by channel and polarity."""
    track = candidate.track
    begin, end = track.times_s[part[0]], track.times_s[part[1] - 1]
    angles = candidate.positions_track()
    found: dict[tuple[int, bool], Array] = {}
    for number, cam in enumerate(cams):
        inside = (cam.times_s > begin) & (cam.times_s < end)
        positions, _ = angles.at(cam.times_s[inside])
        for rising in (False, True):
            chosen = positions[(cam.rising[inside] == rising) & np.isfinite(positions)]
            found[number, rising] = chosen / 360.0 % repeat
    return found


def _best_shift(seen: dict[tuple[int, bool], Array], template: dict[tuple[int, bool], Array], repeat: int) -> int:
    """Sections by which a stretch must be moved so that its cam edges meet those of the template; 0 where untold."""
    costs = []
    for shift in range(repeat):
        off = []
        for key, positions in seen.items():
            if positions.size and template[key].size:
                apart = np.abs(positions[:, None] + shift - template[key][None, :])
                apart = np.minimum(apart % repeat, repeat - apart % repeat)
                off.append(np.minimum(apart.min(axis=1), FAR))
        costs.append(float(np.concatenate(off).mean()) if off else 0.0)
    best = int(np.argmin(costs))
    if costs[best] > 0.5 * costs[0] or best == 0:
        return 0
    return best if best <= repeat // 2 else best - repeat
