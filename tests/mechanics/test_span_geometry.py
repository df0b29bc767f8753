"""The free span a note is taken from: its length and how sure that is."""

from __future__ import annotations

import re

import numpy as np
import pytest
from tests.mechanics.mechanic_drives import drive_text

from twoturn.drive.load import read_drive
from twoturn.drive.path import belt_path
from twoturn.errors import DomainError
from twoturn.mechanics.answers.spans import span_geometry
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.rest.known import BeltAtRest


def at_rest(text: str) -> BeltAtRest:
    drive = read_drive(text, "drive.toml")
    return belt_at_rest(drive, drive.belts[0])


def test_length_ends_and_uncertainty() -> None:
    text = re.sub(r"^(at_mm = .*)$", r"\1\nat_mm_u = [0.1, 0.3]", drive_text("arm", 1), flags=re.M)
    rest = at_rest(re.sub(r"^(pivot_mm = .*)$", r"\1\npivot_mm_u = 0.2", text, flags=re.M))
    assert rest.shape is not None
    found = span_geometry(rest, "crank:roller")
    assert found.toothed_ends == (True, False)
    assert found.length_mm == pytest.approx(float(rest.shape.path.spans_mm[0]))
    square, step = 0.0, 1e-4
    for index, axis, u in ((0, 1, 0.1), (0, 1j, 0.3), (1, 1, 0.2), (1, 1j, 0.2)):
        push = np.zeros(len(rest.shape.centres), dtype=complex)
        push[index] = axis * step
        ends = [
            belt_path(rest.shape.centres + sign * push, rest.shape.radii_mm, rest.shape.path.inside, 1).spans_mm[0]
            for sign in (1, -1)
        ]
        square += ((ends[0] - ends[1]) / (2 * step) * u) ** 2
    assert found.u_mm == pytest.approx(np.sqrt(square), rel=1e-6)


def test_no_such_span() -> None:
    with pytest.raises(DomainError, match="crank:roller"):
        span_geometry(at_rest(drive_text("arm", 1)), "roller:crank")
