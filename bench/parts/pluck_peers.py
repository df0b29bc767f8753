"""General pitch trackers on the recordings of `pluck_workshop` and `pluck_real`, for comparison."""

from __future__ import annotations

import time
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from tests.pluck.workshop import workshop

from bench.parts.pluck_real import NAMED_HZ
from bench.parts.pluck_workshop import FIRST_SEED, PLUCKED
from bench.sounds import GROSS, spectrum_peak_hz
from bench.table import RECORDINGS, Row
from twoturn.recording.sound import load_sound

OTHERS = 60
TRACKED_HZ = 8000
LOWEST_HZ, HIGHEST_HZ = 28.0, 540.0
FRAME, HOP = 2048, 128
Peer = Callable[[np.ndarray, float], float | None]


def measure() -> list[Row]:
    """Rows of each peer: what it finds, how far off, what it takes for a note, how long it needs."""
    if find_spec("librosa") is None:
        return [Row("pluck: general pitch trackers", "librosa is not installed", "not measured", "none", None)]
    made = [workshop(seed) for seed in range(FIRST_SEED, FIRST_SEED + PLUCKED)]
    others = [workshop(FIRST_SEED + 10_000 + k, plucked=False) for k in range(OTHERS)]
    peers: dict[str, Peer] = {"spectrum peak": spectrum_peak_hz, "yin": yin_hz, "pyin": pyin_hz}
    rows = []
    for name, peer in peers.items():
        peer(made[0].samples, made[0].rate_hz)  # compiled on the first call
        start = time.process_time()
        heard = [peer(one.samples, one.rate_hz) for one in made]
        took = time.process_time() - start
        error = np.array([abs(f / one.f1_hz - 1) for f, one in zip(heard, made, strict=True) if f and one.f1_hz])
        called = sum(peer(one.samples, one.rate_hz) is not None for one in others)
        second = took / sum(len(one.samples) / one.rate_hz for one in made)
        rows.append(_row(name, error, called, second))
    return rows


def _row(name: str, error: np.ndarray, called: int, second: float) -> Row:
    near = error[error <= GROSS]
    figure = (
        f"a note in {len(error)} of {PLUCKED}, {len(error) - len(near)} of them off by more than 5 %; of the others "
        f"median {100 * np.median(near):.2f} %, 95th percentile {100 * np.percentile(near, 95):.2f} %; a note in "
        f"{called} of {OTHERS} recordings without a pluck; {1e3 * second:.1f} ms a second of sound{_real(name)}"
    )
    return Row(
        f"pluck: peer, {name}",
        "the recordings of the rows above; librosa's own defaults for doubt",
        figure,
        "none",
        None,
    )


def _real(name: str) -> str:
    """What a peer says of the real strings and knocks, where a folder holds them."""
    if not RECORDINGS or not (Path(RECORDINGS) / "sounds").is_dir():
        return ""
    peer: Peer = {"spectrum peak": spectrum_peak_hz, "yin": yin_hz, "pyin": pyin_hz}[name]
    folder, near, octave = Path(RECORDINGS) / "sounds", 0, 0
    for number, (_, fit) in NAMED_HZ.items():
        sound = load_sound(folder / f"note_{number}.flac")
        heard = peer(sound.mono, sound.rate_hz)
        near += heard is not None and abs(heard / fit - 1) <= 1e-3
        octave += heard is not None and abs(heard / fit - 1) > 0.1
    hits = [load_sound(path) for path in sorted(folder.glob("hit_*.flac"))]
    called = sum(peer(sound.mono, sound.rate_hz) is not None for sound in hits)
    return (
        f"; real strings: {near} of {len(NAMED_HZ)} within 0.1 % of the fit, {octave} on another note; "
        f"a note in {called} of {len(hits)} real knocks"
    )


def slow(samples: np.ndarray, rate_hz: float) -> np.ndarray:
    """The recording at 8 kHz, as the trackers get it."""
    import librosa

    return np.asarray(librosa.resample(samples.astype(np.float64), orig_sr=rate_hz, target_sr=TRACKED_HZ))


def loud(samples: np.ndarray, count: int) -> np.ndarray:
    """Which frames hold more than a tenth of the loudest frame's power, shape (count,)."""
    padded = np.pad(samples, FRAME // 2)
    frames = np.lib.stride_tricks.sliding_window_view(padded, FRAME)[::HOP][:count]
    power = np.mean(frames**2, axis=1)
    return power > 0.1 * power.max()


def yin_hz(samples: np.ndarray, rate_hz: float) -> float | None:
    """Median of yin over the loud frames [Hz]; it always names a note."""
    import librosa

    sound = slow(samples, rate_hz)
    track = librosa.yin(sound, fmin=LOWEST_HZ, fmax=HIGHEST_HZ, sr=TRACKED_HZ, frame_length=FRAME, hop_length=HOP)
    return float(np.median(track[loud(sound, len(track))]))


def pyin_hz(samples: np.ndarray, rate_hz: float) -> float | None:
    """Median of pyin over the loud frames it calls voiced [Hz]; None where it calls none so."""
    import librosa

    sound = slow(samples, rate_hz)
    track, voiced, _ = librosa.pyin(
        sound, fmin=LOWEST_HZ, fmax=HIGHEST_HZ, sr=TRACKED_HZ, frame_length=FRAME, hop_length=HOP
    )
    kept = track[voiced & loud(sound, len(track))]
    return float(np.median(kept)) if len(kept) else None
