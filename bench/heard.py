"""What the pluck reader makes of one generator's recordings, as rows of the table; a plain spectrum peak beside."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from tests.pluck.generator import Recording

from bench.sounds import GROSS, as_sound, spectrum_peak_hz
from bench.table import Row
from twoturn.pluck.read import read_pluck


@dataclass(frozen=True)
class Drawn:
    """Recordings of one generator.

    Its name; what draws a recording from a seed, with plucks or without; first seed; how many with
    plucks, how many others; what the ones and the others are, and what must be said of the interval.
    """

    name: str
    draw: Callable[[int, bool], Recording]
    first_seed: int
    plucked: int
    others: int
    how: str
    others_how: str
    interval: str


@dataclass(frozen=True)
class Heard:
    """What the reader said of one recording, and what the peer did; relative errors [-]."""

    found: bool
    error: float
    inside: bool
    peer_error: float


def rows_of(drawn: Drawn) -> list[Row]:
    """Rows of the plucked recordings, of the others and of the speed."""
    heard, audio_s, work_s, peer_s = [], 0.0, 0.0, 0.0
    for seed in range(drawn.first_seed, drawn.first_seed + drawn.plucked):
        made = drawn.draw(seed, True)
        start = time.process_time()
        result = read_pluck(as_sound(made.samples, made.rate_hz))
        middle = time.process_time()
        peer = spectrum_peak_hz(made.samples, made.rate_hz)
        audio_s += len(made.samples) / made.rate_hz
        work_s, peer_s = work_s + middle - start, peer_s + time.process_time() - middle
        heard.append(_heard(made, result.frequency, peer))
    return [*_plucked(heard, drawn), _others(drawn), _speed(drawn, audio_s, work_s, peer_s)]


def _heard(made: Recording, frequency: object, peer_hz: float) -> Heard:
    assert made.f1_hz is not None
    peer = peer_hz / made.f1_hz - 1
    if frequency is None:
        return Heard(False, float("nan"), False, peer)
    error = frequency.value - made.f1_hz  # type: ignore[attr-defined]
    return Heard(True, error / made.f1_hz, abs(error) <= frequency.expanded, peer)  # type: ignore[attr-defined]


def _plucked(heard: list[Heard], drawn: Drawn) -> list[Row]:
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
    held = f"the same; {drawn.interval}" if drawn.interval else "the same"
    return [
        Row(f"pluck: {drawn.name}, recordings found", drawn.how, f"{100 * share:.1f} %", "95 %", share >= 0.95),
        Row(
            f"pluck: {drawn.name}, off by more than 5 %",
            "the same",
            f"{gross} of {len(found)} found; {beside}",
            "none",
            gross == 0,
        ),
        Row(f"pluck: {drawn.name}, median error", "the same, all found", _percent(middle), "0.2 %", middle <= 2e-3),
        Row(
            f"pluck: {drawn.name}, 95th percentile of the error",
            "the same, all found",
            f"{_percent(most)} (without those off by more than 5 %: {_percent(np.percentile(right, 95))})",
            "1 %",
            most <= 0.01,
        ),
        Row(f"pluck: {drawn.name}, stated 95 % interval holds", held, f"{100 * covered:.1f} %", "90 to 99 %", honest),
    ]


def _percent(share: float) -> str:
    return f"{100 * float(share):.2f} %"


def _others(drawn: Drawn) -> Row:
    """How many recordings without a pluck were called one, and of which kind."""
    kinds: dict[str, int] = {}
    for seed in range(drawn.first_seed, drawn.first_seed + drawn.others):
        made = drawn.draw(seed, False)
        if read_pluck(as_sound(made.samples, made.rate_hz)).found:
            kind = str(made.traits["kind"])
            kinds[kind] = kinds.get(kind, 0) + 1
    called, named = sum(kinds.values()), "".join(f", {kind} {count}" for kind, count in sorted(kinds.items()))
    figure = f"{100 * called / drawn.others:.1f} % ({called}){named}; the peer names a note in all"
    return Row(
        f"pluck: {drawn.name}, other sounds called a pluck",
        drawn.others_how,
        figure,
        "2 %",
        called <= 0.02 * drawn.others,
    )


def _speed(drawn: Drawn, audio_s: float, work_s: float, peer_s: float) -> Row:
    each = 1e3 * work_s / audio_s
    figure = f"{each:.1f} ms; the peer {1e3 * peer_s / audio_s:.1f} ms"
    how = f"mean over {audio_s:.0f} s of sound at 8 to 48 kHz"
    return Row(f"pluck: {drawn.name}, speed, a second of audio", how, figure, "20 ms", each < 20)
