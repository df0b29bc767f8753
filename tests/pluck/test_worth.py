"""Which span is worth plucking, the note to expect of each, and which span a note fits."""

from __future__ import annotations

import dataclasses

import pytest

from twoturn.acts.drive import answer_of, notes_of, solve_drive
from twoturn.pluck.of_drive import ExpectedNote, span_doubts
from twoturn.pluck.span import Span
from twoturn.pluck.worth import reason_for, reasons_against
from twoturn.quantity.reading import Reading


def expected(name: str, low_hz: float, high_hz: float, *, reachable: bool | None = None) -> ExpectedNote:
    """A span of 200 mm whose note lies in the middle of a range."""
    span = Span(200.0, 1.0, 1, 9.525, 0.1, 0.001, 20.0, 0.01, name=name)
    middle = (low_hz * high_hz) ** 0.5
    force_n = 4 * 0.1 * 0.2**2 * middle**2
    return ExpectedNote(span, Reading(middle, 1.0, "Hz"), low_hz, high_hz, True, reachable, force_n)


def heard(hertz: float) -> Reading:
    """A note known to a tenth of a hertz."""
    return Reading(hertz, 0.1, "Hz")


NOTES = (
    expected("cam:roller", 100.0, 130.0),
    expected("crank:cam", 120.0, 180.0),
    expected("pump:crank", 200.0, 250.0),
)


def test_a_note_is_told_the_span_it_fits_best() -> None:
    assert span_doubts(heard(123.0), None, NOTES) == (
        "the note fits the span cam:roller best; crank:cam may give it too",
    )
    assert span_doubts(heard(220.0), None, NOTES) == ("the note fits the span pump:crank",)
    assert span_doubts(heard(400.0), None, NOTES) == ("the note fits no span of this drive",)
    unknown = tuple(dataclasses.replace(row, low_hz=None, high_hz=None) for row in NOTES)
    assert span_doubts(heard(400.0), None, unknown) == ()


def test_another_span_that_fits_better_is_named() -> None:
    (outside,) = span_doubts(heard(225.0), "cam:roller", NOTES)
    assert "outside" in outside
    assert "it fits pump:crank better" in outside
    (edge,) = span_doubts(heard(128.0), "cam:roller", (NOTES[0], expected("crank:cam", 115.0, 142.0)))
    assert edge.startswith("the note fits crank:cam better than cam:roller")
    assert span_doubts(heard(114.0), "roller:cam", NOTES) == ()


def test_short_stiff_slack_and_hidden_spans_are_not_worth_plucking() -> None:
    good = NOTES[0]
    assert reasons_against(good) == []
    assert reasons_against(dataclasses.replace(good, reachable=False)) == ["out of reach by the drive file"]
    stiff = dataclasses.replace(good.span, bending_n_m2=0.5)
    assert "stiff" in reasons_against(dataclasses.replace(good, span=stiff))[0]
    assert "below 30 Hz" in reasons_against(dataclasses.replace(good, frequency=heard(22.0)))[0]
    assert "not known" in reasons_against(dataclasses.replace(good, frequency=None))[0]
    assert "friction" in reason_for(dataclasses.replace(good, span=dataclasses.replace(good.span, sprung_end=True)))
    assert "torques" in reason_for(dataclasses.replace(good, beside_tensioner=False))


def test_each_span_of_a_drive_has_its_note_cold_and_warm() -> None:
    rows = notes_of(solve_drive("alder-one-cam", 60.0))
    assert rows[0].worth
    assert rows[0].name == "roller:camshaft"
    warm, cold = rows[0].now.frequency, rows[0].cold.frequency
    assert warm is not None
    assert cold is not None
    assert warm.value > cold.value  # a fixed roller: the block grows, the belt does not
    answer = answer_of(solve_drive("alder-one-cam", 60.0))["notes"][0]
    assert answer["cold"]["low_hz"] == pytest.approx(rows[0].cold.low_hz)
    assert answer["worth"] is True
    assert notes_of(solve_drive("alder-one-cam"))[0].now.frequency == cold
