"""Cam phase from sensor recordings, by authority: the maker's angle, a proven reference, the same engine as found."""

from __future__ import annotations

import math
from typing import Final

from twoturn.drive.parts import Shaft
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.job.checks.base import Case, Check
from twoturn.job.checks.phase_shifts import RECORD_AGAIN, Authority, Shift, shifts_of
from twoturn.job.checks.phase_support import is_supported
from twoturn.job.evidence import Evidence
from twoturn.job.places import check_slug
from twoturn.job.state import Standing
from twoturn.plan.wording import shaft_name
from twoturn.quantity.combine import combine
from twoturn.quantity.conformity import Limits, Verdict, decide, too_coarse
from twoturn.quantity.reading import Reading
from twoturn.quantity.show import decimal_place, half_width
from twoturn.timing.priors import rest_sigma_deg
from twoturn.timing.whole_teeth import told_teeth
from twoturn.words.numbers import phase_words, plain, sure_words, teeth_words

_TAKE_OFF: Final = "Find the shaft that is out; take the belt off and fit it again before the engine is cranked."
_MARKS_FIRST: Final = "Do not crank: look at the marks first. A sensor, its wheel or another engine can look the same."


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
            return check.but(why=shifts[0].doubt, next=shifts[0].next or RECORD_AGAIN)
        if shifts:
            shown = phase_words(shifts[0].reading.value).capitalize()
            why = f"{shown} against the recording as found: that says only whether it changed since arrival."
            return check.but(why=why, next="Enter a proven reference, or the marks as found.")
        return check
    if used[0].doubt:
        entries = tuple(shift.act.number for shift in used)
        act = used[0].next or f"{_MARKS_FIRST} {RECORD_AGAIN}"
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
    notes = (*_teeth_note(reading, width if is_maker else 0.0, shaft, case), *_gap_note(used))
    if too_coarse(reading, limits):
        notes = (*notes, "Tool or method too coarse: U is over a quarter of the requirement's width.")
    notes = (*notes, *dict.fromkeys(shift.surplus for shift in used if shift.surplus))
    notes = (*notes, *dict.fromkeys(words for shift in used for words in shift.notes))
    is_sure = is_supported(reading, shaft, case, any(shift.needs_witness for shift in used))
    if verdict is not Verdict.PROVEN and not is_sure:
        notes = (*notes, *_rival_note(used))
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
    half = reading.expanded
    decimals = max(0, decimal_place(half)) if half > 0 else 1
    words = phase_words(reading.value, decimals)
    if words != "on time":
        words = f"{abs(reading.value):.{decimals}f}° crank {'late' if reading.value > 0 else 'early'}"
    return f"{words} ± {half_width(half, '°')}"


def _teeth_note(reading: Reading, tolerance_deg: float, shaft: Shaft, case: Case) -> tuple[str, ...]:
    """Whole teeth behind a shift, weighed with the maker's tolerance and the hub as ``twoturn capture`` does."""
    step = shaft_deg_per_tooth(case.drive, shaft)
    if step is None:
        return ()
    u, rest = math.hypot(reading.u, tolerance_deg / 3**0.5), rest_sigma_deg(shaft.hub, case.drive.crankshaft.hub)
    teeth, probability = told_teeth(reading.value, u, float(step), rest)
    if teeth == 0:
        return ()
    return (f"As whole teeth: {teeth_words(teeth)} ({sure_words(probability)} sure).",)


def _gap_note(used: list[Shift]) -> tuple[str, ...]:
    if all(shift.alike for shift in used):
        return ()
    return ("Rising and falling edges moved oppositely: the sensor's gap has changed too.",)


def _rival_note(used: list[Shift]) -> tuple[str, ...]:
    """What else would explain the shift, where no second witness stands behind it."""
    ways = list(dict.fromkeys(rival.words for shift in used for rival in shift.rivals))
    return (f"It may also be that {', or that '.join(ways)}.",) if ways else ()
