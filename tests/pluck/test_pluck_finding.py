"""Finding plucks where it is hard: weak lone tones, beside a voice or a ratchet, clipped in noise; and no others."""

from __future__ import annotations

import numpy as np
import pytest
from tests.pluck.generator import SpanTruth, damped, ring
from tests.pluck.others import KINDS, other_sound, pluck_beside

from twoturn.pluck.bank import SCALES, rises, start_of_tone
from twoturn.pluck.doubts import is_gated
from twoturn.pluck.onsets import find_onsets
from twoturn.pluck.read import read_pluck
from twoturn.pluck.result import PluckResult
from twoturn.pluck.trees import ANSWERS, ASKED, CONSTANT, FEATURES, TABLE, grown_log_odds
from twoturn.pluck.working import prepare
from twoturn.recording.sound import Sound

RATE_HZ = 8000


def read(samples: np.ndarray, rate_hz: float = RATE_HZ) -> PluckResult:
    """The reading of a recording in memory."""
    return read_pluck(Sound("test.wav", np.asarray(samples, dtype=np.float32)[None, :], rate_hz))


def weak_tone(seed: int) -> tuple[np.ndarray, float]:
    """One damped tone as loud as the noise at its start, its energy 200 variances of the noise or more."""
    rng = np.random.default_rng(seed)
    hertz, tau_s = rng.uniform(60, 400), rng.uniform(0.05, 0.15)
    out = rng.standard_normal(RATE_HZ * 3 // 2) / np.sqrt(2)
    out[3000:11000] += damped(RATE_HZ, 1.0, hertz, tau_s, rng.uniform(0, 6))
    return 0.1 * out, hertz


def test_most_lone_tones_no_louder_than_the_noise_are_found() -> None:
    results = [(read(samples), hertz) for samples, hertz in (weak_tone(seed) for seed in range(16))]
    right = [r.frequency is not None and abs(r.frequency.value / hertz - 1) < 0.02 for r, hertz in results]
    assert sum(right) >= 8


def test_plucks_beside_voice_ratchet_and_knocks_are_found() -> None:
    made = [pluck_beside(seed) for seed in range(70, 82)]
    results = [(read(r.samples, r.rate_hz), r.f1_hz) for r in made]
    right = [r.frequency is not None and abs(r.frequency.value / truth - 1) < 0.03 for r, truth in results if truth]
    assert sum(right) >= 7


def test_other_sounds_are_hardly_ever_plucks() -> None:
    made = [other_sound(seed) for seed in range(800, 800 + 2 * len(KINDS))]
    called = [str(r.traits["kind"]) for r in made if read(r.samples, r.rate_hz).found]
    assert len(called) <= 3, called


def test_a_clipped_pluck_is_heard_though_hum_touches_the_limit_too() -> None:
    parts = ring(SpanTruth(90.0, 0.001, 0.09), RATE_HZ, 0.7, at=np.full(3, 0.4), glide=np.zeros(3), strength=np.ones(3))
    t = np.arange(3 * RATE_HZ) / RATE_HZ
    out = 0.32 * np.sin(2 * np.pi * 50 * t) + 0.02 * np.random.default_rng(1).standard_normal(len(t))
    for start_s, part in zip((0.4, 1.2, 2.0), parts, strict=True):
        out[int(start_s * RATE_HZ) :][: len(part)] += part
    result = read(np.clip(2.9 * out, -0.9, 0.9))
    assert result.frequency is not None, result.why
    assert result.frequency.value == pytest.approx(90.0, rel=0.01)


def test_the_bank_tells_when_and_where_a_weak_tone_starts() -> None:
    rng = np.random.default_rng(8)
    samples = rng.standard_normal(8700)
    samples[4350:] += 1.4 * damped(2900, 1.5, 120.0, 0.1)[: len(samples) - 4350]
    found = rises(samples, 2900.0, SCALES[1])
    place = int(np.argmax(found.rise))
    assert place * found.hop == pytest.approx(4350, abs=60)
    assert found.hertz[place] == pytest.approx(120.0, abs=8)
    assert start_of_tone(samples, 2900.0, 120.0, 0.1, 1.49) == pytest.approx(1.5, abs=0.006)


def test_silence_that_no_room_has_is_told_as_a_gate() -> None:
    rng = np.random.default_rng(2)
    sound = 0.2 * rng.standard_normal(RATE_HZ)
    assert not is_gated(sound, RATE_HZ)
    sound[3000:3600] = 0.0
    assert is_gated(sound, RATE_HZ)


def test_the_table_of_trees_is_read_as_it_stands() -> None:
    line = TABLE.strip().splitlines()[0]
    questions, answers = line.split("=")
    name, limit = questions.split("|")[0].split()
    assert FEATURES[ASKED[0, 0]] == name
    assert [FEATURES[asked] for asked in ASKED[0]] == [one.split()[0] for one in questions.split("|")]
    np.testing.assert_array_equal(ANSWERS[0], [float(value) for value in answers.split()])
    nothing = dict.fromkeys(FEATURES, 0.0)
    change = nothing | {name: float(limit) + 1e-3}
    assert grown_log_odds(nothing) == pytest.approx(asked_one_by_one(nothing))
    assert grown_log_odds(change) == pytest.approx(asked_one_by_one(change))


def asked_one_by_one(evidence: dict[str, float]) -> float:
    """The sum of the answers, every tree walked by its text."""
    total = CONSTANT
    for line in TABLE.splitlines():
        questions, answers = (part.replace("|", " ").split() for part in line.split("="))
        place = 1
        while place < 16:
            place = 2 * place + (evidence[questions[2 * place - 2]] > float(questions[2 * place - 1]))
        total += float(answers[place - 16])
    return total


def test_a_tone_that_comes_up_while_a_pluck_rings_is_no_new_start_and_a_lone_one_is() -> None:
    """By construction: a loud pluck, then one tone as weak as the noise, while it rings or long after it."""
    loud, weak = damped(3000, 0.6, 110.0, 0.05), 0.02 * damped(3000, 0.6, 700.0, 0.09)
    found = {0.15: 0, 0.9: 0}
    for seed in range(12):
        noise = 0.02 * np.random.default_rng([41, seed]).standard_normal(3 * 3000)
        for after_s in found:
            sound = noise.copy()
            for part, at_s in ((loud, 0.5), (weak, 0.5 + after_s)):
                sound[int(at_s * 3000) :][: len(part)] += part
            starts = [onset.start_s - 0.5 for onset in find_onsets(prepare(sound, 3000.0))]
            assert min(abs(start) for start in starts) < 0.01
            found[after_s] += min(abs(start - after_s) for start in starts) < 0.03
    assert found[0.15] <= 1
    assert found[0.9] >= 6
