"""From recordings of the physical generator to notes: found, right, none invented, and the interval holds."""

from __future__ import annotations

import numpy as np
import pytest
from tests.pluck.generator import SpanTruth, damped, ring
from tests.pluck.workshop import workshop

from twoturn.pluck.read import read_pluck
from twoturn.pluck.result import PluckResult
from twoturn.recording.sound import Sound


def sound_of(samples: np.ndarray, rate_hz: float) -> Sound:
    """A recording in memory."""
    return Sound("test.wav", np.asarray(samples, dtype=np.float32)[None, :], rate_hz)


def clean(span: SpanTruth, times_s: tuple[float, ...] = (0.3, 1.1, 1.9), glide: float = 0.0, seed: int = 0) -> Sound:
    """Plucks of one span in little noise at 16 kHz."""
    rng = np.random.default_rng(seed)
    rate_hz, count = 16000, len(times_s)
    parts = ring(span, rate_hz, 0.6, at=np.full(count, 0.31), glide=np.full(count, glide), strength=np.ones(count))
    out = 0.003 * rng.standard_normal(int((times_s[-1] + 0.8) * rate_hz))
    for time_s, part in zip(times_s, parts, strict=True):
        start = int(time_s * rate_hz)
        out[start : start + len(part)] += part
    return sound_of(0.3 * out, rate_hz)


def note_of(result: PluckResult) -> float:
    """The first partial found [Hz]."""
    assert result.frequency is not None, result.why
    return result.frequency.value


@pytest.mark.parametrize("hertz", [32.0, 55.0, 101.0, 180.0, 310.0, 480.0])
def test_a_clean_span_is_read_to_a_tenth_of_a_percent(hertz: float) -> None:
    result = read_pluck(clean(SpanTruth(hertz, 0.001, max(0.06, 6 / hertz))))
    assert result.found
    assert note_of(result) == pytest.approx(hertz, rel=1e-3)
    assert len(result.agreeing) == 3
    assert np.allclose([row.pluck.time_s for row in result.plucks], (0.3, 1.1, 1.9), atol=0.02)


def test_a_hard_pluck_is_read_in_the_limit_of_small_amplitude() -> None:
    span = SpanTruth(120.0, 0.001, 0.08)
    soft, hard = (note_of(read_pluck(clean(span, glide=glide))) for glide in (0.0, 0.02))
    assert hard == pytest.approx(120.0, rel=3e-3)  # a tenth of a semitone sharp at the start: 2 %
    assert abs(hard / soft - 1) < 3e-3


def test_a_first_partial_that_the_telephone_does_not_hear_is_told_by_the_spacing() -> None:
    from tests.pluck.generator import high_pass

    sound = clean(SpanTruth(60.0, 0.0005, 0.12))
    result = read_pluck(sound_of(high_pass(sound.mono, 16000, 150.0, order=4), 16000))
    assert note_of(result) == pytest.approx(60.0, rel=5e-3)


def test_the_stretch_of_the_second_partial_is_reported() -> None:
    span = SpanTruth(110.0, 0.02, 0.09)
    result = read_pluck(clean(span))
    truth = span.partials_hz[1] / (2 * span.partials_hz[0])
    assert result.second_ratio is not None
    assert result.second_ratio.value == pytest.approx(truth, rel=3e-3)


def test_nothing_is_found_where_nothing_was_plucked() -> None:
    rng = np.random.default_rng(3)
    t = np.arange(32000) / 16000
    silence = np.zeros(32000)
    hum = 0.2 * np.sin(2 * np.pi * 50 * t) + 0.1 * np.sin(2 * np.pi * 150 * t) + 0.001 * rng.standard_normal(32000)
    noise = 0.1 * rng.standard_normal(32000)
    clicks = np.zeros(32000)
    clicks[[6000, 14000, 22000]] = 0.9
    for samples in (silence, hum, noise, clicks, noise[:500]):
        result = read_pluck(sound_of(samples, 16000))
        assert not result.found
        assert result.frequency is None
        assert result.why


def test_a_single_clean_damped_tone_is_a_pluck() -> None:
    rng = np.random.default_rng(4)
    tone = np.concatenate([np.zeros(8000), damped(16000, 1.0, 140.0, 0.07)])
    result = read_pluck(sound_of(0.5 * tone + 0.002 * rng.standard_normal(len(tone)), 16000))
    assert note_of(result) == pytest.approx(140.0, rel=1e-3)
    assert any("only one pluck" in doubt for doubt in result.doubts)


def test_clipping_is_told() -> None:
    sound = clean(SpanTruth(120.0, 0.001, 0.08))
    result = read_pluck(sound_of(np.clip(4 * sound.mono, -0.4, 0.4), 16000))
    assert any("clipped" in doubt for doubt in result.doubts)
    assert note_of(result) == pytest.approx(120.0, rel=5e-3)


def test_a_noise_gate_is_told() -> None:
    sound = clean(SpanTruth(120.0, 0.001, 0.08))
    samples = sound.mono.copy()
    place = np.arange(len(samples)) / 16000
    samples[~np.any([(place > t) & (place < t + 0.2) for t in (0.29, 1.09, 1.89)], axis=0)] = 0.0
    result = read_pluck(sound_of(samples, 16000))
    assert any("noise suppression" in doubt for doubt in result.doubts)
    assert note_of(result) == pytest.approx(120.0, rel=3e-3)


def test_loudness_and_rate_do_not_change_the_note() -> None:
    from scipy.signal import resample_poly

    sound = clean(SpanTruth(97.0, 0.001, 0.08))
    wanted = note_of(read_pluck(sound))
    assert note_of(read_pluck(sound_of(0.05 * sound.mono, 16000))) == pytest.approx(wanted, rel=1e-5)
    other = resample_poly(sound.mono, 441, 160)
    assert note_of(read_pluck(sound_of(other, 44100))) == pytest.approx(wanted, rel=5e-4)


def test_reading_twice_gives_the_same_and_leaves_the_samples_alone() -> None:
    sound = clean(SpanTruth(97.0, 0.001, 0.08))
    kept = sound.channels.copy()
    first, second = read_pluck(sound), read_pluck(sound)
    assert note_of(first) == note_of(second)
    np.testing.assert_array_equal(sound.channels, kept)


def test_workshop_recordings_are_found_right_and_nothing_is_invented() -> None:
    # limits for so few recordings; the bench measures hundreds
    results = [(workshop(seed), seed) for seed in range(40000, 40024)]
    read = [(read_pluck(sound_of(r.samples, r.rate_hz)), r.f1_hz) for r, _ in results]
    found = [(result.frequency, truth) for result, truth in read if result.frequency is not None]
    errors = np.array([abs(note.value / truth - 1) for note, truth in found])
    assert len(found) >= 18
    assert np.median(errors) < 0.004
    assert np.count_nonzero(errors > 0.05) <= 1
    nothing = [workshop(seed, plucked=False) for seed in range(41000, 41024)]
    assert sum(read_pluck(sound_of(r.samples, r.rate_hz)).found for r in nothing) <= 2
