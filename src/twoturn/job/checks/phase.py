"""Cam phase from sensor recordings, by authority: the maker's angle, a proven reference, the same engine as found."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, Literal

from twoturn.capture.cams import CamEdge
from twoturn.capture.match import Expected
from twoturn.drive.parts import Shaft
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.job.checks.base import Case, Check
from twoturn.job.checks.laid_over import Laid, laid_over
from twoturn.job.checks.phase_support import REST_SIGMA_DEG, is_supported
from twoturn.job.checks.shafts import MARK_TEETH
from twoturn.job.checks.unread import unread_words
from twoturn.job.entries.record import Reference
from twoturn.job.entries.recordings import Capture, EdgeReading, Regime
from twoturn.job.evidence import Evidence
from twoturn.job.order import Act
from twoturn.job.places import check_slug
from twoturn.job.state import Standing, Touched
from twoturn.plan.wording import shaft_name
from twoturn.quantity.combine import combine
from twoturn.quantity.conformity import Limits, Verdict, decide, too_coarse
from twoturn.quantity.reading import Reading
from twoturn.timing.whole_teeth import whole_teeth
from twoturn.words.numbers import phase_words, plain, teeth_words, with_unit

_RECORD_AGAIN: Final = "Look at file, channel and edge, record it again, or leave the recording out with its reason."

Authority = Literal["maker", "reference", "as found"]

LIKE_SPEED: Final = 0.20
LIKE_TEMPERATURE_K: Final = 15.0
GROWTH_DEG_PER_K: Final = 0.017
"""Shift of a cam by growth of the block [crank degrees per kelvin] on a common layout."""
U_OTHER_REGIME_DEG: Final = 0.5
"""What tension, belt length, sensor delay and mesh play add in unlike regimes [crank degrees] (judgement)."""
U_OTHER_ENGINE_DEG: Final = 0.5
"""What two engines of one type differ by: belt length, mesh play, sensor places [crank degrees] (judgement)."""
_OTHER_WHEEL: Final = "The crank wheel is not that of the recording as found: another engine or channel."
_TAKE_OFF: Final = "Find the shaft that is out; take the belt off and fit it again before the engine is cranked."
_MARKS_FIRST: Final = "Do not crank: look at the marks first. A sensor, its wheel or another engine can look the same."


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
        for shaft in _by_shaft(entry.reading.edges, case):
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
        lacking = Standing(False, "The recording shows no edge that fits the maker's.", _RECORD_AGAIN, 7)
    shown = {shift.shaft for shift in mine}
    return {shaft: lacking for shaft in standings if shaft not in shown} | failing


def _against_all(case: Case, act: Act, entry: Capture) -> list[Shift]:
    """The shifts of every shaft of a recording against every authority there is."""
    return [*_maker(case, act, entry), *_reference(case, act, entry), *_as_found(case, act, entry)]


def _by_shaft(edges: Iterable[EdgeReading], case: Case) -> dict[str, list[EdgeReading]]:
    found: dict[str, list[EdgeReading]] = {}
    for edge in edges:
        found.setdefault(case.places.shaft_of(edge.shaft) or edge.shaft, []).append(edge)
    return found


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
    return [
        _shift_of(act, "maker", shaft, match, extra_u=0.0, width=widths[shaft], source=case.source)
        for shaft, match in _laid_over(entry, wanted, case).items()
    ]


def _reference(case: Case, act: Act, entry: Capture) -> list[Shift]:
    for one in reversed(case.timeline.acts):
        ref = one.entry
        if not isinstance(ref, Reference):
            continue
        u = math.hypot(U_OTHER_ENGINE_DEG, unlike_u(_regime(act, entry, case), ref.regime))
        wanted = {shaft: _expected(edges) for shaft, edges in _by_shaft(ref.edges, case).items()}
        found = _laid_over(entry, wanted, case)
        if found:
            return [
                _shift_of(
                    act, "reference", shaft, match, extra_u=u, width=_quarter_tooth(case, shaft), source=ref.source
                )
                for shaft, match in found.items()
            ]
    return []


def _as_found(case: Case, act: Act, entry: Capture) -> list[Shift]:
    """Against the same engine before the work; it proves something only where marks or pins were right then."""
    for one in case.timeline.acts:
        old = one.entry
        if not isinstance(old, Capture) or old.reading is None or one is act:
            continue
        if not case.state.standing(one, Touched("cam phase", case.places.every_belt), "as found").counts:
            continue
        wanted = {shaft: _expected(edges) for shaft, edges in _by_shaft(old.reading.edges, case).items()}
        found = _laid_over(entry, wanted, case)
        if entry.reading is not None and entry.reading.zeros != old.reading.zeros:
            found = {shaft: replace(laid, doubt=_OTHER_WHEEL) for shaft, laid in found.items()}
        u = unlike_u(_regime(act, entry, case), _regime(one, old, case))
        out = []
        for shaft, match in found.items():
            right = _right_as_found(case, shaft)
            source = "as found, marks or pins right" if right else "as found"
            width = _quarter_tooth(case, shaft) if right else None
            out.append(_shift_of(act, "as found", shaft, match, extra_u=u, width=width, source=source))
        return out
    return []


def _regime(act: Act, entry: Capture, case: Case) -> Regime:
    """How the engine turned: as entered, else as read from the recording and the temperatures of the job."""
    told = entry.regime
    rpm = told.rpm or (entry.reading.rpm if entry.reading else None)
    if told.temperature_c is not None:
        return Regime(rpm=rpm, temperature_c=told.temperature_c)
    now = case.temperatures.at(act)
    return Regime(rpm=rpm, temperature_c=now[0].value if len(now) == 1 else None)


def _expected(edges: list[EdgeReading]) -> list[Expected]:
    return [Expected(edge.edge, edge.angle_deg, edge.u_deg) for edge in edges]


def _laid_over(entry: Capture, wanted: dict[str, list[Expected]], case: Case) -> dict[str, Laid]:
    """How the recording's edges lie over the expected ones, by shaft."""
    if entry.reading is None:
        return {}
    seen = {
        shaft: [CamEdge(edge.edge, edge.angle_deg, edge.u_deg, 0.0, 1) for edge in edges]
        for shaft, edges in _by_shaft(entry.reading.edges, case).items()
        if shaft in wanted
    }
    return laid_over(wanted, seen, entry.reading.zeros)


