"""The first partial from all plucks of a recording together, with the room they share taken into account."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.bands import Common, Ring, bands_of, common_glide
from twoturn.pluck.room import in_room
from twoturn.pluck.series import stretch
from twoturn.pluck.working import Array, Ints

STIFFNESSES = np.concatenate([[0.0], np.exp(np.linspace(np.log(1e-5), np.log(0.1), 45))])
STIFF_CHANCE = np.concatenate([[3.0], 1 / (1 + STIFFNESSES[1:] / 0.02)])  # long spans are hardly stiff
MISFIT = 0.001  # how far the partials of a belt stray from a stiff string's [-]
ASTRAY = np.array([0.01, 0.4])  # chance that what was taken for the first, or for a higher partial, is another sound
ASTRAY_WIDTH = 0.03
REACH = 0.04
LOST = np.array([0.08, 0.04])  # the first, or a higher partial, that the room's model moves farther is none [-]


@dataclass(frozen=True)
class Joint:
    """First partial [Hz], its relative standard uncertainty [-], and the chance that no room is heard [-]."""

    f1_hz: float
    relative_u: float
    dry: float


def together(rings: Sequence[Ring], f1_hz: float, inharmonicity: float) -> Joint | None:
    """First partial from all plucks of a recording laid on each other.

    Parameters
    ----------
    rings
        The plucks that agree.
    f1_hz
        First partial to start from [Hz].
    inharmonicity
        B to start from [-].

    Returns
    -------
    Joint or None
        None where no partial is strong enough.
    """
    if not rings:
        return None
    common = Common(f1_hz, inharmonicity, *common_glide(rings))
    bands = bands_of(rings, common)
    if not bands:
        return None
    found = in_room(bands, common, rings[0].rate_hz)
    hertz = found.omega * rings[0].rate_hz / (2 * np.pi)
    place = found.number * f1_hz * stretch(found.number.astype(np.float64), inharmonicity)
    kept = np.isfinite(found.variance) & (np.abs(hertz / place - 1) < np.where(found.number == 1, *LOST))
    if not kept.any():
        return None
    variance = found.variance[kept] / found.omega[kept] ** 2
    start, relative_u = sturdy_first(found.number[kept], hertz[kept], variance)
    return Joint(start, relative_u, found.dry)


def sturdy_first(number: Ints, hertz: Array, variance: Array) -> tuple[float, float]:
    """First partial through partials of a stiff string of which some may be other sounds, averaged over B.

    Parameters
    ----------
    number, hertz
        Of the partials, shape (k,) [-], [Hz].
    variance
        Of their logarithms, shape (k,) [-].

    Returns
    -------
    tuple
        First partial [Hz] and its relative standard uncertainty [-].

    References
    ----------
    Good and bad data as a mixture: W. H. Press, Understanding data better with Bayesian and global statistical
    methods, in Unsolved problems in astrophysics (1997) 49-60.
    """
    place = np.log(hertz / number)
    bend = np.log(stretch(number.astype(np.float64), STIFFNESSES[:, None]))
    width = np.sqrt(variance + np.where(number == 1, 0.0, MISFIT**2) + 1e-14)
    centre = place[int(np.argmin(width * number**0.5))]
    near = [
        one + own * np.linspace(-3.5, 3.5, 21) for one, own in zip(place, np.minimum(width, REACH / 3.5), strict=True)
    ]
    axis = np.unique(np.concatenate([centre + np.linspace(-REACH, REACH, 41), *near]))
    away = place - axis[:, None, None] - bend[None, :, :]
    astray = np.where(number == 1, ASTRAY[0], ASTRAY[1])
    right = (1 - astray) * np.exp(-0.5 * (away / width) ** 2) / width
    wrong = astray * np.exp(-0.5 * (away / ASTRAY_WIDTH) ** 2) / ASTRAY_WIDTH
    chance = np.log(right + wrong + 1e-300).sum(axis=2)
    chance = (np.exp(chance - chance.max()) * STIFF_CHANCE).sum(axis=1) * np.gradient(axis)
    chance /= chance.sum()
    mean = float(chance @ axis)
    return float(np.exp(mean)), float(np.sqrt(chance @ (axis - mean) ** 2))
