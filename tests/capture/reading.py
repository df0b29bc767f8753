"""Turning made recordings into captures, and comparing what was decoded with the known truth."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.decode import Decoded
from twoturn.capture.model import Capture, Channel


def capture_of(names: list[str], rows: NDArray[np.float64], rate_hz: float | None = None) -> Capture:
    """A capture as the CSV reader would give it."""
    times = rows[:, 0]
    channels = []
    for number, name in enumerate(names, start=1):
        values = rows[:, number]
        logic = bool(np.isin(values, (0.0, 1.0)).all())
        channels.append(Channel(name, "logic" if logic else "analogue", times, values, rate_hz))
    return Capture(tuple(channels), float(times[-1] - times[0]), rate_hz, "made", "csv")


def errors_deg(decoded: Decoded, truth: list[tuple[str, float]], zero_deg: float) -> list[float]:
    """For every true cam edge how far the nearest decoded one is, the best of the possible zeros taken."""
    assert decoded.crank is not None
    seen = [(edge.edge, edge.angle_deg) for cam in decoded.cams for edge in cam.edges]
    best: list[float] = []
    for number in range(max(1, decoded.crank.zeros)):
        turned = number * 720 / max(1, decoded.crank.zeros)
        row = []
        for kind, angle in truth:
            off = [(at - angle + zero_deg - turned + 360) % 720 - 360 for edge, at in seen if edge == kind]
            row.append(min(off, key=abs) if off else 999.0)
        if not best or max(map(abs, row)) < max(map(abs, best)):
            best = row
    return best
