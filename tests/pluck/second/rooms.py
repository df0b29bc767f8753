"""Where a span is heard: a room by mirror images, and the engine bay's near reflections.

J. B. Allen et al., "Image method for efficiently simulating small-room acoustics", J. Acoust. Soc. Am. 65
(1979) 943-950.
"""

from __future__ import annotations

import numpy as np
from scipy.signal import butter, fftconvolve, sosfilt
from tests.pluck.second.spans import RATE_HZ, SOUND_M_S

WALLS_M = np.array([6.0, 10.0, 4.0])


def image_room(
    rng: np.random.Generator, distance_m: float, absorbed: float | None = None, seconds: float = 0.3
) -> np.ndarray:
    """What a room answers to a small dipole; the direct sound is 1 and comes first.

    Microphone ``distance_m`` from the span [m]; share of energy ``absorbed`` by a wall [-], drawn where none is given.
    """
    source = np.array([rng.uniform(1.5, 4.5), rng.uniform(2, 8), rng.uniform(0.6, 1.1)])
    way = rng.normal(0, 1, 3)
    microphone = source + distance_m * way / np.linalg.norm(way)
    kept = np.sqrt(1 - (rng.uniform(0.08, 0.35) if absorbed is None else absorbed))
    count = int(seconds * RATE_HZ)
    out = np.zeros(count + 200)
    reach = [int(SOUND_M_S * seconds / (2 * wall)) + 1 for wall in WALLS_M]
    cells = np.array(np.meshgrid(*[np.arange(-k, k + 1) for k in reach], indexing="ij")).reshape(3, -1).T
    for mirror in range(8):
        side = np.array([mirror & 1, mirror >> 1 & 1, mirror >> 2 & 1])
        far = np.linalg.norm((1 - 2 * side) * source + 2 * cells * WALLS_M - microphone, axis=1)
        size = kept ** (np.abs(cells - side) + np.abs(cells)).sum(axis=1) / np.maximum(far, 0.02)
        late = far * RATE_HZ / SOUND_M_S
        inside = late < count
        place = late[inside].astype(int)
        part = late[inside] - place
        np.add.at(out, place, size[inside] * (1 - part))
        np.add.at(out, place + 1, size[inside] * part)
    first = int(np.argmax(np.abs(out)))
    return near_field(out[first:] / out[first], distance_m)


def near_field(answer: np.ndarray, distance_m: float) -> np.ndarray:
    """A room's answer with the reflections of a dipole weakened below c/(2πd), where the near sound is strong."""
    corner = min(SOUND_M_S / (2 * np.pi * distance_m), 2000)
    late = answer.copy()
    late[:2] = 0
    late = sosfilt(butter(1, corner, "high", fs=RATE_HZ, output="sos"), late)
    late[:2] += answer[:2]
    return np.asarray(late)


def engine_bay(rng: np.random.Generator) -> np.ndarray:
    """Three to eight reflections from 5 to 30 cm away; the direct sound is 1 and comes first."""
    out = np.zeros(int(0.006 * RATE_HZ))
    out[0] = 1
    for _ in range(rng.integers(3, 9)):
        place = int(rng.uniform(0.05, 0.30) * 2 / SOUND_M_S * RATE_HZ)
        out[place] += rng.choice([-1, 1], p=[0.3, 0.7]) * rng.uniform(0.1, 0.45)
    return out


def within(sound: np.ndarray, answer: np.ndarray, wet: float = 1.0) -> np.ndarray:
    """A sound in a room, as long as before; all but the direct sound times ``wet`` [-]."""
    scaled = answer.copy()
    scaled[1:] *= wet
    return np.asarray(fftconvolve(sound, scaled)[: len(sound)])