def _shift_of(
    act: Act, authority: Authority, shaft: str, laid: Laid, *, extra_u: float, width: float | None, source: str
) -> Shift:
    match = laid.match
    reading = Reading(match.shift_deg, math.hypot(match.u, extra_u), "°", source="sensor recording")
    alike = abs(match.gap_deg) <= max(0.5, 2 * match.u)
    return Shift(shaft, authority, reading, width, source, act, alike, laid.doubt, laid.surplus)


def _right_as_found(case: Case, shaft: str) -> bool:
    """Whether a mark or pin of the shaft was entered as right before anything was loosened."""
    for item in case.of("mark", "pin"):
        right = item.yes or (item.value is not None and abs(item.value.value) <= MARK_TEETH)
        if right and item.shaft == shaft and case.state.standing(item.act, item.touched, "as found").counts:
            return True
    return False


def unlike_u(one: Regime, other: Regime) -> float:
    """Standard uncertainty [crank degrees] that unlike regimes add to a comparison; 0 for like ones."""
    if one.rpm is None or other.rpm is None or one.temperature_c is None or other.temperature_c is None:
        return U_OTHER_REGIME_DEG
    apart_k = abs(one.temperature_c - other.temperature_c)
    like_speed = abs(one.rpm - other.rpm) <= LIKE_SPEED * max(one.rpm, other.rpm)
    if like_speed and apart_k <= LIKE_TEMPERATURE_K:
        return 0.0
    return math.hypot(U_OTHER_REGIME_DEG, GROWTH_DEG_PER_K * apart_k)


def _quarter_tooth(case: Case, shaft: str) -> float | None:
    step = shaft_deg_per_tooth(case.drive, case.drive.shaft(shaft))
    return None if step is None else MARK_TEETH * float(step)


def check_phases(case: Case) -> tuple[list[Check], list[Shift], list[Evidence]]:
    """Checks of cam phase, shifts without a requirement, and shifts as readings for requirements on cam phase.

    Parameters
    ----------
    case
        The job.
    """
    shifts, failing = shifts_of(case)
    checks = []
    for shaft in case.drive.shafts:
        mine = [shift for shift in shifts if shift.shaft == shaft.id]
        has_edges = any(edge.shaft in (shaft.id, None) for edge in case.drive.file.timing.cam_edges)
        if mine or (has_edges and shaft.role == "camshaft"):
            checks.append(_check(shaft, mine, failing.get(shaft.id), case))
    sure = [shift for shift in shifts if not shift.doubt]
    loose = [shift for shift in sure if shift.half_width_deg is None]
    evidence = [
        Evidence(
            shift.act, "cam phase", shift.shaft, case.places.belts_of(shift.shaft), shift.shaft, value=shift.reading
        )
        for shift in sure
        if shift.authority == _best([other for other in sure if other.shaft == shift.shaft])
    ]
    return checks, loose, evidence


