"""Draws workshop sounds that are no plucks: knocks on one part again and again, ratchets, engines, voices, beeps."""

from __future__ import annotations

import numpy as np
from tests.pluck.generator import Recording, coloured, damped, low_pass, metal_knock, room, speech
from tests.pluck.workshop import add, draw_span, draw_traits, surroundings, telephone, workshop

KINDS = (
    "same part", "ratchet", "engine", "compressor", "bouncing", "whistle", "beeps", "door", "sung", "footsteps",
    "plastic", "sheet", "buzz",
)  # fmt: skip


def other_sound(seed: int, kind: str | None = None) -> Recording:
    """One recording without a pluck; the kind goes round with the seed where none is named."""
    rng = np.random.default_rng([29, seed])
    traits = draw_traits(rng) | {"kind": kind or KINDS[seed % len(KINDS)], "knocks": 0, "speech_db": -200.0}
    rate_hz = int(traits["rate_hz"])
    count = int(rng.uniform(1.5, 5.0) * rate_hz)
    out = surroundings(rng, count, rate_hz, traits)
    out += MAKERS[str(traits["kind"])](rng, count, rate_hz)
    if traits["rt60_s"]:
        out = room(rng, out, rate_hz, float(traits["rt60_s"]), float(traits["ratio_db"]))
    return Recording(telephone(rng, out, rate_hz, traits), rate_hz, None, (), traits)


BESIDE = ("speech", "ratchet", "sung", "same part", "plastic", "engine")


def pluck_beside(seed: int) -> Recording:
    """Plucks of one span while something loud goes on beside: a voice, a ratchet, knocks, an engine next door."""
    rng = np.random.default_rng([31, seed])
    made = workshop(5_000_000 + seed)
    kind = BESIDE[seed % len(BESIDE)]
    count, level = len(made.samples), 10 ** (rng.uniform(-16, 0) / 20)
    maker = speech if kind == "speech" else MAKERS[kind]
    noise = maker(rng, max(count, int(0.3 * made.rate_hz)), made.rate_hz)[:count]
    out = made.samples / np.abs(made.samples).max() + level * noise / np.abs(noise).max()
    samples = np.round(0.5 * out / np.abs(out).max() * 32767) / 32767
    return Recording(
        samples, made.rate_hz, made.f1_hz, made.times_s, made.traits | {"beside": kind, "beside_db": level}
    )


def long_ring(seed: int) -> Recording:
    """Plucks of a wire or a string that rings long, 0.2 to 2 s, with up to fourteen partials, one to four times."""
    rng = np.random.default_rng([37, seed])
    traits = draw_traits(rng) | {"knocks": int(rng.integers(0, 2)), "agc": False}
    rate_hz, hertz, tau_s = int(traits["rate_hz"]), np.exp(rng.uniform(np.log(38), np.log(400))), rng.uniform(0.2, 2.0)
    stiffness, n = np.exp(rng.uniform(np.log(1e-5), np.log(1e-3))), np.arange(1.0, rng.integers(5, 15))
    partials = hertz * n * np.sqrt((1 + stiffness * n**2) / (1 + stiffness))
    size = (
        np.abs(np.sin(n * np.pi * rng.uniform(0.1, 0.5)))
        / n ** rng.uniform(0.3, 1.2)
        * np.exp(rng.normal(0, 0.4, len(n)))
    )
    decay_s = tau_s / (1 + rng.uniform(0.1, 0.6) * (n - 1)) * np.exp(rng.normal(0, 0.25, len(n)))
    times = rng.uniform(0.05, 0.5) + np.cumsum(np.append(0.0, rng.uniform(0.6, 1.5, int(rng.integers(0, 4)))))
    count = int((times[-1] + rng.uniform(0.8, 2.0)) * rate_hz)
    kept = partials < 0.42 * rate_hz
    out = 0.3 * surroundings(rng, count, rate_hz, traits)
    for time in times:
        part = struck_once(rng, partials[kept], decay_s[kept], size[kept], rate_hz)
        add(out, rng.uniform(0.4, 1) * part, float(time), rate_hz)
    return Recording(telephone(rng, out, rate_hz, traits), rate_hz, float(hertz), tuple(times), traits)


def lone_tone(seed: int) -> Recording:
    """One damped tone of a span's first partial, 30 to 500 Hz, 0 to 24 dB over white noise, and nothing else."""
    rng = np.random.default_rng([91, seed])
    span, rate_hz = draw_span(rng), int(rng.choice([8000, 16000]))
    before_s, db = rng.uniform(0.1, 0.5), rng.uniform(0, 24)
    noise = 10 ** (-db / 20) / np.sqrt(2)
    out = noise * rng.standard_normal(int((before_s + rng.uniform(0.7, 1.5)) * rate_hz))
    add(out, damped(rate_hz, 1.5, span.f1_hz, span.tau_s, rng.uniform(0, 6.28)), before_s, rate_hz)
    traits = {"kind": "lone tone", "snr_db": float(db), "tau_s": span.tau_s}
    return Recording(out / (3 + 3 * noise), rate_hz, span.f1_hz, (float(before_s),), traits)


