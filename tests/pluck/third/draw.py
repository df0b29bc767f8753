"""Draws whole recordings of the third generator: plucked ones and others."""

from __future__ import annotations

import numpy as np
from tests.pluck.generator import Recording
from tests.pluck.second.phones import draw_format, written_and_read
from tests.pluck.third.knocks import STRUCK, blows, claps, dropped, slam
from tests.pluck.third.noises import LASTING, STEADY, room_tone
from tests.pluck.third.places import (
    automatic_gain,
    clipped,
    draw_room,
    loudest,
    microphone,
    noise_suppressed,
    within,
)
from tests.pluck.third.plucks import RATE_HZ, Plucked, plucked

PLUCKED = {
    "quiet": 30, "busy": 36, "hard": 14, "weak first": 6, "damped": 4, "close": 4, "tapped": 3, "gated": 3,
}  # fmt: skip
OTHERS = {
    "metal": 5, "sheet": 5, "bonnet": 5, "wood": 5, "plastic": 5, "drum": 5, "step": 5, "claps": 5, "ratchet": 5,
    "air tool": 5, "compressor": 5, "engine": 5, "speech": 10, "beeps": 5, "dropped": 5, "slam": 5, "handling": 5,
    "hum": 5, "silence": 5,
}  # fmt: skip
"""How often each class is drawn, in parts of their sum."""
BELOW_DB = {"quiet": (30, 46), "busy": (13, 28), "hard": (2, 14)}  # other sounds under the strongest pluck
MISHAPS = {"quiet": 0.08, "busy": 0.12, "hard": 0.3}  # chance of each of gain, suppression and clipping
DIPOLE = 0.58  # amplitude a dipole sends to the walls over that of a source alike all round [-]


def drawn(seed: int, *, plucked: bool, kind: str | None = None) -> Recording:
    """One recording with plucks or without; its class is the trait ``kind``, its file format ``format``.

    The class is drawn too where none is named.
    """
    rng, weights = np.random.default_rng([73, int(plucked), seed]), PLUCKED if plucked else OTHERS
    share = np.array(list(weights.values()))
    any_kind = str(rng.choice(list(weights), p=share / share.sum()))
    kind = kind or any_kind
    sound, made = plucked_sound(rng, kind) if plucked else other_sound(rng, kind)
    ending, rate_hz, bit_rate = draw_format(rng)
    samples, rate_hz = written_and_read(sound, ending, rate_hz, bit_rate)
    return Recording(samples, rate_hz, made.f1_hz, made.times_s, made.traits | {"format": ending})


def plucked_sound(rng: np.random.Generator, kind: str) -> tuple[np.ndarray, Recording]:
    """Sound at ``RATE_HZ`` before the file, and a recording without samples that holds its truth."""
    around = kind if kind in BELOW_DB else str(rng.choice(["quiet", "busy"]))
    marks = {kind} - set(BELOW_DB)
    marks |= {mark for mark, chance in (("damped", 0.07), ("close", 0.07), ("tapped", 0.04)) if rng.random() < chance}
    source = plucked(rng, marks)
    answer, critical_m = draw_room(rng)
    corner_hz, order = corner(rng, source, marks)
    path = int(rng.integers(1 << 30))
    sound = source.sound + within(source.far, answer, DIPOLE * source.distance_m / critical_m)
    sound = microphone(np.random.default_rng(path), sound, corner_hz, order)
    length = int(0.06 * RATE_HZ)
    after = [int((time + 0.002) * RATE_HZ) for time in source.times_s]
    loud = max(np.sqrt(np.mean(sound[first : first + length] ** 2)) for first in after)
    noise = microphone(
        np.random.default_rng(path), beside(rng, around, len(sound), answer, marks), corner_hz, min(order, 2)
    )
    sound = finished(rng, sound / loud + noise, around, marks)
    traits = told(kind, around, marks) | {"tau_s": source.tau_s, "distance_m": source.distance_m}
    return sound, Recording(np.zeros(0), RATE_HZ, source.f1_hz, source.times_s, traits)