def _best(shifts: list[Shift]) -> Authority | None:
    order: tuple[Authority, ...] = ("maker", "reference", "as found")
    bound = [shift.authority for shift in shifts if shift.half_width_deg is not None]
    return next((authority for authority in order if authority in bound), None)


def _check(shaft: Shaft, shifts: list[Shift], failing: Standing | None, case: Case) -> Check:
    shifts = [shift for shift in shifts if not shift.doubt] or shifts
    best = _best(shifts)
    used = [shift for shift in shifts if shift.authority == best]
    name = shaft_name(case.drive, shaft).removeprefix("the ")
    check = Check(
        f"phase-{check_slug(shaft.id)}",
        f"Timing of the {name} by sensor recording",
        "prove",
        False,
        Verdict.NOT_SHOWN,
        None,
        None,
        "No sensor recording after the turns is entered; marks or pins show the timing.",
        "Record crank and cam sensor after the turns, in the same regime, and enter the file.",
        source=case.source,
        kind="maker",
        method="measured",
    )
    if failing is not None and not shifts:
        return check.but(required=True, why=failing.why, next=failing.next)
    if best is None or not used:
        if shifts and shifts[0].doubt:
            return check.but(why=shifts[0].doubt, next=_RECORD_AGAIN)
        if shifts:
            shown = phase_words(shifts[0].reading.value).capitalize()
            why = f"{shown} against the recording as found: that says only whether it changed since arrival."
            return check.but(why=why, next="Enter a proven reference, or the marks as found.")
        return check
    if used[0].doubt:
        entries = tuple(shift.act.number for shift in used)
        act = f"{_MARKS_FIRST} {_RECORD_AGAIN}"
        return check.but(required=best == "maker", why=used[0].doubt, next=act, entries=entries)
    return _judged(check, shaft, used, case)


def _judged(check: Check, shaft: Shaft, used: list[Shift], case: Case) -> Check:
    combined = combine([shift.reading for shift in used])
    reading, width = combined.reading, used[0].half_width_deg or 0.0
    limits = Limits(-width, width, "°")
    verdict = decide(reading, limits) if combined.consistent else Verdict.NOT_SHOWN
    is_maker = used[0].authority == "maker"
    shown = shift_words(reading)
    against = {"maker": "the maker's angle", "reference": "a proven recording", "as found": "the recording as found"}
    default = "" if is_maker else " (default)"
    why = f"{shown.capitalize()} against {against[used[0].authority]}; allowed ± {plain(width, 2)}°{default}."
    if not combined.consistent:
        why = "The recordings disagree by more than their uncertainty."
    notes = (*_teeth_note(reading, shaft, case), *_gap_note(used))
    if too_coarse(reading, limits):
        notes = (*notes, "Tool or method too coarse: U is over a quarter of the requirement's width.")
    notes = (*notes, *dict.fromkeys(shift.surplus for shift in used if shift.surplus))
    is_sure = is_supported(reading, shaft, case)
    act = _TAKE_OFF if is_sure else _MARKS_FIRST
    if verdict is Verdict.NOT_MET and not is_sure and any(shift.surplus for shift in used):
        verdict, why = Verdict.NOT_SHOWN, f"{why} It may be another edge, or another engine's recording."
    return check.but(
        required=is_maker or verdict is Verdict.NOT_MET,
        verdict=verdict,
        reading=shown,
        requirement=f"within {plain(width, 2)}° of {against[used[0].authority]}",
        why=why,
        next={Verdict.PROVEN: "", Verdict.NOT_MET: act}.get(
            verdict, _MARKS_FIRST if not is_sure and "another engine" in why else "Record it again, in the same regime."
        ),
        value=reading,
        limits=limits,
        source=used[0].source,
        kind="maker" if is_maker else "default",
        entries=tuple(shift.act.number for shift in used),
        notes=notes,
    )


def shift_words(reading: Reading) -> str:
    """A shift [crank degrees] as a sheet prints it: ``8.2° crank late ± 0.1°``."""
    return f"{phase_words(reading.value)} ± {with_unit(reading.expanded, '°', 2)}"


def _teeth_note(reading: Reading, shaft: Shaft, case: Case) -> tuple[str, ...]:
    step = shaft_deg_per_tooth(case.drive, shaft)
    if step is None:
        return ()
    teeth, probability = whole_teeth(reading.value, reading.u, float(step), REST_SIGMA_DEG)
    if teeth == 0:
        return ()
    sure = "more than 99" if probability > 0.99 else plain(100 * probability, 0)
    return (f"As whole teeth: {teeth_words(teeth)} ({sure} % sure).",)


def _gap_note(used: list[Shift]) -> tuple[str, ...]:
    if all(shift.alike for shift in used):
        return ()
    return ("Rising and falling edges moved oppositely: the sensor's gap has changed too.",)
