"""Draws whole recordings of the second generator: 18 classes of plucked ones, 18 of others."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace

import numpy as np
from tests.pluck.generator import Recording
from tests.pluck.second.knocks import KNOCKED, claps, knocks, same_again
from tests.pluck.second.noises import LASTING, hum, pink
from tests.pluck.second.phones import automatic_gain, draw_format, microphone, suppressed, written_and_read
from tests.pluck.second.rooms import engine_bay, image_room, within
from tests.pluck.second.spans import RATE_HZ, Plucking, plucked_track
from tests.pluck.second.voices import speech

PLUCKED = {
    "quiet": 24, "room": 20, "bay": 14, "hum": 16, "speech": 20, "knocks": 20, "compressor": 12, "fan": 12,
    "ratchet": 10, "agc": 10, "gate": 12, "clip": 12, "hard pluck": 12, "weak first": 14, "neighbour": 12,
    "noisy": 14, "brief": 12, "twist": 8,
}  # fmt: skip
OTHERS = {
    "metal": 12, "sheet": 8, "plastic": 10, "thump": 6, "spanner": 4, "clap": 8, "speech": 16, "silence": 6,
    "engine": 8, "ratchet": 6, "hum": 6, "compressor": 4, "fan": 4, "cranking": 4, "beeps": 4, "wind": 3, "buzz": 3,
    "mixed": 8,
}  # fmt: skip
"""How often each class is drawn, in parts of their sum."""

BESIDE = ("hum", "compressor", "fan", "ratchet", "speech")
NOISES = LASTING | {"speech": speech}
MEASURED_S = 0.06  # after each pluck, whose median level is what noise is measured against


@dataclass(frozen=True)
class Setting:
    """Where and with what a recording is made.

    Corner of the microphone path [Hz] and its order; level of the plucks over the noise [dB]; in a room, in an engine
    bay; automatic gain; noise suppression, none where empty; peak over full scale where clipped, else 0; energy that
    the room's walls absorb, drawn later where negative, and how much stronger than usual its reflections are [-].
    """

    corner_hz: float
    order: int
    snr_db: float
    in_room: bool
    in_bay: bool
    agc: bool
    gate: str = ""
    clip: float = 0.0
    absorbed: float = -1.0
    wet: float = 1.0


def drawn(seed: int, *, plucked: bool, kind: str | None = None) -> Recording:
    """One recording with plucks or without; its class is the trait ``kind``, its file format ``format``.

    The class is drawn too where none is named.
    """
    rng, weights = np.random.default_rng([61, int(plucked), seed]), PLUCKED if plucked else OTHERS
    share = np.array(list(weights.values()))
    any_kind = str(rng.choice(list(weights), p=share / share.sum()))
    kind = kind or any_kind
    sound, made = plucked_sound(rng, kind) if plucked else other_sound(rng, kind)
    ending, rate_hz, bit_rate = draw_format(rng)
    if not sound.any():
        ending, rate_hz, bit_rate = "wav", 44100, None
    samples, rate_hz = written_and_read(sound, ending, rate_hz, bit_rate)
    return Recording(samples, rate_hz, made.f1_hz, made.times_s, made.traits | {"format": ending})


def draw_plucking(rng: np.random.Generator, kind: str) -> Plucking:
    """Span and hand, before what the class alters."""
    lowest, highest = (30, 500) if rng.random() < 0.4 else (60, 260)
    f1 = float(np.exp(rng.uniform(np.log(lowest), np.log(highest))))
    quality = np.exp(rng.uniform(np.log(7), np.log(45)))
    if kind == "brief":
        quality = rng.uniform(3.5, 7)
    plucks = int(rng.choice([1, 2, 3, 4, 5, 6, 8, 10], p=[0.14, 0.1, 0.16, 0.16, 0.24, 0.1, 0.06, 0.04]))
    how = Plucking(
        f1_hz=f1,
        tau_s=float(np.clip(quality / np.pi / f1, 0.015, 0.2)),
        plucks=max(plucks, 2) if kind == "speech" else plucks,
        glide=float(rng.uniform(0, 0.008)),
        screwdriver=bool(rng.choice([False, False, True])),
        off_middle=bool(rng.random() < 0.2),
        twist_ratio=float(rng.uniform(1.04, 1.3)),
        twist_db=float(rng.uniform(-36, -18)),
        twist_tau=float(rng.uniform(0.4, 1)),
        edge_ratio=float(rng.uniform(1.7, 5)),
        neighbour_db=float(rng.uniform(-42, -20)),
        neighbour_tau=float(rng.uniform(0.5, 1.3)),
        neighbour_ratio=float(np.exp(rng.uniform(np.log(0.55), np.log(2.2)))),
    )
    return replace(how, neighbour_ratio=1.17) if abs(np.log(how.neighbour_ratio)) < 0.08 else how


def draw_setting(rng: np.random.Generator) -> Setting:
    """Surroundings and telephone, before what the class alters."""
    return Setting(
        corner_hz=float(rng.uniform(60, 150)),
        order=int(rng.choice([1, 2])),
        snr_db=float(rng.uniform(12, 30)),
        in_room=bool(rng.random() < 0.55),
        in_bay=bool(rng.random() < 0.5),
        agc=bool(rng.random() < 0.15),
    )


def altered(rng: np.random.Generator, kind: str, how: Plucking, where: Setting) -> tuple[Plucking, Setting]:
    """What a class of plucked recordings changes."""
    uniform = rng.uniform
    if kind == "quiet":
        where = replace(where, snr_db=float(uniform(25, 38)), agc=False)
    elif kind == "room":
        where = replace(where, in_room=True, absorbed=float(uniform(0.04, 0.12)), wet=float(uniform(1, 2)))
    elif kind == "bay":
        where = replace(where, in_bay=True)
    elif kind == "agc":
        where = replace(where, agc=True)
    elif kind == "gate":
        where = replace(where, gate=str(rng.choice(["soft", "hard"])))
    elif kind == "clip":
        where = replace(where, clip=float(uniform(1.5, 5)))
    elif kind == "noisy":
        where = replace(where, snr_db=float(uniform(4, 11)))
    elif kind == "hard pluck":
        how = replace(how, glide=float(uniform(0.015, 0.05)))
    elif kind == "neighbour":
        how = replace(how, neighbour_db=float(uniform(-16, -8)))
    elif kind == "twist":
        how = replace(how, twist_db=float(uniform(-16, -9)), twist_ratio=float(uniform(1.03, 1.12)))
    elif kind == "weak first":
        f1 = float(uniform(38, 95))
        tau_s = float(np.clip(uniform(8, 25) / np.pi / f1, 0.03, 0.2))
        where = replace(where, corner_hz=float(uniform(150, 220)), order=3)
        how = replace(how, f1_hz=f1, tau_s=tau_s, off_middle=bool(rng.random() < 0.7))
    return how, where


def plucked_sound(rng: np.random.Generator, kind: str) -> tuple[np.ndarray, Recording]:
    """Sound at ``RATE_HZ`` before the file, and a recording without samples that holds its truth."""
    how, where = altered(rng, kind, draw_plucking(rng, kind), draw_setting(rng))
    sound, times, span = plucked_track(rng, how)
    if where.in_bay:
        sound = within(sound, engine_bay(rng))
    room = image_room(rng, span.distance_m, where.absorbed if where.absorbed >= 0 else None)
    if where.in_room:
        sound = within(sound, room, where.wet)
    path = int(rng.integers(1 << 30))
    sound = microphone(np.random.default_rng(path), sound, where.corner_hz, where.order)
    length = int(MEASURED_S * RATE_HZ)
    starts = [int(time * RATE_HZ) for time in times]
    loud = np.median([np.sqrt(np.mean(sound[start : start + length] ** 2)) for start in starts])
    noise = beside(rng, kind, len(sound), times, where.snr_db)
    if kind in ("speech", "knocks"):
        noise = within(noise, room, 0.15)
    noise = microphone(np.random.default_rng(path), noise, where.corner_hz, min(where.order, 2))
    traits = {"kind": kind} | asdict(how) | asdict(where) | {"inharmonicity": span.inharmonicity}
    made = Recording(np.zeros(0), RATE_HZ, how.f1_hz, times, traits)
    return finished(rng, sound / loud + noise, where), made


def beside(rng: np.random.Generator, kind: str, count: int, times: tuple[float, ...], snr_db: float) -> np.ndarray:
    """Background noise and what the class adds to it, over plucks of unit RMS, shape (count,)."""
    ground, more = pink(rng, count, rng.uniform(0.6, 1.4)), np.zeros(count)
    if kind in BESIDE:
        down_db = rng.uniform(0, 18) if kind in ("speech", "hum") else rng.uniform(6, 20)
        more, snr_db = NOISES[kind](rng, count) * 10 ** (-down_db / 20), max(snr_db, 18)
    elif kind == "knocks":
        more = knocks(rng, count, KNOCKED, int(rng.integers(2, 7)), times, rng.uniform(0.06, 0.25))
        more = more * 10 ** (rng.uniform(-3, 12) / 20)
    elif rng.random() < 0.15:
        more = hum(rng, count) * 10 ** (-rng.uniform(10, 25) / 20)
    return np.asarray(ground * 10 ** (-snr_db / 20) + more)


def other_sound(rng: np.random.Generator, kind: str) -> tuple[np.ndarray, Recording]:
    """Sound at ``RATE_HZ`` before the file, and a recording without samples that holds its class."""
    count, snr_db = int(rng.uniform(2.2, 5) * RATE_HZ), rng.uniform(10, 35)
    agc, gate = bool(rng.random() < 0.2), str(rng.choice(["", "", "", "soft", "hard"]))
    made = Recording(np.zeros(0), RATE_HZ, None, (), {"kind": kind, "agc": agc, "gate": gate})
    sound = np.zeros(count)
    if kind == "silence":
        if rng.random() < 0.3:
            return sound, made
        snr_db, agc = 0.0, False
    else:
        sound = unplucked(rng, kind, count)
    if kind in ("hum", "silence") or rng.random() < 0.3:
        sound = sound + knocks(rng, count, ("metal",), 1) * rng.choice([0, 1])
    if rng.random() < 0.6:
        sound = within(sound, image_room(rng, rng.uniform(0.3, 2)), 0.5)
    sound = sound + pink(rng, count, rng.uniform(0.6, 1.4)) * 10 ** (-snr_db / 20)
    sound = microphone(rng, sound, rng.uniform(60, 180), int(rng.choice([1, 2])))
    return finished(rng, sound, Setting(0.0, 1, snr_db, False, False, agc, gate)), made


def unplucked(rng: np.random.Generator, kind: str, count: int) -> np.ndarray:
    """What sounds in a recording without plucks, shape (count,)."""
    if kind in KNOCKED:
        sound = knocks(rng, count, (kind,), int(rng.integers(1, 7)))
        sound = same_again(rng, count, kind) if rng.random() < 0.35 else sound
        return np.asarray(sound * 3 / np.max(np.abs(sound)))
    if kind == "clap":
        return 3 * claps(rng, count, int(rng.integers(1, 8)))
    if kind == "mixed":
        sound = 3 * knocks(rng, count, KNOCKED, 4) + speech(rng, count) * 10 ** (-rng.uniform(0, 10) / 20)
        return np.asarray(sound + 0.2 * rng.choice([0, 1]) * hum(rng, count))
    return NOISES[kind](rng, count)


def finished(rng: np.random.Generator, sound: np.ndarray, where: Setting) -> np.ndarray:
    """Automatic gain, noise suppression and the peak that a telephone's file has."""
    if where.agc:
        sound = automatic_gain(rng, sound / (np.max(np.abs(sound)) + 1e-12))
    if where.gate:
        sound = suppressed(rng, sound, where.gate == "hard")
    assert np.isfinite(sound).all()
    peak = where.clip or float(rng.uniform(0.05, 0.8))
    return np.asarray(sound / (np.max(np.abs(sound)) + 1e-12) * peak)
