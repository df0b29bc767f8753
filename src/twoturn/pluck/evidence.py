"""Is it a pluck? What speaks for and against one event being a plucked span, as log-odds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from twoturn.pluck.agree import total_u_hz
from twoturn.pluck.events import Event
from twoturn.pluck.partials import Pluck
from twoturn.pluck.series import stretch, usable_tones
from twoturn.pluck.trees import FEATURES, grown_log_odds
from twoturn.pluck.working import BLOCK_S, Array, Ints, Working

# A string that rings longer than any belt, or amid other tones, but with many partials just where they belong: weights
# of a logistic regression on earlier simulated recordings, some and the constant set with real strings in view.
STRING = {
    "series": 0.15,
    "share": 0.95,
    "count": 0.41,
    "uneven": -0.96,
    "rough": -0.65,
    "older": -0.36,
    "low": 1.4,
    "bright": -0.92,
    "bounded_quality": 0.91,
    "unsure": -0.17,
    "first": 3.0,
    "exact": 0.6,
}
STRING_CONSTANT = -11.55
RICH_SERIES, RICH_COUNT = 9.0, 5
BRIEF_COST, LEAST_QUALITY = 8.0, 1.7  # of a ring short of the two turns a decay time that any tight span has [-]
HARDLY = np.array([-8.0, 12.0])  # what the series may say at most, either way [-]
MOST_TONES = 6
UNKNOWN_OLDER = -4.0  # where the recording starts with the sound
BAND = 1.4  # how far above the highest partial the band of a span reaches [-]


@dataclass(frozen=True)
class Evidence:
    """What speaks for and against one event being a pluck.

    Attributes
    ----------
    series
        Log-likelihood of the tones as partials of one span against unrelated tones [-].
    share, band_share
        Logarithm of the share of the sound that the partials explain: of all, and up to just above the highest [-].
    count
        Number of partials heard [-].
    attack
        How far the strong partials swell (positive) or sink beyond the decay fitted, early in the event [-].
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
    strength
        Logarithm of the energy of the partials, in variances of the background [-].
    pitch
        Logarithm of the first partial in hertz [-].
    decay
        Logarithm of the decay time of the strongest partial in seconds [-].
    astray
        How far the partials stray from those of a stiff string, weighted by energy [-].
    other
        Logarithm of the energy of the strongest tone that is no partial over that of the strongest partial [-].
    unlike
        Spread of the partials' decay times, as a logarithm [-].
    longer
        Slope of the logarithm of the decay time over that of the partial's number; a belt's is below zero [-].
    glide
        Relative sharpness at the start [-].
    rung
        How many decay times of the strongest partial were heard [-].
    """

    series: float
    share: float
    band_share: float
    count: float
    attack: float
    older: float
    low: float
    bright: float
    quality: float
    unsure: float
    first: float
    strength: float
    pitch: float
    decay: float
    astray: float
    other: float
    unlike: float
    longer: float
    glide: float
    rung: float

    @property
    def uneven(self) -> float:
        """How far the strong partials stray from starting at once and dying away evenly [-]."""
        return min(abs(self.attack), 2.0)

    @property
    def rough(self) -> float:
        """The same where hardly any series of partials makes up for it [-]."""
        return self.uneven * max(0.0, 1 - max(self.series, 0.0) / 8)

    @property
    def exact(self) -> float:
        """How rich the series is where its first partial is sure: a voice has one too, but never so steady [-]."""
        return max(0.0, self.series - 5) * max(0.0, -2.5 - self.unsure)

    @property
    def bounded_quality(self) -> float:
        """Quality, none better than that of a belt [-]."""
        return min(self.quality, 3.0)

    @property
    def string_odds(self) -> float:
        """Log-odds that the event is a plucked string, however long it rings [-]."""
        return float(STRING_CONSTANT + sum(weight * getattr(self, name) for name, weight in STRING.items()))

    @cached_property
    def log_odds(self) -> float:
        """Log-odds that the event is a pluck [-]."""
        grown = grown_log_odds({name: float(getattr(self, name)) for name in FEATURES})
        grown -= BRIEF_COST * max(0.0, LEAST_QUALITY - self.quality)
        if self.series >= RICH_SERIES and self.count >= RICH_COUNT:
            return max(grown, self.string_odds)
        return grown


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
        Each number held within the range in which the trees were grown.
    """
    attack, older = envelope(working, event, pluck)
    own = np.array([int(np.argmin(np.abs(event.hertz - hertz))) for hertz in pluck.partial_hz])
    total, best = float(pluck.gain.sum()), int(np.argmax(pluck.gain))
    unlike, longer = decays(pluck, event.tau_s[own])
    n = pluck.number.astype(np.float64)
    stray = np.log(pluck.partial_hz / (n * pluck.f1_hz * stretch(n, pluck.inharmonicity)))
    return Evidence(
        series=float(np.clip(series, *HARDLY)),
        share=float(np.clip(np.log(pluck.share + 0.01), -4, 0)),
        band_share=band_share(working, event, pluck, own),
        count=float(min(len(n), MOST_TONES)),
        attack=float(np.clip(attack, -3, 3)),
        older=float(np.clip(older, -9, 0)),
        low=float(pluck.gain[n <= 3].sum() / total),
        bright=brightness(working, event.onset_s),
        quality=float(np.clip(np.log(np.pi * pluck.tau_s * pluck.partial_hz[best]), 0.5, 6)),
        unsure=float(np.clip(np.log10(total_u_hz(pluck) / pluck.f1_hz), -4, -1)),
        first=float(pluck.gain[n == 1].sum() / total),
        strength=float(np.clip(np.log(total + 1), 3, 10)),
        pitch=float(np.log(pluck.f1_hz)),
        decay=float(np.clip(np.log(pluck.tau_s), -6, 2)),
        astray=float(np.sqrt(np.sum(pluck.gain * np.clip(stray, -0.02, 0.02) ** 2) / total)),
        other=strongest_other(event, own, float(pluck.gain[best])),
        unlike=unlike,
        longer=longer,
        glide=float(np.clip(pluck.glide, -0.05, 0.05)),
        rung=float(np.clip((event.end_s - event.start_s) / pluck.tau_s, 0, 8)),
    )


