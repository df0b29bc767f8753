"""Draws whole workshop recordings, with plucks or without, from the physical generator."""

from __future__ import annotations

import numpy as np
from tests.pluck.generator import (
    Recording,
    SpanTruth,
    clap,
    coloured,
    damped,
    dull_knock,
    high_pass,
    hum,
    low_pass,
    metal_knock,
    ring,
    room,
    speech,
)

Traits = dict[str, float | str | bool]


def draw_span(rng: np.random.Generator) -> SpanTruth:
    """A span of 30 to 500 Hz that rings 15 to 200 ms, at least two and a half turns a decay time."""
    while True:
        hertz, tau = np.exp(rng.uniform(np.log([30, 0.015]), np.log([500, 0.2])))
        if np.pi * hertz * tau >= 8:
            break
    stiffness = float(np.exp(rng.uniform(np.log(1e-5), np.log(2e-2))))
    return SpanTruth(float(hertz), stiffness, float(tau), float(rng.uniform(0.1, 0.8)))


def add(out: np.ndarray, part: np.ndarray, at_s: float, rate_hz: int) -> None:
    """Add a sound at a time, cut at the end of the recording."""
    start = int(at_s * rate_hz)
    room_left = len(out) - start
    out[start : start + len(part)] += part[:room_left]


def plucks(rng: np.random.Generator, span: SpanTruth, rate_hz: int, count: int, traits: Traits) -> np.ndarray:
    """Plucks of the span with the finger's noise, the twist mode and a neighbour where the traits say so."""
    strength = 10 ** (rng.uniform(-8, 0, count) / 20)
    seconds = min(0.9, 8 * span.tau_s + 0.05)
    at = float(traits["at"]) * rng.uniform(0.8, 1.2, count)
    sound = ring(span, rate_hz, seconds, at=at, glide=float(traits["glide"]) * strength**2, strength=strength)
    t = np.arange(sound.shape[1]) / rate_hz
    for row in range(count):
        for other, rings in (("twist", 0.7), ("neighbour", 1.0)):
            if traits[other]:
                tone = damped(
                    rate_hz, seconds, span.f1_hz * float(traits[other]), span.tau_s * rings, rng.uniform(0, 6)
                )
                sound[row] += strength[row] * float(traits[f"{other}_level"]) * tone[: len(t)]
        noise = rng.standard_normal(len(t)) * np.exp(-t / rng.uniform(0.001, 0.004))
        sound[row] += float(traits["finger"]) * strength[row] * noise
    return sound


def draw_traits(rng: np.random.Generator) -> Traits:
    """What the workshop, the hand and the telephone do to a recording."""
    chance = rng.random
    return {
        "at": float(rng.uniform(0.12, 0.5)),
        "glide": float(rng.uniform(0, 0.02)) if chance() < 0.6 else 0.0,
        "twist": float(rng.uniform(1.04, 1.35)) if chance() < 0.3 else 0.0,
        "twist_level": float(10 ** (rng.uniform(-20, -8) / 20)),
        "neighbour": float(np.exp(rng.uniform(-0.8, 0.8))) if chance() < 0.25 else 0.0,
        "neighbour_level": float(10 ** (rng.uniform(-26, -12) / 20)),
        "finger": float(10 ** (rng.uniform(-30, -6) / 20)),
        "high_pass_hz": float(rng.choice([20.0, 60.0, 100.0, 150.0])),
        "rt60_s": float(rng.uniform(0.2, 1.2)) if chance() < 0.5 else 0.0,
        "ratio_db": float(rng.uniform(0, 12)),
        "noise_db": float(rng.uniform(-45, -14)),
        "noise_slope": float(rng.uniform(0, 1.5)),
        "hum_db": float(rng.uniform(-40, -10)) if chance() < 0.5 else -200.0,
        "speech_db": float(rng.uniform(-30, -8)) if chance() < 0.25 else -200.0,
        "knocks": int(rng.integers(1, 5)) if chance() < 0.3 else 0,
        "air_db": float(rng.uniform(-35, -16)) if chance() < 0.15 else -200.0,
        "clip": bool(chance() < 0.1),
        "gate": bool(chance() < 0.1),
        "agc": bool(chance() < 0.1),
        "rate_hz": int(rng.choice([8000, 16000, 44100, 48000])),
    }