def other_sound(rng: np.random.Generator, kind: str) -> tuple[np.ndarray, Recording]:
    """Sound at ``RATE_HZ`` before the file, and a recording without samples that holds its class."""
    around, count = str(rng.choice(["quiet", "busy"], p=[0.6, 0.4])), int(rng.uniform(1.5, 5) * RATE_HZ)
    marks: set[str] = set()
    answer, critical_m = draw_room(rng)
    sound = beside(rng, around, count, answer, marks)
    if kind != "silence":
        own = unplucked(rng, kind, count)
        far_m = np.exp(rng.uniform(np.log(0.1), np.log(3.0)))
        own = own + within(own, answer, float(0.5 * far_m / critical_m))
        sound = sound + own / loudest(own)
    sound = microphone(rng, sound, rng.uniform(40, 140), int(rng.choice([1, 2, 2, 4])))
    sound = finished(rng, sound, around, marks)
    if kind == "silence":
        sound = sound * 10 ** (-rng.uniform(20, 60) / 20)
    return sound, Recording(np.zeros(0), RATE_HZ, None, (), told(kind, around, marks))


def told(kind: str, around: str, marks: set[str]) -> dict[str, float | str | bool]:
    """Traits of a recording: its class, its surroundings, what is special."""
    return {"kind": kind, "around": around} | dict.fromkeys(sorted(marks), True)


def unplucked(rng: np.random.Generator, kind: str, count: int) -> np.ndarray:
    """What sounds in a recording without plucks, shape (count,)."""
    if kind in STRUCK:
        return blows(rng, count, kind)
    return (LASTING | {"claps": claps, "dropped": dropped, "slam": slam})[kind](rng, count)


def corner(rng: np.random.Generator, source: Plucked, marks: set[str]) -> tuple[float, int]:
    """The microphone's high-pass [Hz] and its order; a weak first partial is put 20 dB under the second by it."""
    if "weak first" not in marks:
        return float(rng.uniform(35, 130)), int(rng.choice([1, 2, 2, 2, 3]))
    first = int(source.times_s[0] * RATE_HZ)
    part = source.sound[first : first + int(5 * source.tau_s * RATE_HZ)]
    levels = np.abs(np.fft.rfft(part * np.hanning(2 * len(part))[len(part) :], RATE_HZ))  # a bin a hertz
    one, two = (levels[int((k - 0.2) * source.f1_hz) : int((k + 0.2) * source.f1_hz)].max() for k in (1, 2))
    corners = np.linspace(0.8, 2.6, 50)
    falls = 10 * np.log10((1 + (corners / 2) ** 8) / (1 + corners**8))
    wanted = rng.normal(-20, 3) - 20 * np.log10(one / two)
    return float(source.f1_hz * corners[np.argmin(np.abs(falls - wanted))]), 4


def beside(rng: np.random.Generator, around: str, count: int, answer: np.ndarray, marks: set[str]) -> np.ndarray:
    """What else sounds, over a strongest pluck of unit RMS, shape (count,); ``marks`` grows by it."""
    low, high = BELOW_DB[around]
    more = {"quiet": int(rng.random() < 0.5), "busy": int(rng.choice([1, 1, 2])), "hard": 2}[around]
    total, echoing = room_tone(rng, count) * 10 ** (-rng.uniform(max(low, 18), 46) / 20), np.zeros(count)
    for name in rng.choice(list(LASTING), more, replace=False).tolist():
        part = LASTING[name](rng, count)
        part = part / (part.std() if name in STEADY else loudest(part)) * 10 ** (-rng.uniform(low, high) / 20)
        marks.add(name)
        if name in STEADY or name == "handling":
            total += part
        else:
            echoing += part
    if echoing.any():
        total += 0.6 * (echoing + within(echoing, answer, rng.uniform(0.3, 2)))
    return total


def finished(rng: np.random.Generator, sound: np.ndarray, around: str, marks: set[str]) -> np.ndarray:
    """What the telephone makes of it: gain, suppression, clipping, peak; ``marks`` grows by it."""
    chance = MISHAPS[around]
    if rng.random() < chance + 0.1:
        marks.add("gain")
        sound = automatic_gain(rng, sound)
    if "gated" in marks or rng.random() < chance:
        marks.add("gated")
        sound = noise_suppressed(rng, sound)
    assert np.isfinite(sound).all()
    if rng.random() < chance:
        marks.add("clipped")
        return clipped(rng, sound)
    return np.asarray(sound / np.abs(sound).max() * 10 ** (-rng.uniform(0.5, 26) / 20))
