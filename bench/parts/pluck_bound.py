"""How near any reader could come in the workshop recordings: the Cramér–Rao bound of what each was drawn with."""

from __future__ import annotations

import numpy as np
from tests.pluck.generator import N_MODES, SpanTruth
from tests.pluck.workshop import Traits, draw_span, draw_traits

from bench.parts.pluck_workshop import FIRST_SEED, PLUCKED
from bench.table import Row

RATE_HZ = 2900.0
HIGHEST_HZ = 1200.0
LATE_S, LONGEST_S = 0.003, 0.6
WEAKEST = 30.0  # energy of a partial over the noise, under which it tells nothing
STIFF_PRIOR = 0.01
DRAWS = 200
WANTED = 0.01
NORMAL_95 = 1.96


def measure() -> list[Row]:
    """One row: the bound's 95th percentile, and how many recordings could be within 1 % 19 times out of 20."""
    drawn = [drawn_with(seed) for seed in range(FIRST_SEED, FIRST_SEED + PLUCKED)]
    known = [(bound(*one), bool(one[0]["rt60_s"])) for one in drawn]
    bounds, wet = np.array([one for one in known if np.isfinite(one[0])]).T
    errors = np.abs(np.random.default_rng(75).standard_normal((DRAWS, len(bounds))) * bounds)
    middle, most = np.percentile(errors, [50, 95])
    in_rooms = np.percentile(errors[:, wet > 0], 95)
    share = float(np.mean(NORMAL_95 * bounds <= WANTED))
    how = (
        f"{len(bounds)} of the recordings above, true span and room; no glide or other sound, tail and noise known; "
        "Cramér–Rao bound with the room's tail as noise that drives the partials"
    )
    figure = (
        f"median {100 * middle:.2f} %, 95th percentile {100 * most:.2f} %, in rooms {100 * in_rooms:.2f} %; "
        f"{100 * share:.0f} % of them could be within 1 % 19 times out of 20"
    )
    return [Row("pluck: what no reader could better", how, figure, "none", None)]


def drawn_with(seed: int) -> tuple[Traits, SpanTruth, int]:
    """Traits, span and number of plucks of `workshop(seed)`, drawn in the same order."""
    rng = np.random.default_rng(seed)
    traits, span = draw_traits(rng), draw_span(rng)
    rng.uniform(0.15, 0.6)
    return traits, span, int(rng.integers(1, 11)) if rng.random() < 0.8 else 1


def bound(traits: Traits, span: SpanTruth, plucks: int) -> float:
    """Least relative standard deviation of the first partial, partials and B of a stiff string together [-]."""
    n = np.arange(1, N_MODES + 1)
    hertz = span.partials_hz
    shape = np.sin(n * np.pi * float(traits["at"])) / n**2 * np.exp(-((n / 9) ** 2))
    size = np.abs(shape) / np.sqrt(np.sum((n * shape) ** 2)) * np.sqrt(hertz / hertz[0])
    decay = (1 + span.damping_growth * (n - 1)) / span.tau_s
    noise = noise_at(hertz, traits) / plucks_add(plucks)
    told = [
        (k, partial_bound(float(hertz[k]), float(decay[k]), float(size[k]), float(noise[k]), traits))
        for k in range(N_MODES)
        if hertz[k] < HIGHEST_HZ and size[k] ** 2 * RATE_HZ / (2 * decay[k]) > WEAKEST * 2 * noise[k]
    ]
    if not told:
        return float("inf")
    square, u = n[[k for k, _ in told]] ** 2.0, np.array([each for _, each in told])
    stiff = span.inharmonicity
    bend = 0.5 * (square / (1 + stiff * square) - 1 / (1 + stiff))
    design = np.stack([np.ones(len(u)), bend], axis=1) / u[:, None]
    normal = design.T @ design
    normal[1, 1] += 1 / STIFF_PRIOR**2
    return float(np.sqrt(np.linalg.inv(normal)[0, 0]))


def plucks_add(plucks: int) -> float:
    """Sum of squares of strengths that lie evenly from −8 to 0 dB, as a mean over the draw."""
    return plucks * (1 - 10**-0.8) / (0.8 * np.log(10))


def noise_at(hertz: np.ndarray, traits: Traits) -> np.ndarray:
    """Variance a sample at 2900 Hz of white noise as dense as the recording's at each partial."""
    axis = np.linspace(1.0, float(traits["rate_hz"]) / 2, 4000)
    density = np.maximum(axis, 20.0) ** -float(traits["noise_slope"])
    density /= np.sum(density) * (axis[1] - axis[0])
    return np.asarray(10 ** (float(traits["noise_db"]) / 10) * np.interp(hertz, axis, density) * RATE_HZ / 2)


def partial_bound(hertz: float, decay: float, size: float, noise: float, traits: Traits) -> float:
    """Least relative standard deviation of one partial's frequency [-]; frequency, decay and amplitude unknown.

    Complex Gaussian samples once a turn; mean A·exp(λt), covariance of driven tone and noise; Slepian and Bangs,
    as in S. M. Kay, Fundamentals of statistical signal processing I (1993), sec. 15.7.
    """
    step = max(1, round(RATE_HZ / hertz)) / RATE_HZ
    time = LATE_S + step * np.arange(max(4, int(min(LONGEST_S, max(0.05, 5 / decay)) / step)))
    driven = np.zeros(len(time))
    if traits["rt60_s"]:
        fade = np.log(1000.0) / float(traits["rt60_s"])
        driven = 2 * fade * step * 10 ** (-float(traits["ratio_db"]) / 10) * size**2 * np.exp(-2 * fade * time)

    def covariance(rate: complex) -> np.ndarray:
        factor, held = np.exp(rate * step), np.zeros(len(time))
        for k in range(1, len(time)):
            held[k] = abs(factor) ** 2 * held[k - 1] + driven[k]
        i, j = np.indices((len(time), len(time)))
        turned = np.where(i >= j, factor ** np.maximum(i - j, 0), np.conj(factor) ** np.maximum(j - i, 0))
        return held[np.minimum(i, j)] * turned + 4 * noise / (step * RATE_HZ) * np.eye(len(time))

    small, mean = 1e-4 * decay, size * np.exp(-decay * time)
    whole = np.linalg.inv(covariance(complex(-decay)))
    moved = [
        whole @ (covariance(-decay + way * small) - covariance(-decay - way * small)) / (2 * small) for way in (1j, 1.0)
    ]
    slopes = np.stack([1j * time * mean, time * mean, mean / size, 1j * mean / size])
    fisher = 2 * (slopes.conj() @ whole @ slopes.T).real
    fisher[:2, :2] += np.array([[np.trace(one @ other).real for other in moved] for one in moved])
    return float(np.sqrt(np.linalg.inv(fisher)[0, 0])) / (2 * np.pi * hertz)
