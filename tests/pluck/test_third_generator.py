"""The third generator holds its own truth: what it draws rings there, whoever measures it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.pluck.third.belts import STEPS_HZ, Span, System, Touch, vibrate
from tests.pluck.third.draw import OTHERS, drawn
from tests.pluck.third.plucks import draw_span, plucked

SOFT = Touch(place=0.3, width=0.05, height=0.01, draw_s=0.1, slip_s=0.002, stop_s=99.0, blow_s=0.0)


def rung(span: Span, height: float, stretch: float) -> np.ndarray:
    """Velocity at the middle of a span after one pluck, from its release on."""
    system, touch = System(span), replace(SOFT, height=height)
    velocity, _, _ = vibrate(system, [touch], stretch, system.finger(0.5, 0.0), span.tau_s)
    return np.asarray(velocity[0, int(0.103 * STEPS_HZ) :])


def phase_hertz(sound: np.ndarray, near_hz: float, first_s: float, width_s: float) -> float:
    """Frequency [Hz] by how far the phase against ``near_hz`` runs between two windows that follow each other."""
    first, width = int(first_s * STEPS_HZ), int(width_s * STEPS_HZ)
    turned = sound * np.exp(-2j * np.pi * near_hz / STEPS_HZ * np.arange(len(sound)))
    one, other = (np.sum(turned[k : k + width] * np.hanning(width)) for k in (first, first + width))
    return float(near_hz + np.angle(other / one) / (2 * np.pi * width / STEPS_HZ))


@pytest.mark.parametrize("seed", [1, 4, 9])
def test_a_span_rings_at_its_eigenvalue(seed: int) -> None:
    # Against the phase of a long run with hardly any loss, estimated without the matrix.
    span = replace(draw_span(np.random.default_rng(seed)), tau_s=2.0, fall=0.9, arm_quality=1e4)
    f1_hz = System(span).partials(1)[0][0]
    assert phase_hertz(rung(span, 0.01, 0.0), f1_hz * 1.002, 0.1, 0.5) == pytest.approx(f1_hz, rel=5e-5)


def test_partials_are_those_of_a_stiff_string() -> None:
    # Fletcher and Rossing, chapter 2: f_n = n·f·√(1 + n²·B), hinged ends, B = π²·EI/(T·L²).
    span = Span(100.0, 2.0, 0.8, 0.002, 0.0, 1e6, 40.0, 10.0)
    n = np.arange(1, 7)
    expected = n * 100.0 * np.sqrt(1 + n**2 * np.pi**2 * 0.002)
    assert [hertz for hertz, _ in System(span).partials(6)] == pytest.approx(expected, rel=1e-4)


def test_a_hard_pluck_starts_sharp_and_ends_at_the_truth() -> None:
    # Carrier 1945: the tension grows with the mean square slope, the frequency by half of it.
    span = Span(120.0, 0.12, 0.6, 0.0005, 0.0, 1e4, 30.0, 10.0)
    f1_hz = System(span).partials(1)[0][0]
    sound = rung(span, 1.0, 2 * 0.03 * 0.3 * 0.7)
    early, late = (phase_hertz(sound, f1_hz, first_s, 0.06) for first_s in (0.0, 0.42))
    assert 1.004 < early / f1_hz < 1.03
    assert late == pytest.approx(f1_hz, rel=3e-4)


def test_plucks_stand_where_they_are_said_to() -> None:
    made = plucked(np.random.default_rng(6), set())
    for time in made.times_s:
        before, after = (made.sound[int((time + k) * 48000) :][:480] for k in (-0.03, 0.001))
        assert after.std() > 2 * before.std()


def test_a_seed_draws_the_same_again_and_every_other_sound_can_be_drawn() -> None:
    one, two = (drawn(11, plucked=True) for _ in range(2))
    assert one.samples.tobytes() == two.samples.tobytes()
    assert one.f1_hz is not None
    assert 30 <= one.f1_hz <= 500
    for kind in OTHERS:
        other = drawn(5, plucked=False, kind=kind)
        assert other.f1_hz is None
        assert np.isfinite(other.samples).all()
