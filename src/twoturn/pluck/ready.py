"""The tones of events made ready to be fitted as plucks of one span, many events at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.events import Event, shifted
from twoturn.pluck.fitting import refine_all
from twoturn.pluck.modes import Gains, Modes, gains_of, of_rates, refine_each
from twoturn.pluck.series import PARTIALS, stretch, usable_tones
from twoturn.pluck.sums import Complexes, stretches
from twoturn.pluck.working import Array, Ints, Working

NEAR = 0.02  # how far a partial may lie from where the series puts it [-]
COMPLETED, LEAST_GAIN = 6, 20.0  # the highest partial looked for, and the energy it must take away [-]
HIGHEST_HZ = 1200.0


@dataclass(frozen=True, eq=False)
class Ready:
    """Tones of one event, those of the span numbered.

    Attributes
    ----------
    modes, number
        Tones, refined, and the partial each is, 0 for foreign ones [-], shape (k,).
    spread
        How far tones left out were spread about each, shape (k,) [rad²/sample²].
    piece
        The samples from where the tones describe them, shape (n,) [-].
    stretch
        The whole stretch [-].
    late
        Samples from the onset to the stretch's first [-].
    every, numbers
        All tones of the stretch before that, and the partial each is, shape (all,) [-].
    """

    modes: Modes
    number: Ints
    spread: Array
    piece: Array
    stretch: Array
    late: int
    every: Modes
    numbers: Ints


@dataclass(eq=False)
class _Row:
    """One event on its way."""

    place: int
    piece: Array
    late: int
    found: tuple[Modes, Ints]
    modes: Modes
    number: Ints
    spread: Array
    f1_hz: float
    inharmonicity: float


def make_ready(
    working: Working, events: Sequence[Event], f1_hz: Sequence[float], inharmonicity: Sequence[float]
) -> list[Ready | None]:
    """Number the tones of events as partials of a span, look for missing ones, and refine them.

    Parameters
    ----------
    working
        The flattened recording.
    events
        The events.
    f1_hz, inharmonicity
        First partial [Hz] and B [-] for each.

    Returns
    -------
    list
        None for an event in which no partial of that span is heard.
    """
    rate_hz, rows = working.rate_hz, list[_Row]()
    for place, (event, f1, stiff) in enumerate(zip(events, f1_hz, inharmonicity, strict=True)):
        found = matched(event, f1, stiff)
        if found[1].any():
            first = int(event.start_s * rate_hz + 0.5)
            piece = working.samples[first : int(event.end_s * rate_hz + 0.5)]
            left = without_shadows(*found, len(piece))
            rows.append(_Row(place, piece, first - int(event.onset_s * rate_hz), found, *left, f1, stiff))
    _complete(rows, rate_hz)
    refined = refine_each([row.modes for row in rows], stretches([row.piece for row in rows]), rate_hz, 5)
    answer: list[Ready | None] = [None] * len(events)
    for row, (modes, piece) in zip(rows, settled(refined, [row.piece for row in rows], rate_hz), strict=True):
        old = len(row.spread)
        added, (every, numbers) = np.arange(old, len(modes)), row.found
        spread = np.concatenate([row.spread, np.zeros(len(added))])
        every, numbers = every.joined(row.modes.chosen(added)), np.append(numbers, row.number[old:])
        answer[row.place] = Ready(modes, row.number, spread, piece, row.piece, row.late, every, numbers)
    return answer


def matched(event: Event, f1_hz: float, inharmonicity: float) -> tuple[Modes, Ints]:
    """The event's tones with the number of the partial each is; 0 for those that belong to something else.

    Parameters
    ----------
    event
        The event, its tones fitted.
    f1_hz
        First partial [Hz].
    inharmonicity
        Inharmonicity of the partials [-].
    """
    n = np.arange(1.0, PARTIALS + 1.0)
    partials = n * f1_hz * stretch(n, inharmonicity)
    away = np.abs(np.log(event.hertz[:, None] / partials[None, :]))
    nearest = away.argmin(axis=1)
    fits = (away.min(axis=1) < NEAR) & usable_tones(event)
    number = np.zeros(len(event.modes), dtype=np.int64)
    for partial in np.unique(nearest[fits]):
        same = np.flatnonzero(fits & (nearest == partial))
        closeness = event.gain[same] * np.exp(-((away[same, partial] / 0.008) ** 2))
        number[same[int(np.argmax(closeness))]] = partial + 1
    return event.modes, number


SHADOW = 5.0


def without_shadows(modes: Modes, number: Ints, count: int) -> tuple[Modes, Ints, Array]:
    """Leave out weaker tones that lie within a partial's own width: a room splits a tone, and one tone is meant.

    Returns
    -------
    tuple
        Tones and numbers that are left, and how far the tones left out were spread about each, weighted by energy,
        shape (k,) [rad²/sample²].
    """
    energy = modes.energy(count)
    keep, spread = np.ones(len(modes), dtype=np.bool_), np.zeros(len(modes))
    for place in np.flatnonzero(number):
        width = SHADOW * max(float(modes.decay[place]), 2.0 / count)
        away = np.abs(modes.omega - modes.omega[place])
        close = (away < width) & (number == 0) & (energy < energy[place])
        spread[place] = np.sum(energy[close] * away[close] ** 2) / (energy[place] + np.sum(energy[close]))
        keep &= ~close
    return modes.chosen(keep), number[keep], spread[keep]


def _complete(rows: Sequence[_Row], rate_hz: float) -> None:
    """Look in what is left for partials that were too weak to be found on their own."""
    highest_hz = min(HIGHEST_HZ, 0.4 * rate_hz)
    rest = [row.piece - row.modes.sound(len(row.piece)) for row in rows]
    gains = [_gains(one, rate_hz) for one in rest]
    for n in range(1, COMPLETED + 1):
        tried, rates, middle = list[int](), list[Complexes](), list[float]()
        for place, row in enumerate(rows):
            hertz = n * row.f1_hz * float(stretch(np.array(float(n)), row.inharmonicity))
            if n in row.number or hertz > highest_hz:
                continue
            rate, gain = gains[place].best(hertz * (1 - 0.8 * NEAR), hertz * (1 + 0.8 * NEAR))
            if gain[0] >= LEAST_GAIN:
                tried, rates, middle = [*tried, place], [*rates, rate], [*middle, hertz]
        if not tried:
            continue
        sound, start = stretches([rest[place] for place in tried]), np.array(rates)
        fits = refine_all(sound, start, np.ones(start.shape, dtype=np.bool_), rate_hz, 2)
        for place, hertz, rate, weight in zip(tried, middle, fits.rate, fits.weight, strict=True):
            tone, row = of_rates(rate, weight), rows[place]
            close = abs(float(tone.hertz(rate_hz)[0]) / hertz - 1) < NEAR
            if close and tone.tau_s(rate_hz)[0] * hertz * np.pi > 3:
                row.modes, row.number = row.modes.joined(tone), np.append(row.number, n)
                rest[place] = rest[place] - tone.sound(len(row.piece))
                gains[place] = _gains(rest[place], rate_hz)


def _gains(rest: Array, rate_hz: float) -> Gains:
    """Spectra of one stretch where partials may be missing."""
    return gains_of(rest[None], np.array([len(rest)]), rate_hz, 0.0, min(1.05 * HIGHEST_HZ, 0.42 * rate_hz))


BLOCK_S, SETTLED_S = 0.0015, 0.012
SURE_LEVEL, SURE_ALONG = 5.0, 9.0  # what noise hardly ever does: spread of a block's level, square along the tones
LIKELY_LEVEL, LIKELY_ALONG = 2.0, 3.0


def settled(modes: Sequence[Modes], pieces: Sequence[Array], rate_hz: float) -> list[tuple[Modes, Array]]:
    """Leave out what the tones do not describe yet: the finger, and the filters before they have run in.

    Parameters
    ----------
    modes
        The tones of each stretch, fitted to the whole of it.
    pieces
        The stretches, shape (n,) each, background of standard deviation 1 [-].
    rate_hz
        Samples a second [Hz].

    Returns
    -------
    list of tuple
        The tones, time counted from the new start, and the stretch from there.
    """
    answer = list(zip(modes, pieces, strict=True))
    late = [_undescribed(*row, rate_hz) for row in answer]
    moved = [place for place, count in enumerate(late) if count]
    begun = [shifted(modes[place], late[place]) for place in moved]
    rest = [pieces[place][late[place] :] for place in moved]
    for place, tones, piece in zip(moved, refine_each(begun, stretches(rest), rate_hz, 3), rest, strict=True):
        answer[place] = tones, piece
    return answer


def _undescribed(modes: Modes, piece: Array, rate_hz: float) -> int:
    """How many samples at the start the tones do not describe [-]."""
    block = max(4, int(BLOCK_S * rate_hz))
    count = len(piece) // block
    most = min(int(SETTLED_S / BLOCK_S), count // 4)
    if not most:
        return 0
    wave = modes.sound(count * block).reshape(count, block)
    rest = piece[: count * block].reshape(count, block) - wave
    level = np.mean(rest**2, axis=1)
    usual = max(float(np.median(level[most : 4 * most])), 1.0)
    spread, along = (2 / block) ** 0.5, np.sum(rest * wave, axis=1) ** 2 / (np.sum(wave**2, axis=1) + 1e-12)
    sure = (level > (1 + SURE_LEVEL * spread) * usual) | (along > SURE_ALONG * usual)
    likely = (level > (1 + LIKELY_LEVEL * spread) * usual) | (along > LIKELY_ALONG * usual)
    cut = int(np.flatnonzero(sure[:most])[-1] + 1) if sure[:most].any() else 0
    while cut < most and likely[cut]:
        cut += 1
    return cut * block
