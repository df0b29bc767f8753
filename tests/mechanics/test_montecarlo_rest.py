"""Draws over all tolerances: every draw is the solved drive with those numbers, and small ones follow the gradient."""

from __future__ import annotations

import re

import numpy as np
import pytest
from tests.mechanics.mechanic_drives import drive_text

from twoturn.drive.load import read_drive
from twoturn.errors import DomainError
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.spread.montecarlo import sensitivities, spread_of_rest

KINDS = ["locked set", "locked target", "double", "double reacts", "arm", "arm locked", "slide", "ram"]


def with_uncertainties(text: str, mm: float, stiffness_n: float = 15e3) -> str:
    """Every coordinate and the stiffness with a standard uncertainty."""
    for key in ("at_mm", "bolt_mm", "pivot_mm", "base_mm", "at_notch_mm"):
        text = re.sub(rf"^({key} = .*)$", rf"\1\n{key}_u = {mm}", text, flags=re.M)
    return re.sub(r"^(stiffness_n = .*)$", rf"\1\nstiffness_n_u = {stiffness_n}", text, flags=re.M)


@pytest.mark.parametrize("warmer_k", [0.0, 45.0])
@pytest.mark.parametrize("kind", KINDS)
def test_a_draw_is_the_drive_with_those_numbers(kind: str, warmer_k: float) -> None:
    text = with_uncertainties(drive_text(kind, 4), 0.05)
    drive = read_drive(text, "drive.toml")
    spread = spread_of_rest(drive, drive.belts[0], np.random.default_rng(8), warmer_k=warmer_k, draws=40)
    assert spread.kept > 0.8
    for draw in np.nonzero(spread.cases.good)[0][:4]:
        other = read_drive(redrawn(text, drive, draw), "drive.toml")
        rest = belt_at_rest(other, other.belts[0], warmer_k)
        assert rest.tension_n == pytest.approx(spread.cases.tension_n[draw], rel=1e-8)
        assert rest.tensioners[0].rest.pointer == pytest.approx(spread.cases.pointer[draw], abs=1e-7)


def redrawn(text: str, drive: object, draw: int) -> str:
    """The file with the numbers of one draw written in."""
    from twoturn.mechanics.spread.inputs import uncertain_inputs

    generator = np.random.default_rng(8)
    inputs = uncertain_inputs(drive, drive.belts[0])  # type: ignore[attr-defined, arg-type]
    drawn = {item.key: item.value + item.u * generator.standard_normal(40)[draw] for item in inputs}
    for (table, name, key), value in drawn.items():
        if key.endswith(".x"):
            point, y = key[:-2], drawn[table, name, key[:-1] + "y"]
            anchor = f'id = "{name}"' if table == "pulley" else "[[tensioner]]"
            head, tail = text.split(anchor, 1)
            text = (
                head + anchor + re.sub(rf"^{point} = .*$", f"{point} = [{value!r}, {y!r}]", tail, count=1, flags=re.M)
            )
        elif not key.endswith(".y"):
            text = re.sub(rf"^{key} = .*$", f"{key} = {value!r}", text, count=1, flags=re.M)
    return text.replace("np.float64(", "").replace(")", "")


@pytest.mark.parametrize("kind", KINDS)
def test_small_tolerances_follow_the_gradient(kind: str) -> None:
    drive = read_drive(with_uncertainties(drive_text(kind, 6), 0.003, 3e3), "drive.toml")
    belt = drive.belts[0]
    spread = spread_of_rest(drive, belt, np.random.default_rng(2), warmer_k=30.0, draws=20_000)
    first_order = np.sqrt(sum(row.tension_u_n**2 for row in sensitivities(drive, belt, warmer_k=30.0)))
    assert spread.tension_u_n == pytest.approx(first_order, rel=0.03)
    low, high = spread.tension_interval_n
    assert (high - low) / 2 == pytest.approx(1.96 * first_order, rel=0.04)


def test_unknown_coordinates_leave_a_sprung_pointer_wide_open() -> None:
    """Derived: centres to 1 mm leave some 4 mm of path, which is tens of degrees on an automatic roller."""
    drive = read_drive(drive_text("double reacts", 3), "drive.toml")
    spread = spread_of_rest(drive, drive.belts[0], np.random.default_rng(1), draws=5000)
    assert spread.pointer_u > 10


def test_says_why_it_cannot_be_drawn() -> None:
    text = drive_text("arm", 1).replace("stiffness_n =", "bending_n_m2 = 0.01 #")
    drive = read_drive(text, "drive.toml")
    with pytest.raises(DomainError, match="stiffness_n"):
        spread_of_rest(drive, drive.belts[0], np.random.default_rng(1))
