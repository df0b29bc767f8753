"""Shifts of cams that a job's sensor recordings show, against every authority, and what speaks against them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, Literal

from twoturn.capture.cams import CamEdge
from twoturn.capture.shift.match import GAP_SEEN_DEG, Expected
from twoturn.capture.shift.named import Rival
from twoturn.capture.turning.regime import Regime, Unlike, unlike
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.job.checks.base import Case, sentence
from twoturn.job.checks.laid_over import Laid, laid_over
from twoturn.job.checks.phase_doubts import Round, doubt_of, judged_round
from twoturn.job.checks.readings import DOUBT
from twoturn.job.checks.shafts import MARK_TEETH
from twoturn.job.checks.unread import unread_words
from twoturn.job.entries.record import Reference
from twoturn.job.entries.recordings import Capture, CaptureReading, EdgeReading
from twoturn.job.entries.recordings import Regime as Told
from twoturn.job.order import Act
from twoturn.job.state import Standing, Touched
from twoturn.quantity.reading import Reading

RECORD_AGAIN: Final = "Look at file, channel and edge, record it again, or leave the recording out with its reason."
U_OTHER_ENGINE_DEG: Final = 0.5
"""What two engines of one type differ by: belt length, mesh play, sensor places [crank degrees] (judgement)."""

LIKE: Final = Unlike(0.0, (), True)

Authority = Literal["maker", "reference", "as found"]


@dataclass(frozen=True)
class Shift:
    """How late a shaft stands against an authority.

    Attributes
    ----------
    shaft
        The shaft's id.
    authority
        Whose angle it is compared with.
    reading
        The shift [crank degrees, positive late].
    half_width_deg
        What is allowed either way [crank degrees]; None where nothing is.
    source
        Where the authority's angle comes from.
    act
        The recording.
    doubt
        Why the shift may be none, in one sentence; empty where it is one.
    surplus
        What to say of more edges than were expected; empty where there are none.
    alike
        False when rising and falling edges moved oppositely: the sensor's gap, not the timing.
    next
        What to do about the doubt; empty where the usual words do.
    notes
        What was added to the doubt for unlike regimes, and what the compression wave says.
    rivals
        What would explain the shift as well as a belt tooth.
    needs_witness
        Whether a mark or a pin must stand behind it before a belt comes off: it is also whole places of the crank
        wheel, or a phaser out of its locked place.
    """

    shaft: str
    authority: Authority
    reading: Reading
    half_width_deg: float | None
    source: str
    act: Act
    alike: bool = True
    doubt: str = ""
    surplus: str = ""
    next: str = ""
    notes: tuple[str, ...] = ()
    rivals: tuple[Rival, ...] = ()
    needs_witness: bool = False


def shifts_of(case: Case) -> tuple[tuple[Shift, ...], dict[str, Standing]]:
    """Every shift that the last valid recordings show, and why other recordings do not count, by shaft.

    Parameters
    ----------
    case
        The job.
    """
    found: list[Shift] = []
    failing: dict[str, Standing] = {}
    for act in case.timeline.acts:
        entry = act.entry
        if not isinstance(entry, Capture) or act.number in case.timeline.left_out:
            continue
        if entry.reading is None:
            failing |= {} if entry.as_found else _unread(act, entry, case)
            continue
        standings = {}
        for shaft in by_shaft(entry.reading.edges, case):
            touched = Touched("cam phase", case.places.belts_of(shaft), shaft)
            standings[shaft] = case.state.standing(act, touched, "after turns")
        mine = [shift for shift in _against_all(case, act, entry) if standings[shift.shaft].counts]
        found.extend(mine)
        if not entry.as_found:
            failing |= _unlike(standings, mine, case)
    return tuple(found), failing


def _unread(act: Act, entry: Capture, case: Case) -> dict[str, Standing]:
    """Why a recording that was made but gave no reading shows nothing, by shaft."""
    named = [case.places.shaft_of(name) or name for name in entry.cams or {}]
    shafts = named or [shaft.id for shaft in case.drive.shafts if shaft.role == "camshaft"]
    found = unread_words(act, case)
    return dict.fromkeys(shafts, Standing(False, found.why, found.next, 6))


def _unlike(standings: dict[str, Standing], mine: list[Shift], case: Case) -> dict[str, Standing]:
    """Why a recording that was read shows nothing of a shaft, by shaft: it is void, or lacks the maker's edges."""
    failing = {shaft: one for shaft, one in standings.items() if not one.counts}
    timing = case.drive.file.timing
    if timing.gap_to_tdc_deg is None:
        why = "Without gap_to_tdc_deg in the drive file the maker's edges cannot be compared."
        lacking = Standing(False, why, "Take it from the vehicle maker's data into the drive file.", 6)
    else:
        lacking = Standing(False, "The recording shows no edge that fits the maker's.", RECORD_AGAIN, 7)
    shown = {shift.shaft for shift in mine}
    return {shaft: lacking for shaft in standings if shaft not in shown} | failing


