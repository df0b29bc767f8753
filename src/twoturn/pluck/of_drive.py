"""The spans of a drive as the tension formula needs them, and the note each is to give."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from twoturn.drive.model.tensioners import LockedEccentric
from twoturn.drive.parts import Belt, Drive
from twoturn.errors import DomainError
from twoturn.mechanics.answers.band import tension_band
from twoturn.mechanics.answers.spans import SpanGeometry, span_geometry
from twoturn.mechanics.rest.known import BeltAtRest, Resting
from twoturn.mechanics.setting.closing import DOUBT
from twoturn.pluck.span import Span, mass_from_weighing
from twoturn.pluck.tension import frequency_of
from twoturn.quantity.reading import Reading
from twoturn.words.terms import span_id

MODEL_SHARE = 0.1  # of the tension beside the tensioner: springs and friction of a new one (judgement)
ELSEWHERE_SHARE = 0.3  # further along, where the shafts' torques add and take (judgement)
MEASURED_U_MM = 1.0  # of a free span measured with a rule between the tangent points (judgement)
SHORTEST_MM, LONGEST_MM = 20.0, 2000.0  # a free span of an engine's belt (judgement)
MEASURED = "measure the free span and give it (--length-mm; in an entry length_mm)"
EDGE, MIDDLE = 0.7, 0.4  # of half the range: where a note that fits two spans fits one of them better (judgement)


@dataclass(frozen=True)
class ExpectedNote:
    """The note a span is to give when the tensioner stands as it should.

    Attributes
    ----------
    span
        The span.
    frequency
        Note at rest [Hz]; None where the drive does not tell a tension or a mass.
    low_hz, high_hz
        Over the tensioner's window with friction, widened by what is not known of span and belt [Hz].
    beside_tensioner
        Whether the span ends at the tensioner: only there the tensioner alone sets the tension.
    reachable
        Whether the drive file says that the span can be plucked; None where it says nothing.
    tension_n
        Tension at rest [N]; None where the drive does not tell it.
    """

    span: Span
    frequency: Reading | None
    low_hz: float | None
    high_hz: float | None
    beside_tensioner: bool
    reachable: bool | None
    tension_n: float | None = None

    def holds(self, frequency: Reading) -> bool | None:
        """Whether a note lies in the range expected here; None where no range is known."""
        if self.low_hz is None or self.high_hz is None:
            return None
        return frequency.high >= self.low_hz and frequency.low <= self.high_hz

    def away(self, frequency: Reading) -> float:
        """How far a note lies from the middle of the range, 1 at its ends [-]; infinite where no range is known."""
        if not self.low_hz or self.high_hz is None or self.high_hz <= self.low_hz:
            return math.inf
        middle, half = math.log(self.low_hz * self.high_hz) / 2, math.log(self.high_hz / self.low_hz) / 2
        return abs(math.log(frequency.value) - middle) / half

    def as_json(self) -> dict[str, Any]:
        """Span, length and note for the command line's JSON."""
        return {
            "span": self.span.name,
            "length_mm": self.span.length_mm,
            "length_u_mm": self.span.length_u_mm,
            "frequency_hz": None if self.frequency is None else self.frequency.as_json(),
            "low_hz": self.low_hz,
            "high_hz": self.high_hz,
            "beside_tensioner": self.beside_tensioner,
            "reachable": self.reachable,
        }


def check_length(length_mm: float | None) -> None:
    """Refuse a measured free span [mm] that no engine's belt has; None, not measured, passes."""
    if length_mm is not None and not SHORTEST_MM <= length_mm <= LONGEST_MM:
        lengths = f"{SHORTEST_MM:g} to {LONGEST_MM:g} mm"
        raise DomainError(f"a free span of {length_mm:g} mm", allowed=lengths, next_step="measure it in millimetres")


