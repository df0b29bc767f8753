"""Recordings of the invented Alder for the bench's tests, from generators that know nothing of the reader.

The sound is the tests' own integrated string (G. F. Carrier, Q. Appl. Math. 3 (1945) 157-165), the sensors the tests'
own cranked engine.
"""

from __future__ import annotations

import numpy as np
from tests.capture.engines import Bench, as_csv, change_list
from tests.pluck.generator import SpanTruth, ring
from tests.recording.sounds import wav_bytes

TOOTH_DEG = 18.0
"""One tooth of the Alder's 20-tooth crankshaft sprocket [crank degrees]."""
BEHIND_DEG = 3.0
"""The falling crank edge, from which its angles count, lies half a place behind the rising one [crank degrees]."""


def plucked_wav(hertz: float = 144.3, rate_hz: int = 24000, plucks: int = 5, seed: int = 3) -> bytes:
    """A span plucked gently a few times in a quiet room."""
    rng = np.random.default_rng(seed)
    strength = rng.uniform(0.7, 1.0, plucks)
    rung = ring(
        SpanTruth(hertz, 0.002, 0.12),
        rate_hz,
        0.9,
        at=rng.uniform(0.25, 0.45, plucks),
        glide=np.full(plucks, 0.001),
        strength=strength,
    )
    rung = np.concatenate([np.zeros(int(0.5 * rate_hz)), *rung])
    sound = 0.6 * rung / np.abs(rung).max() + 0.001 * rng.standard_normal(rung.size)
    return wav_bytes(sound[None, :], rate_hz)


def sensors_csv(late_deg: float = 0.0, cam: str = "camshaft") -> bytes:
    """The Alder turned by the starter, its cam late by so much [crank degrees]."""
    falling = 72.0 + 114.0 + BEHIND_DEG + late_deg
    edges = [("falling", falling), ("rising", falling + 183.0)]
    return as_csv(*change_list(Bench(cams={cam: edges}, swing=0.15))).encode()