def struck_once(rng: np.random.Generator, hertz: np.ndarray, tau_s: np.ndarray, size: np.ndarray, rate_hz: int):
    """Damped tones that swell within some milliseconds, as a real string's sound does, and the finger's noise."""
    rows = zip(size, hertz, tau_s, strict=True)
    part = np.sum([a * damped(rate_hz, 2.5, f, tau, rng.uniform(0, 6.28)) for a, f, tau in rows], axis=0)
    t = np.arange(len(part)) / rate_hz
    noise = 10 ** rng.uniform(-1.5, -0.3) * rng.standard_normal(len(t)) * np.exp(-t / rng.uniform(0.001, 0.01))
    return (part + noise * np.abs(part).max()) * np.minimum(1, t / rng.uniform(0.0005, 0.02))


def repeated(rng: np.random.Generator, part: np.ndarray, times: np.ndarray, count: int, rate_hz: int) -> np.ndarray:
    """The same sound at several times with changing strength."""
    out = np.zeros(count)
    for time in times:
        if time < count / rate_hz - 0.02:
            add(out, rng.uniform(0.3, 1.0) * part, float(time), rate_hz)
    return out


def struck(rng: np.random.Generator, hertz: np.ndarray, tau_s: np.ndarray, times: np.ndarray, count: int, rate_hz: int):
    """The same modes at every blow, their strengths a little different each time, as the place of the blow changes."""
    out = np.zeros(count)
    base = rng.uniform(0.2, 1.0, len(hertz))
    for time in times:
        size = base * np.exp(rng.normal(0, 0.5, len(hertz))) * rng.uniform(0.3, 1.0)
        rows = zip(size, hertz, tau_s, strict=True)
        part = np.sum([a * damped(rate_hz, 0.6, f, tau, rng.uniform(0, 6.28)) for a, f, tau in rows], axis=0)
        if time < count / rate_hz - 0.02:
            add(out, part / 2, float(time), rate_hz)
    return out


