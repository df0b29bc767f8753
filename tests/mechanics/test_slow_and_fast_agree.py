"""The answer of ``twoturn drive`` against a slow second computation, key by key, to six digits and better."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tests.mechanics.mechanic_drives import KINDS, drive_text
from tests.mechanics.slow_drive import SlowDrive

from twoturn.acts.drive import answer_of, solve_drive


def six_digits(value: float) -> object:
    """Six digits, and for a number near nought six digits of a unit."""
    return pytest.approx(value, rel=2e-7, abs=1e-7)


@pytest.mark.parametrize("temperature_c", [20.0, 74.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("kind", KINDS)
def test_every_key(kind: str, seed: int, temperature_c: float, tmp_path: Path) -> None:
    text = drive_text(kind, seed)
    file = tmp_path / "drive.toml"
    file.write_text(text, encoding="utf-8")
    belt = answer_of(solve_drive(file, temperature_c))["belts"][0]
    compare(belt, SlowDrive(text, temperature_c))


@pytest.mark.parametrize("temperature_c", [20.0, 3.0])
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "locked set"])
def test_closed_on_the_notch(kind: str, temperature_c: float, tmp_path: Path) -> None:
    text = drive_text(kind, 7, closure="at notch")
    file = tmp_path / "drive.toml"
    file.write_text(text, encoding="utf-8")
    belt = answer_of(solve_drive(file, temperature_c))["belts"][0]
    slow = SlowDrive(text, temperature_c)
    compare(belt, slow)
    assert all(fit["probability"] is None for fit in belt["fits"])
    if temperature_c == 20.0:
        assert belt["tensioner"]["pointer_deg" if kind != "slide" else "pointer_mm"] == 0
        assert belt["closure"]["u_mm"] == six_digits(slow.u_length(0.0))


def compare(belt: dict, slow: SlowDrive) -> None:
    found, wanted = belt["tensioner"], slow.answer()
    in_mm = found["kind"] == "slide"
    assert found["pointer_mm" if in_mm else "pointer_deg"] == six_digits(wanted["pointer"])
    for key in ("length_mm", "path_length_mm"):
        assert belt[key] == six_digits(wanted[key]), key
    for key in ("tension_n", "n_per_deg", "n_per_k", "deg_per_k", "deg_per_mm_belt", "n_per_mm_belt"):
        assert found[key] == pytest.approx(wanted[key], rel=1e-6, abs=1e-7), key
    assert found["centre_mm"] == six_digits(wanted["centre_mm"])
    if wanted["closure"] is None:
        assert belt["closure"] is None
    else:
        assert belt["closure"]["offset_mm"] == six_digits(wanted["closure"])
    assert found["adjuster_deg"] == (None if wanted["adjuster_deg"] is None else six_digits(wanted["adjuster_deg"]))
    assert [span["length_mm"] for span in belt["spans"]] == six_digits(wanted["spans"])
    assert [pulley["wrap_deg"] for pulley in belt["pulleys"]] == six_digits(wanted["wraps"])
    if found["kind"] == "hydraulic":
        assert found["protrusion_mm"] == six_digits(6.5 + slow.ram(wanted["pointer"]) - slow.ram(0.0, 1.0))
    compare_bands(found, wanted)


def compare_bands(found: dict, wanted: dict) -> None:
    if found["low_n"] is None:
        assert found["high_n"] is found["window"] is found["settled"] is None
        return
    assert [found["low_n"], found["high_n"]] == six_digits([wanted["low_n"], wanted["high_n"]])
    assert [found["settled"][key] for key in ("low_n", "high_n", "low_pointer", "high_pointer")] == six_digits(
        wanted["settled"]
    )
    if wanted["window"] is None:
        assert found["window"] is None
    else:
        window = found["window"]
        assert window["reached"] == six_digits(wanted["window"][2:])
        # where the adjuster runs out of lever inside the window, two of its angles give nearly the same last pointer
        cut = window["reached"][0] not in (-5.0, -3.0, -1.5)
        near = pytest.approx(wanted["window"][:2], rel=1e-5 if cut else 2e-7)
        assert [window["low_n"], window["high_n"]] == near


@pytest.mark.parametrize("kind", ["locked target", "double", "arm", "slide"])
def test_tooth_counts_that_fit(kind: str, tmp_path: Path) -> None:
    text = drive_text(kind, 5)
    file = tmp_path / "drive.toml"
    file.write_text(text, encoding="utf-8")
    belt = answer_of(solve_drive(file))["belts"][0]
    slow = SlowDrive(text).settle()
    fits = {fit["teeth"]: fit for fit in belt["fits"]}
    own = belt["teeth"]
    assert own in fits
    for teeth in range(own - 3, own + 4):
        pointer = refitted(slow, teeth)
        assert (teeth in fits) == (pointer is not None), teeth
        if pointer is not None:
            fit = fits[teeth]
            assert fit["pointer_mm" if kind == "slide" else "pointer_deg"] == six_digits(pointer)
            assert fit["probability"] == pytest.approx(slow.probability(teeth), rel=1e-6)


def refitted(slow: SlowDrive, teeth: int) -> float | None:
    """Pointer at which a belt of another tooth count can be set, None where it cannot."""
    if slow.kind == "locked eccentric":
        found = slow.locked_at(slow.tensioner["target_n"], teeth)
        return None if math.isnan(found) else found
    try:
        if slow.kind == "double eccentric" and not math.isnan(slow.adjuster_for(0.0, teeth)):
            return 0.0
        ends = slow.tensioner.get("adjuster_range_deg", [slow.alpha])
        return min((slow.rest(alpha=end, teeth=teeth) for end in ends), key=abs)
    except ValueError:
        return None