def surroundings(rng: np.random.Generator, count: int, rate_hz: int, traits: Traits) -> np.ndarray:
    """Noise, hum, voices, air tool and knocks of a workshop, relative to a pluck of unit strength."""
    out = 10 ** (float(traits["noise_db"]) / 20) * coloured(rng, count, rate_hz, float(traits["noise_slope"]))
    out += 10 ** (float(traits["hum_db"]) / 20) * hum(rng, count, rate_hz)
    if float(traits["speech_db"]) > -100:
        out += 10 ** (float(traits["speech_db"]) / 20) * speech(rng, count, rate_hz)
    if float(traits["air_db"]) > -100:
        beat = 1 + 0.6 * np.sin(2 * np.pi * rng.uniform(8, 30) * np.arange(count) / rate_hz)
        out += 10 ** (float(traits["air_db"]) / 20) * beat * coloured(rng, count, rate_hz, -0.5)
    for _ in range(int(traits["knocks"])):
        kind = metal_knock if rng.random() < 0.6 else dull_knock
        add(out, rng.uniform(0.1, 1.0) * kind(rng, rate_hz), rng.uniform(0, count / rate_hz - 0.05), rate_hz)
    return out


def telephone(rng: np.random.Generator, sound: np.ndarray, rate_hz: int, traits: Traits) -> np.ndarray:
    """Microphone path, automatic gain, clipping, noise gate and 16 bits."""
    sound = high_pass(sound, rate_hz, float(traits["high_pass_hz"]))
    sound = low_pass(sound, rate_hz, 0.42 * rate_hz)
    if traits["agc"]:
        level = np.sqrt(np.convolve(sound**2, np.ones(rate_hz // 5) / (rate_hz // 5), "same")) + 1e-3
        sound = sound / level**0.5
    sound = sound / np.abs(sound).max() * (rng.uniform(1.5, 3.0) if traits["clip"] else rng.uniform(0.1, 0.9))
    if traits["gate"]:
        level = np.sqrt(np.convolve(sound**2, np.ones(rate_hz // 50) / (rate_hz // 50), "same"))
        gain = np.convolve(level > 0.03 * level.max(), np.ones(rate_hz // 100) / (rate_hz // 100), "same")
        sound = sound * gain
    return np.round(np.clip(sound, -1, 1) * 32767) / 32767


def workshop(seed: int, *, plucked: bool = True) -> Recording:
    """One recording: plucks of one span, or everything but plucks."""
    rng = np.random.default_rng(seed)
    traits, span = draw_traits(rng), draw_span(rng)
    rate_hz = int(traits["rate_hz"])
    if not plucked:
        return without_pluck(rng, rate_hz, traits)
    times, place = [], rng.uniform(0.15, 0.6)
    for _ in range(int(rng.integers(1, 11)) if rng.random() < 0.8 else 1):
        times.append(float(place))
        place += rng.uniform(0.3, 0.9) + 3 * span.tau_s
    count = int((place + 0.3) * rate_hz)
    sound = np.zeros(count)
    for time, part in zip(times, plucks(rng, span, rate_hz, len(times), traits), strict=True):
        add(sound, part, time, rate_hz)
    traits |= {"tau_s": span.tau_s, "inharmonicity": span.inharmonicity}
    sound += surroundings(rng, count, rate_hz, traits)
    if traits["rt60_s"]:
        sound = room(rng, sound, rate_hz, float(traits["rt60_s"]), float(traits["ratio_db"]))
    return Recording(telephone(rng, sound, rate_hz, traits), rate_hz, span.f1_hz, tuple(times), traits)


def without_pluck(rng: np.random.Generator, rate_hz: int, traits: Traits) -> Recording:
    """Knocks, claps, voices, hum or nearly nothing."""
    count = int(rng.uniform(1.0, 5.0) * rate_hz)
    kind = str(rng.choice(["metal", "dull", "clap", "mixed", "speech", "noise"]))
    traits |= {"kind": kind, "knocks": 0}
    if kind == "speech":
        traits["speech_db"] = 0.0
    out = surroundings(rng, count, rate_hz, traits)
    makers = {"metal": [metal_knock], "dull": [dull_knock], "clap": [clap], "mixed": [metal_knock, dull_knock, clap]}
    for maker_list in [makers.get(kind, [])]:
        for _ in range(int(rng.integers(1, 7)) if maker_list else 0):
            maker = maker_list[int(rng.integers(len(maker_list)))]
            add(out, rng.uniform(0.3, 1.0) * maker(rng, rate_hz), rng.uniform(0.1, count / rate_hz - 0.1), rate_hz)
    if traits["rt60_s"]:
        out = room(rng, out, rate_hz, float(traits["rt60_s"]), float(traits["ratio_db"]))
    return Recording(telephone(rng, out, rate_hz, traits), rate_hz, None, (), traits)