def _against_all(case: Case, act: Act, entry: Capture) -> list[Shift]:
    """The shifts of every shaft of a recording against every authority there is."""
    return [*_maker(case, act, entry), *_reference(case, act, entry), *_as_found(case, act, entry)]


@dataclass(frozen=True)
class _Basis:
    """What a recording is compared with.

    Attributes
    ----------
    authority, source
        Whose angle it is, and where it stands.
    wanted
        The edges expected, by shaft.
    added
        What unlike regimes and engines add.
    then
        The reading compared with, where it is a recording.
    """

    authority: Authority
    source: str
    wanted: dict[str, list[Expected]]
    added: Unlike = LIKE
    then: CaptureReading | None = None


def _maker(case: Case, act: Act, entry: Capture) -> list[Shift]:
    """Against the edges of ``[timing]``: they need ``gap_to_tdc_deg``, where TDC lies after the recording's zero."""
    timing = case.drive.file.timing
    if timing.gap_to_tdc_deg is None:
        return []
    cams = [shaft.id for shaft in case.drive.shafts if shaft.role == "camshaft"]
    wanted: dict[str, list[Expected]] = {}
    for edge in timing.cam_edges:
        shaft = edge.shaft or (cams[0] if len(cams) == 1 else None)
        if shaft is not None:
            expected = Expected(edge.edge, edge.angle_deg + timing.gap_to_tdc_deg, 0.0)
            wanted.setdefault(case.places.shaft_of(shaft) or shaft, []).append(expected)
    widths = {shaft: min(e.tolerance_deg for e in timing.cam_edges if e.shaft in (shaft, None)) for shaft in wanted}
    found = _shifts(case, act, entry, _Basis("maker", case.source, wanted))
    return [replace(shift, half_width_deg=widths[shift.shaft]) for shift in found]


def _reference(case: Case, act: Act, entry: Capture) -> list[Shift]:
    for one in reversed(case.timeline.acts):
        ref = one.entry
        if not isinstance(ref, Reference):
            continue
        added = unlike(_regime(act, entry, case), _told(ref.regime))
        added = replace(added, u=math.hypot(U_OTHER_ENGINE_DEG, added.u))
        wanted = {shaft: _expected(edges) for shaft, edges in by_shaft(ref.edges, case).items()}
        found = _shifts(case, act, entry, _Basis("reference", ref.source, wanted, added))
        if found:
            return [replace(shift, half_width_deg=_quarter_tooth(case, shift.shaft)) for shift in found]
    return []


def _as_found(case: Case, act: Act, entry: Capture) -> list[Shift]:
    """Against the same engine before the work; it proves something only where marks or pins were right then."""
    for one in case.timeline.acts:
        old = one.entry
        if not isinstance(old, Capture) or old.reading is None or one is act:
            continue
        if not case.state.standing(one, Touched("cam phase", case.places.every_belt), "as found").counts:
            continue
        wanted = {shaft: _expected(edges) for shaft, edges in by_shaft(old.reading.edges, case).items()}
        added = unlike(_regime(act, entry, case), _regime(one, old, case))
        out = []
        for shift in _shifts(case, act, entry, _Basis("as found", "as found", wanted, added, old.reading)):
            right = _right_as_found(case, shift.shaft)
            source = "as found, marks or pins right" if right else "as found"
            width = _quarter_tooth(case, shift.shaft) if right else None
            out.append(replace(shift, source=source, half_width_deg=width))
        return out
    return []


