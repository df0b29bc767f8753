"""A physical generator of plucked spans and of workshop noise, independent of the estimator and of the product.

The span is a damped stiff string between two fixed ends, integrated in time by its modes with the stretch of
Kirchhoff and Carrier (the tension grows with the length of the deflected string), so that pitch glide and mode
coupling come from the equation and are not put in by hand. Truth is the first partial at small amplitude.

    q_n'' + 2 q_n'/tau_n + w_n^2 q_n (1 + s * sum_m m^2 q_m^2) = 0,   w_n from f_n = n f1 sqrt((1 + B n^2)/(1 + B))

G. F. Carrier, "On the non-linear vibration problem of the elastic string", Q. Appl. Math. 3 (1945) 157-165.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

N_MODES = 12


@dataclass(frozen=True)
class SpanTruth:
    """A span and how it rings: first partial [Hz], B [-], decay of the first partial [s], growth of damping [-]."""

    f1_hz: float
    inharmonicity: float
    tau_s: float
    damping_growth: float = 0.35

    @property
    def partials_hz(self) -> np.ndarray:
        """Small-amplitude partials [Hz]."""
        n = np.arange(1, N_MODES + 1)
        return n * self.f1_hz * np.sqrt((1 + self.inharmonicity * n**2) / (1 + self.inharmonicity))


@dataclass(frozen=True)
class Recording:
    """Samples, rate [Hz], truth (f1 or None), times of the plucks [s] and what was done to the sound."""

    samples: np.ndarray
    rate_hz: int
    f1_hz: float | None
    times_s: tuple[float, ...] = ()
    traits: dict[str, float | str | bool] = field(default_factory=dict)


def ring(
    span: SpanTruth, rate_hz: int, seconds: float, *, at: np.ndarray, glide: np.ndarray, strength: np.ndarray
) -> np.ndarray:
    """Velocity-like sound of plucks of one span, shape (plucks, samples).

    ``at`` is the place of the finger as a fraction of the span, ``glide`` the initial relative sharpness,
    ``strength`` the size; each of shape (plucks,).
    """
    over = -(-40000 // rate_hz)
    dt, omega = 1 / (rate_hz * over), 2 * np.pi * span.partials_hz[span.partials_hz < 0.42 * rate_hz]
    n = np.arange(1, len(omega) + 1)
    decay = (1 + span.damping_growth * (n - 1)) / span.tau_s
    shape = np.sin(n * np.pi * at[:, None]) / n**2 * np.exp(-((n / 9) ** 2))
    now = shape * (strength / np.sqrt(np.sum((n * shape) ** 2, axis=1)))[:, None]
    # one mode alone is sharp by 3/8 of the relative growth of tension at its crest (Duffing)
    stretch = glide / 0.375 / strength**2
    turn, loss, bend = 2 * np.exp(-decay * dt) * np.cos(omega * dt), np.exp(-2 * decay * dt), (omega * dt) ** 2
    before, weight = now * np.exp(decay * dt) * np.cos(omega * dt), 1 / (2 * dt * np.sqrt(omega * omega[0]))
    out, squares = np.empty((len(at), int(seconds * rate_hz))), (n**2).astype(float)
    for step in range(out.shape[1] * over):
        pull = stretch * ((now * now) @ squares)
        after = turn * now - loss * before - bend * pull[:, None] * now
        if step % over == 0:
            out[:, step // over] = (after - before) @ weight
        before, now = now, after
    return out


def damped(rate_hz: int, seconds: float, hertz: float, tau_s: float, phase: float = 0.0) -> np.ndarray:
    """A damped tone of initial amplitude 1."""
    t = np.arange(int(seconds * rate_hz)) / rate_hz
    return np.exp(-t / tau_s) * np.cos(2 * np.pi * hertz * t + phase)


def coloured(rng: np.random.Generator, count: int, rate_hz: int, slope: float) -> np.ndarray:
    """Noise of unit RMS whose power falls as frequency to the power ``-slope`` above 20 Hz."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    frequency = np.maximum(np.fft.rfftfreq(count, 1 / rate_hz), 20.0)
    sound = np.fft.irfft(spectrum * frequency ** (-slope / 2), count)
    return sound / sound.std()


def high_pass(samples: np.ndarray, rate_hz: int, corner_hz: float, order: int = 2) -> np.ndarray:
    """Minimum-phase (Butterworth) high-pass as a telephone's microphone path has it."""
    from scipy.signal import butter, sosfilt

    return sosfilt(butter(order, corner_hz, "high", fs=rate_hz, output="sos"), samples)


def low_pass(samples: np.ndarray, rate_hz: int, corner_hz: float) -> np.ndarray:
    """Butterworth low-pass of fourth order."""
    from scipy.signal import butter, sosfilt

    if corner_hz >= 0.49 * rate_hz:
        return samples
    return sosfilt(butter(4, corner_hz, "low", fs=rate_hz, output="sos"), samples)


