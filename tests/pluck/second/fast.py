"""Loops over samples, compiled where numba is installed (`make bench` brings it); without it the same, but slow."""

from __future__ import annotations

from collections.abc import Callable
from importlib.util import find_spec

import numpy as np


def compiled(function: Callable[..., np.ndarray]) -> Callable[..., np.ndarray]:
    """The function as machine code, or itself."""
    if find_spec("numba") is None:
        return function
    from numba import njit

    return njit(cache=True)(function)


@compiled
def followed(samples: np.ndarray, attack: float, release: float) -> np.ndarray:
    """Level of a sound, shape (n,), that rises and falls with factors of its own a sample [-]."""
    level, out = 0.0, np.empty_like(samples)
    for i in range(len(samples)):
        now = abs(samples[i])
        keep = attack if now > level else release
        level = keep * level + (1 - keep) * now
        out[i] = level
    return out


@compiled
def modal(
    start: np.ndarray,
    omega: np.ndarray,
    loss: np.ndarray,
    square: np.ndarray,
    stretch: float,
    held: np.ndarray,
    rate: float,
) -> np.ndarray:
    """Accelerations of the modes of a Kirchhoff-Carrier string, shape (steps, modes).

    q'' + 2 s q' + w^2 q + a n^2 q sum(m^2 q_m^2) = q_0 w^2 h(t), each step exact for the linear part.

    ``start`` q_0, ``omega`` w [rad/s], ``loss`` s [1/s], ``square`` n^2, each of shape (modes,); ``stretch`` a
    [1/s^2 per square of q]; ``held`` h, how much of the finger's force is still there, shape (steps,); ``rate`` [Hz].
    """
    steps, modes, dt = len(held), len(start), 1.0 / rate
    place, speed, out = start.copy(), np.zeros(modes), np.empty((steps, modes))
    turn = np.sqrt(omega * omega - loss * loss)
    fade, cosine, sine = np.exp(-loss * dt), np.cos(turn * dt), np.sin(turn * dt)
    place_place, place_speed = fade * (cosine + loss / turn * sine), fade * sine / turn
    speed_place, speed_speed = -fade * sine * omega * omega / turn, fade * (cosine - loss / turn * sine)
    for i in range(steps):
        tension = 0.0
        for m in range(modes):
            tension += square[m] * (place[m] + 0.5 * dt * speed[m]) ** 2
        for m in range(modes):
            half = place[m] + 0.5 * dt * speed[m]
            rest = start[m] * held[i] - stretch * square[m] * tension * half / (omega[m] * omega[m])
            away, before = place[m] - rest, speed[m]
            place[m] = rest + place_place[m] * away + place_speed[m] * before
            speed[m] = speed_place[m] * away + speed_speed[m] * before
            out[i, m] = (speed[m] - before) * rate
    return out