def _shifts(case: Case, act: Act, entry: Capture, basis: _Basis) -> list[Shift]:
    """The shifts of a recording against one authority; the width allowed is left open."""
    if entry.reading is None:
        return []
    seen = {
        shaft: [CamEdge(edge.edge, edge.angle_deg, edge.u_deg, 0.0, 1) for edge in edges]
        for shaft, edges in by_shaft(entry.reading.edges, case).items()
        if shaft in basis.wanted
    }
    found = laid_over(_wanted(basis.wanted, entry.reading), seen, entry.reading.zeros)
    regime = _regime(act, entry, case)
    told = Round(case.drive, entry.reading, basis.then, regime, bool(entry.regime.phaser_locked), found)
    return [_shift(act, basis, told, shaft) for shaft in found]


def _wanted(wanted: dict[str, list[Expected]], reading: CaptureReading) -> dict[str, list[Expected]]:
    """The edges expected, less those that bare times of one kind of edge cannot show."""
    if not reading.bare:
        return wanted
    kinds = {edge.edge for edge in reading.edges}
    left = {shaft: [edge for edge in edges if edge.edge in kinds] for shaft, edges in wanted.items()}
    return {shaft: left[shaft] or edges for shaft, edges in wanted.items()}


def _shift(act: Act, basis: _Basis, told: Round, shaft: str) -> Shift:
    laid: Laid = told.found[shaft]
    match = laid.match
    reading = Reading(match.shift_deg, math.hypot(match.u, basis.added.u), "°", source="sensor recording")
    doubt, act_on_it = doubt_of(told, shaft, reading.u)
    judged = judged_round(told, shaft, reading.u)
    doubts = (f"{DOUBT}{sentence(words)}" for words in told.reading.doubts)
    return Shift(
        shaft,
        basis.authority,
        reading,
        None,
        basis.source,
        act,
        abs(match.gap_deg) <= max(GAP_SEEN_DEG, 2 * match.u),
        doubt,
        laid.surplus,
        act_on_it,
        (*(f"{words[0].upper()}{words[1:]}." for words in basis.added.why), *judged.notes, *doubts),
        judged.rivals,
        judged.needs_witness,
    )


def _regime(act: Act, entry: Capture, case: Case) -> Regime:
    """How the engine turned: as entered, else as read from the recording and the temperatures of the job."""
    told = _told(entry.regime)
    rpm = told.rpm or (entry.reading.rpm if entry.reading else None)
    if told.temperature_c is not None:
        return replace(told, rpm=rpm)
    now = case.temperatures.at(act)
    return replace(told, rpm=rpm, temperature_c=now[0].value if len(now) == 1 else None)


def _told(regime: Told) -> Regime:
    return Regime(regime.rpm, regime.temperature_c, regime.cranking)


def by_shaft(edges: Iterable[EdgeReading], case: Case) -> dict[str, list[EdgeReading]]:
    """Edges of a reading by shaft, whatever name of the shaft an entry used."""
    found: dict[str, list[EdgeReading]] = {}
    for edge in edges:
        found.setdefault(case.places.shaft_of(edge.shaft) or edge.shaft, []).append(edge)
    return found


def _expected(edges: list[EdgeReading]) -> list[Expected]:
    return [Expected(edge.edge, edge.angle_deg, edge.u_deg) for edge in edges]


def _right_as_found(case: Case, shaft: str) -> bool:
    """Whether a mark or pin of the shaft was entered as right before anything was loosened."""
    for item in case.of("mark", "pin"):
        right = item.yes or (item.value is not None and abs(item.value.value) <= MARK_TEETH)
        if right and item.shaft == shaft and case.state.standing(item.act, item.touched, "as found").counts:
            return True
    return False


def _quarter_tooth(case: Case, shaft: str) -> float | None:
    step = shaft_deg_per_tooth(case.drive, case.drive.shaft(shaft))
    return None if step is None else MARK_TEETH * float(step)