def same_part(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Two to seven blows on one bracket, cover or bolt: unrelated modes, but the same ones every time."""
    modes = int(rng.integers(4, 12))
    hertz = np.exp(rng.uniform(np.log(rng.uniform(200, 500)), np.log(min(6000, 0.4 * rate_hz)), modes))
    tau_s = 10 ** rng.uniform(-2.4, -0.9, modes)
    times = np.sort(rng.uniform(0.1, count / rate_hz - 0.1, int(rng.integers(2, 8))))
    return struck(rng, hertz, tau_s, times, count, rate_hz)


def ratchet(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Clicks of a ratchet, ten to thirty a second in strokes, through the resonances of tool and bolt."""
    modes = int(rng.integers(3, 8))
    hertz = np.exp(rng.uniform(np.log(400), np.log(min(6000, 0.4 * rate_hz)), modes))
    tau_s = 10 ** rng.uniform(-2.7, -1.8, modes)
    times, now, apart = [], 0.1, rng.uniform(0.03, 0.1)
    while now < count / rate_hz:
        times.append(now)
        now += apart * rng.uniform(0.9, 1.1) + (rng.uniform(0.2, 0.6) if rng.random() < 0.12 else 0.0)
    return struck(rng, hertz, tau_s, np.array(times), count, rate_hz)


def engine(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """A four-cylinder engine idling next door: uneven firing pulses through low, badly ringing resonances."""
    fires = rng.uniform(20, 34)
    times = np.cumsum(rng.normal(1 / fires, 0.015 / fires, int(count / rate_hz * fires) + 2))
    hertz = np.exp(rng.uniform(np.log(60), np.log(700), 4))
    tau_s = rng.uniform(2, 8, 4) / np.pi / hertz
    out = struck(rng, hertz, tau_s, times[times < count / rate_hz], count, rate_hz)
    start = int(rng.uniform(0, 0.5) * count) if rng.random() < 0.4 else 0
    out[:start] = 0.0
    return 0.6 * out + 0.1 * coloured(rng, count, rate_hz, 1.0) * (np.arange(count) >= start)


def compressor(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """A compressor that starts with a clack, runs up within a second and thumps on."""
    t = np.arange(count) / rate_hz - rng.uniform(0.2, 0.6) * count / rate_hz
    speed = rng.uniform(18, 30) * (1 - np.exp(-np.maximum(t, 0) / rng.uniform(0.1, 0.5)))
    phase = 2 * np.pi * np.cumsum(speed) / rate_hz
    rows = [rng.uniform(0.2, 1) / n**0.5 * np.sin(n * phase + rng.uniform(0, 6.28)) for n in range(1, 9)]
    mains = np.sin(2 * np.pi * 100 * t) * (1 + 3 * np.exp(-np.maximum(t, 0) / 0.15))
    out = (np.sum(rows, axis=0) + rng.uniform(0, 1) * mains) * (t > 0) * np.minimum(1, np.maximum(t, 0) / 0.02)
    clack = low_pass(0.6 * metal_knock(rng, rate_hz), rate_hz, 2500.0)
    add(out, clack, float(-t[0]), rate_hz)
    return 0.5 * out + 0.05 * coloured(rng, count, rate_hz, 0.5) * (t > 0)


def bouncing(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """A dropped spanner or nut: the same modes in ever shorter intervals."""
    modes = int(rng.integers(4, 10))
    hertz = np.exp(rng.uniform(np.log(300), np.log(min(6000, 0.4 * rate_hz)), modes))
    tau_s = 10 ** rng.uniform(-2.3, -0.8, modes)
    first, ratio = rng.uniform(0.15, 0.4), rng.uniform(0.55, 0.8)
    times = rng.uniform(0.1, 0.5) + np.concatenate([[0.0], np.cumsum(first * ratio ** np.arange(8))])
    return struck(rng, hertz, tau_s, times, count, rate_hz)


def whistle(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Whistled notes: nearly pure, 500 to 2500 Hz, swelling and gliding."""
    out, place = np.zeros(count), int(rng.uniform(0.05, 0.3) * rate_hz)
    while place < count - rate_hz // 10:
        length = min(int(rng.uniform(0.1, 0.6) * rate_hz), count - place)
        t = np.arange(length) / rate_hz
        pitch = rng.uniform(500, 2500) * (1 + rng.uniform(-0.2, 0.2) * t + 0.004 * np.sin(2 * np.pi * 6 * t))
        shape = np.minimum(1, t / rng.uniform(0.01, 0.04)) * np.minimum(1, (t[-1] - t) / rng.uniform(0.02, 0.1))
        out[place : place + length] += rng.uniform(0.3, 1) * shape * np.sin(2 * np.pi * np.cumsum(pitch) / rate_hz)
        place += length + int(rng.uniform(0.02, 0.3) * rate_hz)
    return out


def beeps(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Beeps of a tester or a reversing van: sudden start, level top, sudden end, all on one note of 250 Hz or more."""
    hertz, length = np.exp(rng.uniform(np.log(250), np.log(2500))), int(rng.uniform(0.06, 0.4) * rate_hz)
    t = np.arange(length) / rate_hz
    overtones = rng.uniform(0, 0.5, 4) if rng.random() < 0.5 else np.zeros(4)
    rows = [np.sin(2 * np.pi * hertz * t)]
    rows += [a * np.sin(2 * np.pi * (n + 2) * hertz * t) for n, a in enumerate(overtones) if (n + 2) * hertz < 3500]
    edge = rng.uniform(0.0005, 0.01)
    part = np.sum(rows, axis=0) * np.minimum(1, t / edge) * np.minimum(1, (t[-1] - t) / edge)
    times = np.arange(rng.uniform(0.1, 0.5), count / rate_hz, length / rate_hz + rng.uniform(0.1, 0.6))
    return repeated(rng, part, times[: int(rng.integers(1, 9))], count, rate_hz)


def door(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """A door or bonnet that bangs shut: low modes that die within a turn or two, a burst of noise, a rattle."""
    hertz = np.exp(rng.uniform(np.log(35), np.log(250), int(rng.integers(3, 7))))
    tau_s = rng.uniform(1.5, 6.0, len(hertz)) / np.pi / hertz
    times = np.sort(rng.uniform(0.1, max(0.2, count / rate_hz - 0.3), int(rng.integers(1, 4))))
    out = struck(rng, hertz, tau_s, times, count, rate_hz)
    t = np.arange(rate_hz // 2) / rate_hz
    for time in times:
        noise = coloured(rng, len(t), rate_hz, rng.uniform(0, 1.5)) * np.exp(-t / rng.uniform(0.01, 0.05))
        rattle = 1 + 0.8 * np.sin(2 * np.pi * rng.uniform(20, 45) * t)
        add(out, rng.uniform(0.1, 0.5) * noise * rattle, float(time), rate_hz)
    return out


def sung(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Somebody sings or hums: notes held on pitch, harmonics through formants, a little vibrato."""
    out, place, keynote = np.zeros(count), int(rng.uniform(0.05, 0.3) * rate_hz), rng.uniform(85, 250)
    while place < count - rate_hz // 10:
        length = min(int(rng.uniform(0.2, 0.7) * rate_hz), count - place)
        t = np.arange(length) / rate_hz
        voice = keynote * 2 ** (int(rng.integers(0, 8)) / 12)
        pitch = voice * (1 + rng.uniform(0, 0.01) * np.sin(2 * np.pi * 5.5 * t) - 0.05 * np.exp(-t / 0.03))
        phase = 2 * np.pi * np.cumsum(pitch) / rate_hz
        formants, note = rng.uniform([250, 700, 2200], [800, 1800, 3000]), np.zeros(length)
        for n in range(1, int(min(3800, 0.45 * rate_hz) / voice) + 1):
            gain = sum(np.exp(-(((n * voice - f) / 200) ** 2)) for f in formants) + 0.05
            note += gain / n**0.5 * np.sin(n * phase + rng.uniform(0, 6.28))
        shape = np.minimum(1, t / rng.uniform(0.015, 0.08)) * np.minimum(1, (t[-1] - t) / rng.uniform(0.04, 0.15))
        out[place : place + length] += rng.uniform(0.3, 1) * shape * note / (np.abs(note).max() + 1e-9)
        place += length + int(rng.uniform(0.0, 0.3) * rate_hz)
    return out


def footsteps(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Steps on concrete or taps on a hose: short, dull, alike each time."""
    hertz = np.exp(rng.uniform(np.log(60), np.log(500), 3))
    tau_s = rng.uniform(1.2, 5.0, 3) / np.pi / hertz
    times = np.arange(rng.uniform(0.1, 0.5), count / rate_hz, rng.uniform(0.35, 0.7)) + rng.normal(0, 0.01)
    out = struck(rng, hertz, tau_s, times, count, rate_hz)
    t = np.arange(int(0.2 * rate_hz)) / rate_hz
    scuff = coloured(rng, len(t), rate_hz, 0.5) * np.exp(-t / rng.uniform(0.005, 0.03))
    return out + repeated(rng, rng.uniform(0.05, 0.4) * scuff, times, count, rate_hz)


def plastic(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Knocks on a plastic cover: a few unrelated modes from 120 Hz up that ring for some turns, the same every time."""
    hertz = np.exp(rng.uniform(np.log(120), np.log(1200), int(rng.integers(3, 8))))
    tau_s = rng.uniform(4, 20, len(hertz)) / np.pi / hertz
    times = np.sort(rng.uniform(0.1, count / rate_hz - 0.1, int(rng.integers(1, 7))))
    out = struck(rng, hertz, tau_s, times, count, rate_hz)
    t = np.arange(int(0.1 * rate_hz)) / rate_hz
    click = rng.standard_normal(len(t)) * np.exp(-t / rng.uniform(0.001, 0.005))
    return out + repeated(rng, rng.uniform(0.1, 0.6) * click, times, count, rate_hz)


def sheet(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """Blows on sheet metal: many unrelated modes from 80 Hz up, some of them ringing long."""
    hertz = np.exp(rng.uniform(np.log(80), np.log(min(3000, 0.4 * rate_hz)), int(rng.integers(8, 16))))
    tau_s = rng.uniform(8, 60, len(hertz)) / np.pi / hertz
    times = np.sort(rng.uniform(0.1, count / rate_hz - 0.1, int(rng.integers(1, 6))))
    return struck(rng, hertz, tau_s, times, count, rate_hz)


def buzz(rng: np.random.Generator, count: int, rate_hz: int) -> np.ndarray:
    """A buzzer or a relay: harmonics of twice the mains or of its own note, on and off at once, level between."""
    hertz = float(rng.choice([100.0, 120.0, rng.uniform(80, 400)]))
    length = int(rng.uniform(0.1, 0.8) * rate_hz)
    t = np.arange(length) / rate_hz
    numbers = np.arange(1, int(min(4000, 0.45 * rate_hz) / hertz) + 1)
    part = np.sum([rng.uniform(0.2, 1) / n**0.7 * np.sin(2 * np.pi * n * hertz * t) for n in numbers], axis=0)
    edge = rng.uniform(0.001, 0.02)
    part *= np.minimum(1, t / edge) * np.minimum(1, (t[-1] - t) / edge) / np.abs(part).max()
    times = np.arange(rng.uniform(0.1, 0.5), count / rate_hz, length / rate_hz + rng.uniform(0.1, 0.6))
    return repeated(rng, part, times[: int(rng.integers(1, 6))], count, rate_hz)


MAKERS = {
    "same part": same_part, "ratchet": ratchet, "engine": engine, "compressor": compressor, "bouncing": bouncing,
    "whistle": whistle, "beeps": beeps, "door": door, "sung": sung, "footsteps": footsteps,
    "plastic": plastic, "sheet": sheet, "buzz": buzz,
}  # fmt: skip
