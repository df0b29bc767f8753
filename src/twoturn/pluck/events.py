"""What sounds after an onset: the stretch that belongs to it, its damped tones, and what was there before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.fitting import spread
from twoturn.pluck.many import Tones, local_variance, side_by_side
from twoturn.pluck.modes import DECAYS_S, Modes, find_modes, refine_each, windows
from twoturn.pluck.onsets import Onset
from twoturn.pluck.sums import one_by_one, stretches, sums_with
from twoturn.pluck.working import Array, Bools, Ints, Working

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
    known, late = list[tuple[Stretch, Modes]](), list[tuple[Stretch, Modes]]()
    for one, tones in zip(found, modes, strict=True):
        start = earliest(samples, tones, one.start, one.least, rate_hz) if len(tones) else one.start
        if start < one.start:
            late.append((Stretch(one.onset, start, one.end, start), shifted(tones, start - one.start)))
        elif len(tones):
            known.append((one, tones))
    longer = stretches([samples[one.start : one.end] for one, _ in late])
    refined = refine_each([row[1] for row in late], longer, rate_hz, 6)
    known += [(one, tones) for (one, _), tones in zip(late, refined, strict=True)]
    return sorted(described(working, known), key=lambda event: event.onset_s)


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
    from scipy.fft import rfft

    count = len(samples)
    size = 1 << int(np.ceil(np.log2(count)))
    damped, squares = windows(rate_hz, size)
    spectra = rfft(samples * damped[:, :count], size)
    gains = 2 * (spectra.real**2 + spectra.imag**2) / squares[:, count - 1, None]
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


def described(working: Working, rows: Sequence[tuple[Stretch, Modes]]) -> list[Event]:
    """Gather what is known of the tones of stretches.

    Parameters
    ----------
    working
        The flattened recording.
    rows
        The stretches and their tones, one at least each.
    """
    if not rows:
        return []
    rate_hz = working.rate_hz
    sound, tones = (
        stretches([working.samples[one.start : one.end] for one, _ in rows]),
        side_by_side([m for _, m in rows]),
    )
    rest = sound.without(tones.rate, tones.weight)
    noise, room = local_variance(rest, tones, tones.heard)
    by_frequency = np.abs(spread(tones.slopes_square(sound))[:, 3 * tones.rate.shape[1] :])
    u_hertz = np.sqrt(by_frequency * (noise + room)) * rate_hz / (2 * np.pi)
    gain = tones.energy(sound.count)
    older = before(working, [one.onset for one, _ in rows], tones, sound.count)
    excess, left = np.maximum(1.0, sound.power - sound.count), np.maximum(0.0, rest.power - sound.count)
    found = []
    for row, (one, modes) in enumerate(rows):
        hertz, tau_s, own = modes.hertz(rate_hz), modes.tau_s(rate_hz), (row, slice(len(modes)))
        times = one.onset.start_s, one.start / rate_hz, one.end / rate_hz
        beyond = float(excess[row]), float(left[row])
        found.append(Event(*times, modes, hertz, tau_s, u_hertz[own], gain[own], older[own], *beyond))
    return found


def before(working: Working, onsets: Sequence[Onset], tones: Tones, count: Ints) -> Array:
    """Share of each tone's energy that stood there just before the onset, shape (rows, k) [-].

    Parameters
    ----------
    working
        The flattened recording.
    onsets
        The onset of each row.
    tones
        The tones that begin there.
    count
        Samples of each stretch, shape (rows,) [-].
    """
    rate_hz = working.rate_hz
    end = np.array([max(0, int((onset.start_s - GUARD_S) * rate_hz)) for onset in onsets])
    start = np.maximum(0, end - count)
    pieces = [working.samples[low:high][::-1] for low, high in zip(start.tolist(), end.tolist(), strict=True)]
    earlier = stretches(pieces)
    value = sums_with(earlier, tones.rate.conj())
    own = one_by_one(tones.rate, np.maximum(earlier.count, 1)[:, None])[0][1].real
    share = np.maximum(0.0, 2 * np.abs(value) ** 2 / own - 4.0) / np.maximum(tones.energy(count), 1.0)
    lines = np.array(working.lines_hz or (0.0,))
    away = np.abs(tones.rate.imag[..., None] * rate_hz / (2 * np.pi) - lines).min(axis=2)
    return np.where((end - start < 0.02 * rate_hz)[:, None], np.where(away < 2.0, 1.0, 0.0), share)