def room(rng: np.random.Generator, samples: np.ndarray, rate_hz: int, rt60_s: float, ratio_db: float) -> np.ndarray:
    """Reverberation: a decaying noise tail whose energy is ``ratio_db`` below the direct sound's."""
    from scipy.signal import fftconvolve

    count = int(rt60_s * rate_hz)
    t = np.arange(count) / rate_hz
    tail = rng.standard_normal(count) * 10 ** (-3 * t / rt60_s) * (t > 0.004)
    tail *= 10 ** (-ratio_db / 20) / np.sqrt(np.sum(tail**2))
    tail[0] = 1.0
    return fftconvolve(samples, tail)[: len(samples)]


def metal_knock(rng: np.random.Generator, rate_hz: int) -> np.ndarray:
    """A spanner on metal: five to twelve unrelated modes from 350 to 6000 Hz."""
    count = int(rng.integers(5, 13))
    parts = [
        rng.uniform(0.2, 1.0) * damped(rate_hz, 0.8, hertz, 10 ** rng.uniform(-2.2, -0.7), rng.uniform(0, 6.28))
        for hertz in np.exp(rng.uniform(np.log(350), np.log(min(6000, 0.4 * rate_hz)), count))
    ]
    return np.sum(parts, axis=0) / 2


def dull_knock(rng: np.random.Generator, rate_hz: int) -> np.ndarray:
    """A knock on sheet or cover: low, badly ringing, unrelated modes and a burst of noise."""
    parts = []
    for hertz in np.exp(rng.uniform(np.log(50), np.log(900), int(rng.integers(3, 7)))):
        quality = rng.uniform(1.5, 7.0)
        parts.append(rng.uniform(0.2, 1) * damped(rate_hz, 0.5, hertz, quality / np.pi / hertz, rng.uniform(0, 6.28)))
    sound = np.sum(parts, axis=0) / 2
    t = np.arange(len(sound)) / rate_hz
    return sound + rng.uniform(0.1, 0.6) * rng.standard_normal(len(sound)) * np.exp(-t / rng.uniform(0.002, 0.01))


def clap(rng: np.random.Generator, rate_hz: int) -> np.ndarray:
    """A clap or a dropped rag: shaped noise that dies within some 5 to 30 ms."""
    t = np.arange(int(0.4 * rate_hz)) / rate_hz
    return coloured(rng, len(t), rate_hz, rng.uniform(-0.5, 1.0)) * np.exp(-t / rng.uniform(0.004, 0.025))


def speech(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Speech-like sound of unit peak: syllables of a gliding voice through formants, and hisses between them."""
    out = np.zeros(count)
    place = int(rng.uniform(0, 0.2) * rate_hz)
    voice = rng.uniform(85, 220)
    while place < count:
        length = min(int(rng.uniform(0.09, 0.35) * rate_hz), count - place)
        t = np.arange(length) / rate_hz
        pitch = voice * (1 + rng.uniform(-0.15, 0.15) + rng.uniform(-0.5, 0.3) * t + 0.01 * np.sin(2 * np.pi * 5 * t))
        phase = 2 * np.pi * np.cumsum(pitch) / rate_hz
        formants = rng.uniform([250, 800, 2200], [850, 2100, 3000])
        syllable = np.zeros(length)
        for n in range(1, int(0.45 * rate_hz / voice) + 1):
            if n * voice > 3800:
                break
            gain = sum(np.exp(-(((n * voice - f) / 180) ** 2)) for f in formants) + 0.05
            syllable += gain / n**0.5 * np.sin(n * phase + rng.uniform(0, 6.28))
        rise = rng.uniform(0.012, 0.05)
        envelope = np.minimum(1, t / rise) * np.minimum(1, (t[-1] - t) / 0.05 if length > 1 else 1)
        out[place : place + length] += rng.uniform(0.3, 1) * syllable * envelope
        if rng.random() < 0.4:
            hiss = int(min(rng.uniform(0.04, 0.12) * rate_hz, count - place))
            out[place : place + hiss] += (
                0.4 * coloured(rng, max(hiss, 2), rate_hz, -1.5)[:hiss] * np.hanning(max(hiss, 2))[:hiss]
            )
        place += length + int(rng.uniform(0.02, 0.35) * rate_hz)
    return out / (np.abs(out).max() + 1e-12)


def hum(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Mains hum with harmonics, of unit RMS."""
    mains = rng.choice([50.0, 60.0]) * (1 + rng.uniform(-0.001, 0.001))
    t = np.arange(count) / rate_hz
    parts = [
        rng.uniform(0.1, 1) / n**0.7 * np.sin(2 * np.pi * n * mains * t + rng.uniform(0, 6.28)) for n in range(1, 13)
    ]
    sound = np.sum(parts, axis=0)
    return sound / sound.std()
