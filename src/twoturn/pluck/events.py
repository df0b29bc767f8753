"""What sounds after an onset: the stretch that belongs to it, its damped tones, and what was there before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.fitting import Fits, slopes_square, spread
from twoturn.pluck.modes import DECAYS_S, Modes, find_modes, refine_each
from twoturn.pluck.onsets import Onset
from twoturn.pluck.sums import one_by_one, stretches, sums_with
from twoturn.pluck.working import Array, Bools, Working

LONGEST_S = 0.6
SKIP_S = 0.005
GUARD_S = 0.004
CLIP_BLOCK_S, CLIP_REACH_S = 0.02, 0.25


@dataclass(frozen=True, eq=False)
class Event:
    """The damped tones that start at one onset.

    Attributes
    ----------
    onset_s, start_s, end_s
        The onset, and the stretch that was fitted [s].
    modes
        The tones, t from ``start_s``.
    hertz, tau_s
        Their frequencies [Hz] and decay times [s], shape (k,).
    u_hertz
        Standard uncertainty of the frequencies from noise and misfit about each tone, shape (k,) [Hz].
    gain
        Energy of each tone, shape (k,), in variances of the background [-].
    older
        Share of that energy that was there before the onset already, shape (k,) [-].
    excess
        Energy of the stretch above the background's [-].
    left
        Energy of the stretch that no tone explains, above the background's [-].
    """

    onset_s: float
    start_s: float
    end_s: float
    modes: Modes
    hertz: Array
    tau_s: Array
    u_hertz: Array
    gain: Array
    older: Array
    excess: float
    left: float


@dataclass(frozen=True)
class Stretch:
    """The stretch after an onset: its first and last sample, and how far back it may reach."""

    onset: Onset
    start: int
    end: int
    least: int


def analyse(working: Working, onsets: Sequence[Onset], ends_s: Sequence[float]) -> list[Event]:
    """Fit the damped tones after onsets, many at once.

    Parameters
    ----------
    working
        The flattened recording.
    onsets
        The onsets.
    ends_s
        Time at which the next sound starts after each, or the end of the recording [s].

    Returns
    -------
    list of Event
        Those where something rings long enough.
    """
    every = (_stretch(working, onset, end_s) for onset, end_s in zip(onsets, ends_s, strict=True))
    found = [one for one in every if one is not None]
    if not found:
        return []
    rate_hz, samples = working.rate_hz, working.samples
    modes = find_modes(stretches([samples[one.start : one.end] for one in found]), rate_hz)
    events, late = [], list[tuple[Stretch, Modes]]()
    for one, tones in zip(found, modes, strict=True):
        start = earliest(samples, tones, one.start, one.least, rate_hz) if len(tones) else one.start
        if start < one.start:
            late.append((Stretch(one.onset, start, one.end, start), shifted(tones, start - one.start)))
        elif len(tones):
            events.append(describe(working, one, tones))
    longer = stretches([samples[one.start : one.end] for one, _ in late])
    for (one, _), tones in zip(late, refine_each([row[1] for row in late], longer, rate_hz, 6), strict=True):
        events.append(describe(working, one, tones))
    return sorted(events, key=lambda event: event.onset_s)


def _stretch(working: Working, onset: Onset, next_s: float) -> Stretch | None:
    """The stretch to be fitted; None where it is too short."""
    rate_hz, samples = working.rate_hz, working.samples
    first = int((onset.start_s + SKIP_S) * rate_hz)
    start = after_clipping(working, first)
    end = min(len(samples), int((min(next_s - GUARD_S, onset.start_s + LONGEST_S)) * rate_hz))
    if end - start < 0.03 * rate_hz:
        return None
    end = start + useful_length(samples[start:end], rate_hz)
    return Stretch(onset, start, end, int((onset.start_s - 0.006) * rate_hz) if start == first else start)


def after_clipping(working: Working, start: int) -> int:
    """The first sample after the clipped beginning of an event; ``start`` where it is not clipped.

    Where hum or noise keeps touching the limit, only what is clipped clearly more often than usual belongs to the
    event.
    """
    block = int(CLIP_BLOCK_S * working.rate_hz)
    reach = working.clipped[start : start + int(CLIP_REACH_S * working.rate_hz)]
    if not reach.any():
        return start
    usual = float(np.median(_shares(working.clipped, block)))
    often = _shares(reach, block) > 3 * usual + (0.05 if usual else 0.0)
    quiet = np.flatnonzero(~often)
    places = np.flatnonzero(reach[: block * int(quiet[0])]) if len(quiet) else np.flatnonzero(reach)
    return start + int(places[-1]) + 3 if len(places) else start


def _shares(clipped: Bools, block: int) -> Array:
    """Share of clipped samples in each whole block, shape (blocks,) [-]."""
    count = max(1, len(clipped) // block)
    return np.asarray(clipped[: count * block].reshape(count, -1).mean(axis=1))


def useful_length(samples: Array, rate_hz: float) -> int:
    """How many samples the longest-lived strong tone fills; noise after it only costs time.

    Parameters
    ----------
    samples
        Samples of one channel, shape (n,) [-].
    rate_hz
        Samples a second [Hz].
    """
    count = len(samples)
    windows = np.exp(-np.arange(count) / (DECAYS_S[:, None] * rate_hz))
    size = 1 << int(np.ceil(np.log2(count)))
    gains = 2 * np.abs(np.fft.rfft(samples * windows, size)) ** 2 / np.sum(windows**2, axis=1)[:, None]
    best = gains[:, 2:].max(axis=1)
    strong = np.flatnonzero((best > 0.25 * best.max()) & (best > 40))
    longest = DECAYS_S[strong[-1]] if len(strong) else 0.04
    return int(min(count, max(0.12, 4 * longest) * rate_hz))


def shifted(modes: Modes, samples: int) -> Modes:
    """The same tones with time counted from another sample."""
    factor = (modes.a - 1j * modes.b) * np.exp((1j * modes.omega - modes.decay) * samples)
    return Modes(modes.omega, modes.decay, factor.real, -factor.imag)


def earliest(samples: Array, modes: Modes, start: int, least: int, rate_hz: float) -> int:
    """How far back the tones still describe the sound: the finger's noise ends there.

    Parameters
    ----------
    samples
        Samples of one channel, shape (n,) [-].
    modes
        Damped tones.
    start
        First sample [-].
    least
        Fewest samples to keep [-].
    rate_hz
        Samples a second [Hz].
    """
    block = max(2, int(0.0015 * rate_hz))
    while start - block >= max(0, least):
        piece = samples[start - block : start]
        slow = modes.chosen(modes.decay < 1 / (0.004 * rate_hz))
        rest = piece - shifted(slow, -block).sound(block) if len(slow) else piece
        if rest @ rest > 3.0 * block + 0.1 * (piece @ piece) or piece @ piece < 2 * (rest @ rest):
            break
        modes, start = shifted(modes, -block), start - block
    return start


def describe(working: Working, one: Stretch, modes: Modes) -> Event:
    """Gather what is known of the tones of one stretch."""
    rate_hz = working.rate_hz
    piece = working.samples[one.start : one.end]
    rest = piece - modes.sound(len(piece))
    variance = np.sum(local_variance(rest, modes), axis=0)
    return Event(
        one.onset.start_s,
        one.start / rate_hz,
        one.end / rate_hz,
        modes,
        modes.hertz(rate_hz),
        modes.tau_s(rate_hz),
        np.sqrt(_by_frequency(modes, piece) * variance) * rate_hz / (2 * np.pi),
        modes.energy(len(piece)),
        before(working, one.onset, modes, len(piece)),
        max(1.0, float(piece @ piece) - len(piece)),
        max(0.0, float(rest @ rest) - len(piece)),
    )


def _by_frequency(modes: Modes, piece: Array) -> Array:
    """Variance of each angular frequency in noise of variance 1, shape (k,) [rad²/sample²]."""
    rate, weight = modes.rate[None], modes.weight[None]
    heard = np.ones(rate.shape, dtype=np.bool_)
    fits = Fits(rate, weight, heard, np.zeros(1), rate, rate)
    return np.abs(spread(slopes_square(stretches([piece]), fits))[0, 3 * len(modes) :])


NEAR_OFFSETS = np.array([-4.0, -3.0, -2.0, 2.0, 3.0, 4.0])
FAR_OFFSETS = np.array([-14.0, -11.0, -8.0, 8.0, 11.0, 14.0])


def local_variance(rest: Array, modes: Modes, series: Bools | None = None) -> tuple[Array, Array]:
    """Variance of what is left, as it stands at each tone: noise, and what room and neighbours add; shape (k,) each.

    In white noise of variance s² the energy 2|X|²/Σw² of a damped window is 2s² on average. What a room adds lies
    about the tone like the tone's own spectrum, A/(1 + (Δω/d)²); at the tone itself the fit has swallowed it. So A is
    found from what is left beside the tones, shared over the tones of one pluck by their energy.

    Parameters
    ----------
    rest
        What the tones leave, shape (n,) [-].
    modes
        Damped tones.
    series
        Which tones belong to the span; None for all.
    """
    count, sound = len(rest), stretches([rest])
    width = np.maximum(modes.decay, 3 * np.pi / count)
    offsets = np.concatenate([NEAR_OFFSETS, FAR_OFFSETS])
    turned = -1j * (modes.omega + offsets[:, None] * width) - modes.decay
    value = sums_with(sound, turned.reshape(1, -1)).reshape(len(offsets), -1)
    power = np.abs(value) ** 2 / one_by_one(modes.rate, count)[1].real
    near, far = power[: len(NEAR_OFFSETS)], power[len(NEAR_OFFSETS) :]
    level = (far.sum(axis=0) + 2.0) / 8.0
    share = 1 / (1 + (NEAR_OFFSETS[:, None] * width / np.maximum(modes.decay, 1e-6)) ** 2)
    share = np.maximum(share, 0.01)
    peak = np.sum(share * (near - level), axis=0) / np.sum(share**2, axis=0)
    gain = modes.energy(count)
    chosen = np.ones(len(modes), dtype=np.bool_) if series is None else series
    ratio = max(0.0, float(np.sum(peak[chosen]) / max(float(np.sum(gain[chosen])), 1.0)))
    return np.asarray(np.maximum(level, (near.sum(axis=0) + 2.0) / 8.0)), ratio * gain


def before(working: Working, onset: Onset, modes: Modes, count: int) -> Array:
    """Share of each tone's energy that stood there just before the onset, shape (k,) [-]."""
    rate_hz = working.rate_hz
    end = max(0, int((onset.start_s - GUARD_S) * rate_hz))
    start = max(0, end - count)
    if end - start < 0.02 * rate_hz:
        lines = np.array(working.lines_hz or (0.0,))
        away = np.abs(modes.hertz(rate_hz)[:, None] - lines).min(axis=1)
        return np.asarray(np.where(away < 2.0, 1.0, 0.0))
    piece = working.samples[start:end][::-1]
    value = sums_with(stretches([piece]), modes.rate.conj()[None])[0]
    energy = 2 * np.abs(value) ** 2 / one_by_one(modes.rate, len(piece))[1].real
    return np.asarray(np.maximum(0.0, energy - 4.0) / np.maximum(modes.energy(count), 1.0))
