"""Workshop recordings from the tests' own generator, independent of the reader; a plain spectrum peak beside."""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
from tests.pluck.generator import Recording
from tests.pluck.workshop import workshop

from bench.sounds import GROSS, as_sound, spectrum_peak_hz
from bench.table import Row
from twoturn.pluck.read import read_pluck

PLUCKED, OTHERS = 160, 300
FIRST_SEED = 700_000
HOW = f"{PLUCKED} recordings of 1 to 10 plucks: hum, speech, impacts, air tool, reverberation, clipping, gates, gain"
WIDENED = "the last widening of the interval was chosen after one look at this figure, on other seeds"


@dataclass(frozen=True)
class Heard:
    """What the reader said of one recording, and what the peer did; relative errors [-]."""

    found: bool
    error: float
    inside: bool
    peer_error: float


def measure() -> list[Row]:
    """Rows of the plucked recordings, of the others and of the speed."""
    heard, audio_s, work_s, peer_s = [], 0.0, 0.0, 0.0
    for seed in range(FIRST_SEED, FIRST_SEED + PLUCKED):
        made = workshop(seed)
        start = time.process_time()
        result = read_pluck(as_sound(made.samples, made.rate_hz))
        middle = time.process_time()
        peer = spectrum_peak_hz(made.samples, made.rate_hz)
        audio_s += len(made.samples) / made.rate_hz
        work_s, peer_s = work_s + middle - start, peer_s + time.process_time() - middle
        heard.append(_heard(made, result.frequency, peer))
    called, kinds = _others()
    return [
        *_plucked(heard),
        Row(
            "pluck: knocks, claps, speech, noise called a pluck",
            f"{OTHERS} recordings without a pluck",
            f"{100 * called / OTHERS:.1f} % ({called}){kinds}; the peer names a note in all",
            "2 %",
            called <= 0.02 * OTHERS,
        ),
        _speed(audio_s, work_s, peer_s),
    ]


def _heard(made: Recording, frequency: object, peer_hz: float) -> Heard:
    assert made.f1_hz is not None
    peer = peer_hz / made.f1_hz - 1
    if frequency is None:
        return Heard(False, float("nan"), False, peer)
    error = frequency.value - made.f1_hz  # type: ignore[attr-defined]
    return Heard(True, error / made.f1_hz, abs(error) <= frequency.expanded, peer)  # type: ignore[attr-defined]


def _plucked(heard: list[Heard]) -> list[Row]:
    found = [one for one in heard if one.found]
    error = np.abs([one.error for one in found])
    gross = int((error > GROSS).sum())
    right = error[error <= GROSS]
    covered = np.mean([one.inside for one in found])
    peer = np.abs([one.peer_error for one in heard])
    peer_near = peer[peer <= GROSS]
    share, honest = len(found) / len(heard), bool(0.9 <= covered <= 0.99)
    middle, most = float(np.median(error)), float(np.percentile(error, 95))
    near = 100 * len(peer_near) / len(peer)
    beside = f"peer (spectrum peak): {near:.0f} % within 5 %, their median {_percent(np.median(peer_near))}"
    return [
        Row("pluck: workshop recordings found", HOW, f"{100 * share:.1f} %", "95 %", share >= 0.95),
        Row("pluck: off by more than 5 %", "the same", f"{gross} of {len(found)} found; {beside}", "none", gross == 0),
        Row("pluck: median error", "the same, all found", _percent(middle), "0.2 %", middle <= 2e-3),
        Row(
            "pluck: 95th percentile of the error",
            "the same, all found",
            f"{_percent(most)} (without those off by more than 5 %: {_percent(np.percentile(right, 95))})",
            "1 %",
            most <= 0.01,
        ),
        Row(
            "pluck: stated 95 % interval holds", f"the same; {WIDENED}", f"{100 * covered:.1f} %", "90 to 99 %", honest
        ),
    ]


def _percent(share: float) -> str:
    return f"{100 * float(share):.2f} %"


def _others() -> tuple[int, str]:
    """How many recordings without a pluck were called one, and of which kind."""
    called: dict[str, int] = {}
    for seed in range(FIRST_SEED, FIRST_SEED + OTHERS):
        made = workshop(seed, plucked=False)
        if read_pluck(as_sound(made.samples, made.rate_hz)).found:
            kind = str(made.traits["kind"])
            called[kind] = called.get(kind, 0) + 1
    return sum(called.values()), "".join(f", {kind} {count}" for kind, count in sorted(called.items()))


def _speed(audio_s: float, work_s: float, peer_s: float) -> Row:
    each = 1e3 * work_s / audio_s
    figure = f"{each:.1f} ms; the peer {1e3 * peer_s / audio_s:.1f} ms (librosa's yin and pyin are not installed)"
    how = f"mean over {audio_s:.0f} s of sound at 8 to 48 kHz"
    return Row("pluck: speed, a second of audio", how, figure, "20 ms", each < 20)