def strongest_other(event: Event, own: Ints, strength: float) -> float:
    """Logarithm of the energy of the strongest tone that is no partial over that of the strongest partial [-].

    Parameters
    ----------
    event
        The event.
    own
        Places of the partials among its tones, shape (k,) [-].
    strength
        Energy of the strongest partial, in variances of the background [-].
    """
    other = usable_tones(event)
    other[own] = False
    return float(np.clip(np.log((event.gain[other].max(initial=1.0) + 1) / (strength + 1)), -8, 3))


def decays(pluck: Pluck, tau_s: Array) -> tuple[float, float]:
    """Spread of the partials' decay times about their mean, and how it runs with the partial's number.

    Parameters
    ----------
    pluck
        The event fitted as a pluck.
    tau_s
        Decay time of each of its partials, shape (k,) [s].
    """
    rate, n = np.log(np.clip(tau_s, 0.002, 2)), np.log(pluck.number)
    weight = np.log(1 + pluck.gain / 10)
    weight = weight / weight.sum()
    rate, n = rate - weight @ rate, n - weight @ n
    return float(np.sqrt(weight @ rate**2)), float((weight @ (n * rate)) / (weight @ n**2 + 0.05))


def band_share(working: Working, event: Event, pluck: Pluck, own: Ints) -> float:
    """Logarithm of the share of the sound up to just above the highest partial that the partials explain [-].

    A knock or a voice at the same time sounds mostly above a span's partials and does not count against it here.
    """
    rate_hz = working.rate_hz
    piece = working.samples[int(event.start_s * rate_hz + 0.5) : int(event.end_s * rate_hz + 0.5)]
    rest = piece - event.modes.chosen(own).sound(len(piece))
    power = np.abs(np.fft.rfft(rest)) ** 2 / len(piece)
    hertz = np.arange(len(power)) * rate_hz / len(piece)
    inside = (hertz > 20) & (hertz < BAND * pluck.partial_hz.max())
    left, total = max(0.0, 2 * float(power[inside].sum() - inside.sum())), float(pluck.gain.sum())
    return float(np.clip(np.log((total + 1) / (total + left + 1)), -4, 0))


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
        starts = (onset, onset + width, onset - width - 2)
        first, second, earlier = _energies(working, starts, width, hertz)
        attack += gain * (np.log(second / first) + 2 * width * decay)
        older += gain * (np.log(earlier / first) if onset >= width + 2 else UNKNOWN_OLDER)
        total += gain
    return float(attack / total), float(older / total)


def _energies(working: Working, starts: Sequence[int], width: int, hertz: float) -> list[float]:
    """Energy at one frequency in each of some stretches, never under the background's [-]."""
    turn = np.exp(-2j * np.pi * hertz / working.rate_hz * np.arange(width))
    pieces = (working.samples[max(0, start) : max(0, start + width)] for start in starts)
    return [float(np.abs(piece @ turn[: len(piece)]) ** 2 / max(1, len(piece)) + 1.0) for piece in pieces]
