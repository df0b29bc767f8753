"""A plucked span seen from its physics, written by somebody who had not seen the reader nor the first generator.

A stiff string with bending, a damping law between constant quality and viscous, a finger or a screwdriver of some
width that lets go within milliseconds, the stretch of Kirchhoff and Carrier, and the sound at a microphone near by.
Beside it rings what rings along: twist and edgewise modes, the neighbour span through the pulley, the engine's
structure, and the finger's own noise. The truth is the ringing frequency of the first partial at small amplitude.

G. F. Carrier, "On the non-linear vibration problem of the elastic string", Q. Appl. Math. 3 (1945) 157-165.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import butter, lfilter, sosfilt
from tests.pluck.second.fast import modal

RATE_HZ = 48000
SOUND_M_S = 343.0
BEFORE_S = 0.08  # of sound before a pluck: the finger touches and scrapes
HIGHEST_HZ = 7000
FADE = 2400  # samples over which one pluck is faded before the next


@dataclass(frozen=True)
class Plucking:
    """What is drawn of a span, of the hand, and of what rings along.

    First partial [Hz] and its decay time [s]; number of plucks; relative sharpness of the hardest at its start [-];
    twist mode: frequency over the first partial's, level [dB], decay time over the first partial's; frequency of the
    edgewise mode over the first partial's; the neighbour span like the twist mode.
    """

    f1_hz: float
    tau_s: float
    plucks: int
    glide: float
    screwdriver: bool
    off_middle: bool
    twist_ratio: float
    twist_db: float
    twist_tau: float
    edge_ratio: float
    neighbour_db: float
    neighbour_tau: float
    neighbour_ratio: float


@dataclass(frozen=True)
class Span:
    """A span as it rings.

    Length [m]; stiffness B [-]; numbers of the partials, their frequencies [Hz], losses [1/s] and weights at the
    microphone, each of shape (modes,); distance of the microphone [m].
    """

    length_m: float
    inharmonicity: float
    number: np.ndarray
    hertz: np.ndarray
    loss: np.ndarray
    weight: np.ndarray
    distance_m: float


def draw_span(rng: np.random.Generator, how: Plucking, misfit: float = 0.0012) -> Span:
    """A span; ``misfit`` is the scatter of the higher partials about those of a stiff string [-]."""
    f1 = how.f1_hz
    length = float(np.clip(0.19 * (130 / f1) ** 0.45 * np.exp(rng.normal(0, 0.2)), 0.07, 0.5))
    stiff = np.pi**2 * float(np.exp(rng.uniform(np.log(3e-5), np.log(4e-3))))
    n = np.arange(1, int(np.clip(5500 / f1, 6, 40)) + 1)
    hertz = f1 * n * np.sqrt((1 + stiff * n * n) / (1 + stiff))
    hertz[1:] *= 1 + rng.normal(0, misfit, len(n) - 1)
    kept = hertz < HIGHEST_HZ
    n, hertz = n[kept], hertz[kept]
    share, ratio = rng.uniform(0.0, 1.0), hertz / f1  # of viscous and material damping; the rest has constant quality
    loss = (1 - share) * ratio + share * (0.4 + 0.6 * ratio**1.6)
    loss = loss * np.exp(rng.normal(0, 0.12, len(n))) / how.tau_s
    loss[0] = 1 / how.tau_s
    distance = rng.uniform(0.1, 0.4)
    at = length * (0.5 + rng.uniform(-0.3, 0.3))
    return Span(length, stiff, n, hertz, loss, heard(n, hertz, length, at, distance), distance)


def heard(n: np.ndarray, hertz: np.ndarray, length: float, at: float, distance: float) -> np.ndarray:
    """How loud each mode is at the microphone, shape (modes,): the span as a row of small dipoles.

    Length of the span, place along it that the microphone faces, and distance from there [m].
    """
    along = (np.arange(200) + 0.5) / 200 * length
    way = np.hypot(along - at, distance)
    shape = np.sin(n[:, None] * np.pi * along / length)
    phase = np.cos(2 * np.pi * hertz[:, None] / SOUND_M_S * (way - distance))
    return np.asarray((shape * phase * (distance / way) ** 2).mean(axis=1))


def string(
    rng: np.random.Generator, span: Span, how: Plucking, strength: float, seconds: float, scatter: float = 0.0004
) -> tuple[np.ndarray, float]:
    """Accelerations of the modes after one pluck, shape (steps, modes), and this pluck's first partial [Hz].

    ``strength`` is of the hardest pluck [-], ``scatter`` the relative spread of the note from pluck to pluck [-].
    """
    n = span.number
    hertz = span.hertz * (1 + rng.normal(0, scatter))
    omega = np.sqrt((2 * np.pi * hertz) ** 2 + span.loss**2)  # so that it rings at `hertz`
    at = np.clip(rng.normal(0.5, 0.1), 0.2, 0.8)
    if how.off_middle:
        at = rng.choice([0.25, 0.33])
    width = 0.003 if how.screwdriver else rng.uniform(0.008, 0.016)
    start = 2 / (n**2 * np.pi**2 * at * (1 - at)) * np.sin(n * np.pi * at) * np.sinc(n * width / span.length_m)
    start = start * strength
    release = rng.uniform(0.0002, 0.0009) if how.screwdriver else rng.uniform(0.0008, 0.004)
    time = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    held = np.where(time < release, 0.5 * (1 + np.cos(np.pi * np.minimum(time / release, 1))), 0.0)
    # one mode alone is sharp by 3/8 of the relative growth of tension at its crest (Duffing)
    stretch = how.glide * strength**2 * 8 / 3 * omega[0] ** 2 / start[0] ** 2
    moved = modal(start, omega, span.loss, (n**2).astype(float), float(stretch), held, float(RATE_HZ))
    return moved, float(hertz[0])


def resonators(samples: np.ndarray, hertz: np.ndarray, tau_s: np.ndarray, gain: np.ndarray) -> np.ndarray:
    """A sound through resonances side by side, each of unit gain times ``gain`` [-] at its frequency."""
    out = np.zeros_like(samples)
    for one_hz, one_s, one_gain in zip(hertz, tau_s, gain, strict=True):
        keep, turn = np.exp(-1 / (one_s * RATE_HZ)), 2 * np.pi * one_hz / RATE_HZ
        above, below = [1 - keep, 0, -(1 - keep)], [1, -2 * keep * np.cos(turn), keep * keep]
        out += one_gain * lfilter(above, below, samples)
    return out


def level(samples: np.ndarray, seconds: float) -> float:
    """RMS of the beginning of a sound [-]."""
    return float(np.sqrt(np.mean(samples[: int(seconds * RATE_HZ)] ** 2)) + 1e-30)


def pluck(rng: np.random.Generator, span: Span, how: Plucking, strength: float, seconds: float) -> np.ndarray:
    """Sound of one pluck and all that rings along; it begins ``BEFORE_S`` before the finger lets go."""
    moved, first_hz = string(rng, span, how, strength, seconds)
    sound, force = moved @ span.weight, moved @ (1 / span.number)
    whole = level(sound, 0.05)
    sound += whole * 1.4 * twist_and_edge(rng, how, first_hz, len(sound))
    k = np.arange(1, 6)
    own = first_hz * how.neighbour_ratio * k * np.sqrt(1 + span.inharmonicity * k * k)
    beside = resonators(force, own, how.tau_s * how.neighbour_tau / k, 1 / k)
    sound += beside / level(beside, 0.1) * whole * 10 ** (how.neighbour_db / 20)
    engine_hz = np.exp(rng.uniform(np.log(250), np.log(4000), 8))
    engine = resonators(np.diff(force, prepend=0), engine_hz, rng.uniform(0.002, 0.012, 8), rng.normal(0, 1, 8))
    sound += engine / level(engine, 0.03) * whole * 10 ** (rng.uniform(-32, -16) / 20)
    sound = np.concatenate([np.zeros(int(BEFORE_S * RATE_HZ)), sound])
    return np.asarray(sound + 2 * whole * finger(rng, len(sound)))


def twist_and_edge(rng: np.random.Generator, how: Plucking, first_hz: float, count: int) -> np.ndarray:
    """Three twist modes and one edgewise mode beside a span that rings at ``first_hz`` [Hz], shape (count,)."""
    time, out = np.arange(count) / RATE_HZ, np.zeros(count)
    for m in (1, 2, 3):
        fade = np.exp(-time * m / (how.tau_s * how.twist_tau)) * np.minimum(time / 0.002, 1)
        phase = 2 * np.pi * how.twist_ratio * first_hz * m * time * (1 + 0.002 * m) + rng.uniform(0, 6.28)
        out += 10 ** (how.twist_db / 20) / m**1.2 * fade * np.sin(phase)
    fade = np.exp(-time / (how.tau_s * 0.5)) * np.minimum(time / 0.001, 1)
    edge = 10 ** (rng.uniform(-38, -22) / 20) * np.sin(2 * np.pi * first_hz * how.edge_ratio * time)
    return np.asarray(out + edge * fade)


def finger(rng: np.random.Generator, count: int) -> np.ndarray:
    """Touch and scrape before a pluck, and the click of letting go; noise of 700 to 6000 Hz, shape (count,)."""
    noise = sosfilt(butter(2, [700, 6000], "band", fs=RATE_HZ, output="sos"), rng.normal(0, 1, count))
    time = np.arange(count) / RATE_HZ - BEFORE_S
    scrape = 10 ** (rng.uniform(-40, -24) / 20) * ((time > -0.06) & (time < 0))
    click = 10 ** (rng.uniform(-24, -6) / 20) * np.exp(-np.abs(time) / 0.0015)
    return np.asarray(noise / np.std(noise) * (scrape + click))


def plucked_track(rng: np.random.Generator, how: Plucking) -> tuple[np.ndarray, tuple[float, ...], Span]:
    """Sound of all plucks near the span, their times [s], and the span."""
    span = draw_span(rng, how)
    now, times, sizes = rng.uniform(0.35, 0.8), [], []
    for _ in range(how.plucks):
        times.append(float(now))
        sizes.append(float(np.exp(rng.normal(0, 0.35))) if how.plucks > 1 else 1.0)
        shortest, longest, decays = (0.35, 0.95, 2.2) if how.plucks > 4 else (0.5, 1.2, 2.5)
        now += max(rng.uniform(shortest, longest), decays * how.tau_s)
    total = times[-1] + rng.uniform(0.6, 0.9)
    out = np.zeros(int(total * RATE_HZ) + 10)
    for time, size, end in zip(times, sizes, [*times[1:], total], strict=True):
        part = pluck(rng, span, how, size / max(sizes), end - 0.03 - time)
        faded = min(FADE, len(part))
        part[-faded:] *= np.linspace(1, 0, faded)
        first = int((time - BEFORE_S) * RATE_HZ)
        part = part[: len(out) - first]
        out[first : first + len(part)] += part
    return out, tuple(times), span