def span_of(rests: Sequence[BeltAtRest], name: str, length_mm: float | None = None) -> Span:
    """The span of a drive with that name.

    Parameters
    ----------
    rests
        The drive's belts at rest.
    name
        Two neighbours of a belt, ``"crank:tensioner"``, in either order.
    length_mm
        Its free length as measured [mm]; None to take it from the drive's geometry.

    Returns
    -------
    Span
        Length, ends, mass and bending as the drive file tells them.

    Raises
    ------
    DomainError
        No such span, or the drive has no coordinates.
    """
    check_length(length_mm)
    asked_for, name = name, span_id(name)
    swapped = ":".join(reversed(name.split(":")))
    known: list[str] = []
    for rest in rests:
        names = span_names(rest.belt)
        known += names
        for asked in (name, swapped):
            if asked in names:
                return _span(rest, asked, length_mm)
    raise DomainError(f'this drive has no span "{asked_for}"', allowed=", ".join(known))


def length_doubts(rests: Sequence[BeltAtRest], name: str, length_mm: float | None) -> tuple[str, ...]:
    """That a free span as measured [mm] is far from what the coordinates make it; empty where they agree or tell none.

    A drive file that contradicts itself is no witness against the rule.
    """
    swapped = ":".join(reversed(name.split(":")))
    for rest in rests if length_mm is not None else ():
        known = next((one for one in (name, swapped) if one in span_names(rest.belt)), None)
        if known is None or rest.shape is None or any(why.startswith(DOUBT) for why in rest.why):
            continue
        drawn = span_geometry(rest, known)
        if length_mm is not None and abs(length_mm - drawn.length_mm) > 3 * math.hypot(MEASURED_U_MM, drawn.u_mm):
            told = f"the free span as measured, {length_mm:g} mm, is not the {drawn.length_mm:.0f} mm of the drive file"
            return (f"{told}: measure again, from tangent point to tangent point, and see which span it is",)
    return ()


def span_names(belt: Belt) -> list[str]:
    """Names of a belt's spans, ``from:to`` along travel."""
    pulleys = belt.pulleys
    return [f"{pulley.id}:{after.id}" for pulley, after in zip(pulleys, (*pulleys[1:], pulleys[0]), strict=True)]


def _geometry(rest: BeltAtRest, name: str, length_mm: float | None) -> SpanGeometry:
    """A span as the drive lays it, or as measured; without either, what to do."""
    if length_mm is not None:
        pulleys = rest.belt.pulleys
        at = span_names(rest.belt).index(name)
        ends = pulleys[at], pulleys[(at + 1) % len(pulleys)]
        return SpanGeometry(ends[0].id, ends[1].id, length_mm, MEASURED_U_MM, (ends[0].toothed, ends[1].toothed))
    if rest.shape is None:
        why = f'the length of the span "{name}" is not known: the drive file gives no coordinates'
        raise DomainError(why, next_step=f"{MEASURED}, or give at_mm or [[distance]] in the file")
    return span_geometry(rest, name)


def _span(rest: BeltAtRest, name: str, length_mm: float | None = None) -> Span:
    geometry = _geometry(rest, name, length_mm)
    table = rest.belt.table
    mass, mass_u = table.mass_kg_per_m, table.uncertainties.get("mass_kg_per_m")
    if mass is None and table.weighed_g is not None and table.pitch_mm is not None:
        scale = table.u_of("weighed_g", 1.0)
        mass, mass_u = mass_from_weighing(table.weighed_g, table.teeth * table.pitch_mm, scale)
    bending_u = table.uncertainties.get("bending_n_m2")
    sprung = {row.pulley for row in rest.belt.tensioners if not isinstance(row, LockedEccentric)}
    return Span(
        length_mm=geometry.length_mm,
        length_u_mm=geometry.u_mm,
        toothed_ends=sum(geometry.toothed_ends),
        pitch_mm=table.pitch_mm,
        mass_kg_per_m=mass,
        mass_u_kg_per_m=None if isinstance(mass_u, list) else mass_u,
        width_mm=table.width_mm,
        bending_n_m2=table.bending_n_m2,
        bending_u_n_m2=None if isinstance(bending_u, list) else bending_u,
        measured=length_mm is not None,
        sprung_end=bool(sprung & {geometry.start, geometry.end}),
        name=name,
    )


