"""The compression wave in the cranking speed: a second witness that knows nothing of cams.

The pistons slow the crankshaft before every firing TDC. Where that wave stands on the crank wheel is fixed by the
engine: a belt tooth leaves it alone, a crank sensor or wheel that was moved shifts it as it shifts every cam edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.angle.curve import AngleTrack
from twoturn.capture.cams import CYCLE_DEG
from twoturn.capture.model import Array
from twoturn.quantity.reading import coverage_factor

MOST_ORDER: Final = 12
LEAST_CYCLES: Final = 3
LEAST_SWING: Final = 0.03
"""A wave of less than this share of the mean speed is not used [-] (judgement)."""
REGIME_U_DEG: Final = 3.0
"""How far battery, oil and temperature move the wave between two crankings [crank degrees] (judgement)."""
CLEAR: Final = 3.0
"""So many standard uncertainties apart is clear [-]."""


@dataclass(frozen=True)
class Wave:
    """The strongest regular wave in the speed.

    Attributes
    ----------
    per_cycle
        Waves in the two turns of a cycle [-]: the number of cylinders, as a rule.
    slowest_deg
        Where the speed is least, after the zero of the crank wheel, within the first wave [crank degrees].
    u
        Its standard uncertainty, from cycle to cycle and from the orders between its own [crank degrees].
    swing
        Half of the speed's swing as a share of the mean [-].
    """

    per_cycle: int
    slowest_deg: float
    u: float
    swing: float


def compression_wave(track: AngleTrack, per_cycle: int | None = None) -> Wave | None:
    """The compression wave of a recording that was cranked.

    Parameters
    ----------
    track
        Crank angle over time.
    per_cycle
        Waves in two turns, where the number of cylinders is known [-]; by default the strongest of 2 to 12.

    Returns
    -------
    Wave or None
        None for under three whole cycles, a wheel with too few teeth, or a swing that is too small or too irregular.
    """
    amplitudes = _amplitudes(track)
    if amplitudes is None or amplitudes.shape[0] < LEAST_CYCLES:
        return None
    mean = amplitudes.mean(axis=0)
    most = mean.size
    order = per_cycle or 2 + int(np.argmax(np.abs(mean[1:])))
    if not 1 <= order <= most:
        return None
    here = mean[order - 1]
    swing = float(abs(here))
    off = np.abs(amplitudes[:, order - 1] - here)
    free = amplitudes.shape[0] - 1
    cycles = float(np.sqrt(np.mean(off**2) / free))
    others = np.abs(mean[np.arange(1, most + 1) % order != 0])
    noise = float(np.hypot(cycles, np.median(others) if others.size else 0.0))
    if swing < LEAST_SWING or noise > 0.2 * swing:
        return None
    few = coverage_factor(2 * free) / coverage_factor(np.inf)  # Student's t: the mean of n cycles, two parts each
    noise = float(np.hypot(noise, cycles * np.sqrt(few**2 - 1)))
    period = CYCLE_DEG / order
    slowest = (-np.angle(-here) / (2 * np.pi) * period) % period
    return Wave(order, float(slowest), noise / swing / (2 * np.pi) * period, swing)


def wave_shift(now: Wave, then: Wave, offset_deg: float = 0.0) -> tuple[float, float] | None:
    """How much later on the crank wheel the wave stands than in another recording.

    Parameters
    ----------
    now, then
        The waves of both.
    offset_deg
        Which of the possible zeros of ``now`` is that of ``then`` [crank degrees].

    Returns
    -------
    tuple or None
        The shift within half a wave either way, and its standard uncertainty [crank degrees]; None for waves of
        different number.
    """
    if now.per_cycle != then.per_cycle:
        return None
    period = CYCLE_DEG / now.per_cycle
    shift = (now.slowest_deg - then.slowest_deg - offset_deg + period / 2) % period - period / 2
    return float(shift), float(np.sqrt(now.u**2 + then.u**2 + REGIME_U_DEG**2))


def witness(shift_deg: float, wave: tuple[float, float] | None, per_cycle: int) -> str:
    """What the compression wave says of a shift of the cams.

    Parameters
    ----------
    shift_deg
        How late the cams stand [crank degrees].
    wave
        As from :func:`wave_shift`.
    per_cycle
        Waves in two turns [-].

    Returns
    -------
    str
        ``"stayed"``: the crank wheel is where it was, so the belt or the cam moved; ``"moved alike"``: the crank wheel
        or its sensor moved; ``"silent"`` where it cannot tell.
    """
    if wave is None:
        return "silent"
    off, u = wave
    period = CYCLE_DEG / per_cycle
    apart = abs((shift_deg - off + period / 2) % period - period / 2)
    stayed, alike = abs(off) <= CLEAR * u, apart <= CLEAR * u
    if stayed == alike:
        return "silent"
    return "stayed" if stayed else "moved alike"


def _amplitudes(track: AngleTrack) -> NDArray[np.complex128] | None:
    """Complex amplitudes of orders 1, 2 … of each whole cycle as shares of its mean speed, shape (cycles, orders)."""
    if track.times_s.size < 4:
        return None
    angles = (track.angles_deg[1:] + track.angles_deg[:-1]) / 2
    speeds = np.diff(track.angles_deg) / np.maximum(np.diff(track.times_s), 1e-12)
    first, last = float(angles[0]), float(angles[-1])
    cycles = int((last - first) // CYCLE_DEG)
    rows = []
    for number in range(cycles):
        start = first + number * CYCLE_DEG
        inside = (angles >= start) & (angles < start + CYCLE_DEG)
        fitted = _fitted(angles[inside], speeds[inside], start)
        if fitted is not None:
            rows.append(fitted)
    widths = {row.size for row in rows}
    return np.array([row[: min(widths)] for row in rows]) if rows else None


def _fitted(angles: Array, speeds: Array, start: float) -> NDArray[np.complex128] | None:
    """Amplitudes of one cycle by least squares, with a mean and a slope; None for too few teeth."""
    most = min(MOST_ORDER, (angles.size - 4) // 3)
    if most < 2 or np.diff(angles).max() > 120:
        return None
    order = np.arange(1, most + 1)
    phase = 2 * np.pi * angles[:, None] / CYCLE_DEG * order
    along = (angles - start) / CYCLE_DEG - 0.5
    columns = np.column_stack([np.ones(angles.size), along, np.cos(phase), np.sin(phase)])
    told, *_ = np.linalg.lstsq(columns, speeds, rcond=None)
    return np.asarray((told[2 : 2 + most] - 1j * told[2 + most :]) / told[0])
