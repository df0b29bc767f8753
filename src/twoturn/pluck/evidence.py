"""Is it a pluck? What speaks for and against one event being a plucked span, as log-odds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.pluck.agree import total_u_hz
from twoturn.pluck.events import Event
from twoturn.pluck.partials import Pluck
from twoturn.pluck.working import BLOCK_S, Working

# weights of a logistic regression on simulated workshop recordings (bench/pluck), rounded
WEIGHTS = {
    "series": 0.15,
    "share": 0.95,
    "count": 0.41,
    "attack": -0.96,
    "rough": -0.65,
    "older": -0.36,
    "low": 1.4,
    "bright": -0.92,
    "quality": 0.91,
    "unsure": -0.17,
    "first": 3.0,
    "exact": 0.6,
    "brief": -4.0,
}
CONSTANT = -11.2
LEAST_QUALITY = 2.0  # logarithm of π·f·τ [-]
UNKNOWN_OLDER = -4.0  # where the recording starts with the sound


@dataclass(frozen=True)
class Evidence:
    """What speaks for and against one event being a pluck.

    Attributes
    ----------
    series
        Log-likelihood of the tones as partials of one span against unrelated tones [-].
    share
        Logarithm of the share of the sound that the partials explain [-].
    count
        Number of partials heard [-].
    attack
        How far the strong partials stray from starting at once and dying away evenly [-].
    older
        Logarithm of the energy just before the onset over that just after, at the partials [-].
    low
        Share of the energy that lies in the first three partials [-].
    bright
        Logarithm of the energy above the working range over that inside it, from 8 to 60 ms after the onset [-].
    quality
        Logarithm of π·f·τ of the strongest partial [-].
    unsure
        Decimal logarithm of the relative uncertainty of the first partial, misfit included [-].
    first
        Share of the energy that lies in the first partial [-].
    """

    series: float
    share: float
    count: float
    attack: float
    older: float
    low: float
    bright: float
    quality: float
    unsure: float
    first: float

    @property
    def rough(self) -> float:
        """The attack where hardly any series of partials makes up for it [-]."""
        return self.attack * max(0.0, 1 - max(self.series, 0.0) / 8)

    @property
    def exact(self) -> float:
        """How rich the series is where its first partial is sure: a voice has one too, but never so steady [-]."""
        return max(0.0, self.series - 5) * max(0.0, -2.5 - self.unsure)

    @property
    def brief(self) -> float:
        """How far the ring falls short of the two and a half turns a decay time that a tight span has [-]."""
        return max(0.0, LEAST_QUALITY - self.quality)

    @property
    def log_odds(self) -> float:
        """Log-odds that the event is a pluck [-]."""
        return float(CONSTANT + sum(weight * getattr(self, name) for name, weight in WEIGHTS.items()))


def weigh(working: Working, event: Event, pluck: Pluck, series: float) -> Evidence:
    """Gather the evidence for one event.

    Parameters
    ----------
    working
        The flattened recording.
    event
        The event.
    pluck
        The event fitted as a pluck.
    series
        Log-likelihood of the event's tones as partials of that span [-].

    Returns
    -------
    Evidence
        Each number held within the range in which the weights were found.
    """
    attack, older = envelope(working, event, pluck)
    low = float(pluck.gain[pluck.number <= 3].sum() / pluck.gain.sum())
    return Evidence(
        series=float(np.clip(series, -8, 12)),
        share=float(np.clip(np.log(pluck.share + 0.01), -3, 0)),
        count=float(min(len(pluck.number), 6)),
        attack=float(min(abs(attack), 2.0)),
        older=float(np.clip(older, -9, 0)),
        low=low,
        bright=brightness(working, event.onset_s),
        quality=float(np.clip(np.log(np.pi * pluck.tau_s * pluck.partial_hz[int(np.argmax(pluck.gain))]), 0.5, 3)),
        unsure=float(np.clip(np.log10(total_u_hz(pluck) / pluck.f1_hz), -4, -1)),
        first=float(pluck.gain[pluck.number == 1].sum() / pluck.gain.sum()),
    )


def brightness(working: Working, onset_s: float) -> float:
    """Energy above some 1.5 kHz over that below, from 8 to 60 ms after an onset, as a logarithm [-].

    Parameters
    ----------
    working
        The recording, prepared.
    onset_s
        When the event begins [s].
    """
    start = int((onset_s + 0.008) / BLOCK_S)
    high, low = working.excess[:, start : start + int(0.052 / BLOCK_S)].sum(axis=1) + 1e-30
    return float(np.clip(np.log(high / low), -6, 3))


def envelope(working: Working, event: Event, pluck: Pluck) -> tuple[float, float]:
    """How the three strongest partials begin, weighted by energy.

    Returns
    -------
    tuple
        Logarithm of their energy in the second stretch after the onset over that in the first, beyond the decay
        fitted [-]; and of the energy just before the onset over that just after [-].
    """
    rate_hz, onset = working.rate_hz, int(event.onset_s * working.rate_hz)
    attack, older, total = 0.0, 0.0, 0.0
    for place in np.argsort(-pluck.gain)[:3]:
        hertz, gain = float(pluck.partial_hz[place]), float(pluck.gain[place])
        width = int(max(0.012, 1.5 / hertz) * rate_hz)
        decay = event.modes.decay[int(np.argmin(np.abs(event.hertz - hertz)))]
        first, second = (_energy(working, onset + k * width, width, hertz) for k in (0, 1))
        attack += gain * (np.log(second / first) + 2 * width * decay)
        known = onset >= width + 2
        older += gain * (np.log(_energy(working, onset - width - 2, width, hertz) / first) if known else UNKNOWN_OLDER)
        total += gain
    return float(attack / total), float(older / total)


def _energy(working: Working, start: int, width: int, hertz: float) -> float:
    """Energy at one frequency in a stretch, never under the background's [-]."""
    piece = working.samples[max(0, start) : start + width]
    turn = np.exp(-2j * np.pi * hertz / working.rate_hz * np.arange(len(piece)))
    return float(np.abs(np.sum(piece * turn)) ** 2 / max(1, len(piece)) + 1.0)