def expected_notes(drive: Drive, rests: Sequence[BeltAtRest]) -> list[ExpectedNote]:
    """The note of every span with the tensioner where it should stand.

    Parameters
    ----------
    drive
        The drive.
    rests
        Its belts at rest, at the temperature asked for.

    Returns
    -------
    list of ExpectedNote
        Spans that end at the tensioner first, long ones before short ones: the first is the one worth plucking.
    """
    found = []
    for rest in rests:
        if rest.shape is None:
            continue
        found += [_expected(drive, rest, name) for name in span_names(rest.belt)]
    return sorted(found, key=lambda row: (row.reachable is False, not row.beside_tensioner, -row.span.length_mm))


def _expected(drive: Drive, rest: BeltAtRest, name: str) -> ExpectedNote:
    span = _span(rest, name)
    ends = {pulley.id for pulley in rest.belt.pulleys if pulley.is_tensioner} & set(name.split(":"))
    named = drive.file.access.reachable if drive.file.access else []
    swapped = ":".join(reversed(name.split(":")))
    reachable = (name in named or swapped in named) if named else None
    if rest.tension_n is None or rest.tension_n <= 0 or not span.can_be_weighed:
        return ExpectedNote(span, None, None, None, bool(ends), reachable)
    share = MODEL_SHARE if ends else ELSEWHERE_SHARE
    note = frequency_of(Reading(rest.tension_n, share * rest.tension_n, "N", source="the drive at rest"), span).reading
    low_n, high_n = _window_n(rest)
    centre = rest.tension_n
    low = min(note.low, note.value * (low_n / centre) ** 0.5)
    high = max(note.high, note.value * (high_n / centre) ** 0.5)
    return ExpectedNote(span, note, max(0.0, low), high, bool(ends), reachable, rest.tension_n)


def _window_n(rest: BeltAtRest) -> tuple[float, float]:
    """Least and greatest tension over the tensioner's window with friction; the rest tension where there is none."""
    value = rest.tension_n or 0.0
    lows, highs = [value], [value]
    for tensioner in rest.tensioners if len(rest.tensioners) == 1 else ():
        low, high = _band_n(tensioner, rest.warmer_k)
        lows.append(low if low is not None else value)
        highs.append(high if high is not None else value)
    return max(0.0, min(lows)), max(highs)


def _band_n(tensioner: Resting, warmer_k: float) -> tuple[float | None, float | None]:
    band = tension_band(tensioner, warmer_k)
    if band.window is not None:
        return band.window.low_n, band.window.high_n
    return band.low_n, band.high_n


def span_doubts(frequency: Reading, asked: str | None, notes: Sequence[ExpectedNote]) -> tuple[str, ...]:
    """Which span a note fits, where that is not the one that was named.

    Parameters
    ----------
    frequency
        The note [Hz].
    asked
        Name of the span that was plucked; None where nobody said.
    notes
        What every span is to give.

    Returns
    -------
    tuple of str
        Sentences; empty where the note fits the span named, or nothing is known.
    """
    fitting = [row for row in sorted(notes, key=lambda row: row.away(frequency)) if row.holds(frequency)]
    names = [row.span.name for row in fitting]
    if asked is None:
        if not any(row.low_hz is not None for row in notes):
            return ()
        best = f"the note fits the span {names[0]}" if names else "the note fits no span of this drive"
        return (best + (f" best; {' and '.join(names[1:])} may give it too" if names[1:] else ""),)
    same = {asked, ":".join(reversed(asked.split(":")))}
    mine = next((row for row in notes if row.span.name in same), None)
    if mine is None or mine.low_hz is None:
        return ()
    expected = f"{mine.low_hz:.3g} to {mine.high_hz:.3g} Hz expected there"
    others = [name for name in names if name not in same]
    if mine.holds(frequency):
        if not others or names[0] in same or mine.away(frequency) < EDGE or fitting[0].away(frequency) > MIDDLE:
            return ()
        return (f"the note fits {names[0]} better than {mine.span.name} ({expected}): was that span plucked?",)
    better = f"; it fits {' or '.join(others)} better: was another span plucked?" if others else ""
    return (f"the note lies outside what the drive leads to expect of {mine.span.name} ({expected}){better}",)
