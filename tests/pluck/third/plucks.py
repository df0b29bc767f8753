"""A plucked span as a telephone near by hears it: the span, its neighbour, its twist, the bracket, finger and tool."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.signal import resample_poly
from tests.pluck.third.belts import STEPS_HZ, Span, System, Touch, ring, vibrate
from tests.pluck.third.knocks import bar

RATE_HZ = 48_000
SOUND_M_S = 343.0
NEVER = 99.0


@dataclass(frozen=True)
class Plucked:
    """Plucks without a room.

    Sound at the microphone and the part of it that carries to the walls, both at ``RATE_HZ``; true first partial [Hz];
    its decay time [s]; when the finger lets go [s]; distance of the microphone [m]; what is special.
    """

    sound: np.ndarray
    far: np.ndarray
    f1_hz: float
    tau_s: float
    times_s: tuple[float, ...]
    distance_m: float
    marks: frozenset[str]


def draw_span(rng: np.random.Generator, highest_hz: float = 500.0) -> Span:
    """A span of 30 to 500 Hz that decays in 15 to 200 ms, three of four near 115 Hz."""
    while True:
        usual, log = rng.random() < 0.75, np.log([30, 500])
        ideal_hz = float(np.exp(rng.normal(np.log(115), 0.45) if usual else rng.uniform(*log)))
        quality = float(np.exp(rng.normal(np.log(14), 0.5)))
        span = Span(
            ideal_hz=ideal_hz,
            tau_s=quality / np.pi / ideal_hz,
            fall=float(rng.uniform(0.35, 0.9)),
            bending=float(10 ** rng.uniform(-4, -2.35)),
            clamped=float(rng.choice([0.0, 10 ** rng.uniform(-3, -1.3)])),
            arm_mass=float(10 ** rng.uniform(0.9, 2.2)),
            arm_hz=ideal_hz * float(rng.choice([rng.uniform(0.15, 0.5), rng.uniform(2.3, 9.0)])),
            arm_quality=float(rng.uniform(3, 15)),
        )
        if 29 < ideal_hz < highest_hz and 5 <= quality <= 45 and 0.015 <= span.tau_s <= 0.2:
            f1_hz, tau_s = System(span).partials(1)[0]
            if 30 <= f1_hz <= highest_hz and 0.015 <= tau_s <= 0.2:
                return span


def draw_touches(rng: np.random.Generator, tau_s: float, marks: set[str]) -> list[Touch]:
    """One to ten plucks of one hand: their place wanders little, their strength much."""
    count = int(rng.choice([1, 2, 3, 3, 4, 4, 5, 5, 6, 8, 10]))
    nail = bool(rng.random() < 0.3)
    middle = rng.uniform(0.14, 0.3) if "weak first" in marks else rng.uniform(0.16, 0.5)
    touches = []
    for k in range(count):
        drawn, slip = rng.uniform(0.05, 0.2), rng.uniform(0.0004, 0.0012) if nail else rng.uniform(0.0008, 0.003)
        free = max(rng.uniform(0.8, 2.5) * tau_s, 0.02) if "damped" in marks else NEVER
        one = Touch(
            place=float(np.clip(middle + rng.normal(0, 0.03), 0.1, 0.6)),
            width=float(rng.uniform(0.01, 0.03) if nail else rng.uniform(0.03, 0.1)),
            height=1.0 if k == 0 else float(rng.uniform(0.25, 1)),
            draw_s=float(drawn),
            slip_s=float(slip),
            stop_s=0.0,
            blow_s=float(rng.uniform(0.001, 0.004)) if "tapped" in marks else 0.0,
        )
        touches.append(replace(one, stop_s=one.release_s + free))
    return [touches[k] for k in rng.permutation(count)]


def one_by_one(
    rng: np.random.Generator, touches: list[Touch], tau_s: float, marks: set[str]
) -> tuple[list[float], list[Touch]]:
    """When each finger comes [s], and the touches, each stopped by the finger that comes next."""
    now, times, out = rng.uniform(0.15, 0.7), [], []
    for touch in touches:
        gap = rng.uniform(1.2, 3) * tau_s if "close" in marks else rng.uniform(0.3, 0.9)
        times.append(float(now))
        out.append(replace(touch, stop_s=min(touch.stop_s, touch.release_s + gap)))
        now += touch.release_s + gap
    return times, out


def plucked(rng: np.random.Generator, marks: set[str]) -> Plucked:
    """Plucks of one span, heard from 4 to 30 cm; ``marks`` asks for something special and grows by what is drawn."""
    span = draw_span(rng, 110.0 if "weak first" in marks else 500.0)
    system = System(span)
    f1_hz, tau_s = system.partials(1)[0]
    times, touches = one_by_one(rng, draw_touches(rng, tau_s, marks), tau_s, marks)
    length_m, distance_m = rng.uniform(0.08, 0.4), float(np.exp(rng.uniform(np.log(0.04), np.log(0.3))))
    ear = system.heard(rng.uniform(0.15, 0.85), distance_m / length_m)
    sharp = float(10 ** rng.uniform(-3.3, -1.7) if rng.random() < 0.9 else rng.uniform(0.02, 0.03))
    middle = float(np.mean([touch.place for touch in touches]))
    velocity, force, finger = vibrate(
        system, touches, 0.0 if "tapped" in marks else 2 * sharp * middle * (1 - middle), ear, tau_s
    )
    company = ringing_along(rng, f1_hz, tau_s, marks)
    near = np.zeros(int((times[-1] + velocity.shape[1] / STEPS_HZ + rng.uniform(0.2, 0.6)) * STEPS_HZ))
    far = np.zeros_like(near)
    for k, time in enumerate(times):
        part = np.diff(velocity[k], prepend=0.0)
        part = part + company_of(part, force[k], finger[k], company)
        part[-400:] *= np.linspace(1, 0, 400)
        away = distance_m / SOUND_M_S * np.diff(part, prepend=0.0) * STEPS_HZ
        first = int(time * STEPS_HZ)
        near[first : first + len(part)] += part + away
        far[first : first + len(part)] += away
    peak, times_s = np.abs(near).max(), [time + touch.release_s for time, touch in zip(times, touches, strict=True)]
    near, far = (resample_poly(part / peak, RATE_HZ // STEPS_HZ, 1) for part in (near, far))
    noise = of_the_finger(rng, len(near), times, touches)
    return Plucked(near + noise, far + noise, f1_hz, tau_s, tuple(times_s), distance_m, frozenset(marks))


Company = list[tuple[bool, list[tuple[float, float, float]], float]]


def ringing_along(rng: np.random.Generator, f1_hz: float, tau_s: float, marks: set[str]) -> Company:
    """What rings along: whether the finger drives it or the span's end, its modes, its peak under the span's [dB]."""
    structure = [
        (float(10 ** rng.uniform(2.2, 3.6)), rng.uniform(0.002, 0.012), rng.normal()) for _ in range(rng.integers(2, 7))
    ]
    company: Company = [(False, structure, rng.uniform(-32, -8))]
    k = np.arange(1, 5)
    if rng.random() < 0.35:
        marks.add("neighbour")
        base = f1_hz * rng.choice([rng.uniform(0.55, 0.93), rng.uniform(1.08, 1.9)])
        hertz = base * k * (1 + 10 ** rng.uniform(-4, -2.4) * np.pi**2 / 2 * k**2)
        modes = list(zip(hertz, tau_s * rng.uniform(0.6, 1.3) / k**0.5, 1 / k**2, strict=True))
        company.append((False, modes, rng.uniform(-30, -8)))
    if rng.random() < 0.35:
        marks.add("twist")
        hertz, taus = f1_hz * rng.uniform(1.03, 1.3) * k, tau_s * rng.uniform(0.4, 0.9) / k**0.5
        modes = list(zip(hertz, taus, 1 / k**1.5, strict=True))[:3]
        company.append((True, modes, rng.uniform(-26, -7)))
    return company


def company_of(part: np.ndarray, force: np.ndarray, finger: np.ndarray, company: Company) -> np.ndarray:
    """Sound of what rings along with one pluck, shape (steps,)."""
    total, peak = np.zeros_like(part), np.abs(part).max()
    for by_finger, modes, level_db in company:
        one = ring(finger if by_finger else force, STEPS_HZ, modes)
        total += one * peak * 10 ** (level_db / 20) / (np.abs(one).max() + 1e-30)
    return total


def of_the_finger(rng: np.random.Generator, count: int, times: list[float], touches: list[Touch]) -> np.ndarray:
    """The rub while it draws, the snap as it lets go, of one in eight a tool that rings, shape (count,)."""
    total, rub, snap = np.zeros(count), 10 ** rng.uniform(-3, -1.6), 10 ** rng.uniform(-2, -0.5)
    tool = bar(rng, rng.uniform(1200, 4500), rng.uniform(30, 200)) if rng.random() < 0.12 else []
    for time, touch in zip(times, touches, strict=True):
        first, drawn = int(time * RATE_HZ), int(touch.draw_s * RATE_HZ)
        total[first : first + drawn] += rub * rng.normal(0, 1, drawn) * np.hanning(drawn)
        free = first + drawn
        length = min(int(0.25 * RATE_HZ), count - free)
        fade = np.exp(-np.arange(length) / RATE_HZ / rng.uniform(0.0008, 0.004))
        total[free : free + length] += touch.height * snap / 2 * rng.normal(0, 1, length) * fade
        if tool:
            struck = np.zeros(length)
            struck[:12] = np.hanning(12)
            sound = ring(struck, RATE_HZ, tool)
            total[free : free + length] += touch.height * rng.uniform(0.05, 0.5) * sound / np.abs(sound).max()
    return total
