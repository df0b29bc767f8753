"""Cam phase from sensor recordings, by authority: the maker's angle, a proven reference, the same engine as found."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from twoturn.drive.parts import Shaft
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.job.checks.base import Case, Check
from twoturn.job.checks.shafts import MARK_TEETH
from twoturn.job.entries.record import Reference
from twoturn.job.entries.recordings import Capture, EdgeReading, Regime
from twoturn.job.evidence import Evidence
from twoturn.job.order import Act
from twoturn.job.state import Standing, Touched
from twoturn.plan.wording import shaft_name, slug
from twoturn.quantity.combine import combine
from twoturn.quantity.conformity import Limits, Verdict, decide, too_coarse
from twoturn.quantity.reading import Reading
from twoturn.timing.whole_teeth import whole_teeth
from twoturn.words.numbers import phase_words, plain, teeth_words, with_unit

Pairs = list[tuple[str, Reading]]
Authority = Literal["maker", "reference", "as found"]

LIKE_SPEED: Final = 0.20
LIKE_TEMPERATURE_K: Final = 15.0
GROWTH_DEG_PER_K: Final = 0.017
"""Shift of a cam by growth of the block [crank degrees per kelvin] on a common layout."""
U_OTHER_REGIME_DEG: Final = 0.5
"""What tension, belt length, sensor delay and mesh play add in unlike regimes [crank degrees] (judgement)."""
U_OTHER_ENGINE_DEG: Final = 0.5
"""What two engines of one type differ by: belt length, mesh play, sensor places [crank degrees] (judgement)."""
REST_SIGMA_DEG: Final = 1.5


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
        if not isinstance(entry, Capture) or entry.reading is None or act.number in case.timeline.left_out:
            continue
        for shaft in dict.fromkeys(edge.shaft for edge in entry.reading.edges):
            touched = Touched("cam phase", case.places.belts_of(shaft), case.places.shaft_of(shaft) or shaft)
            standing = case.state.standing(act, touched, "after turns")
            if standing.counts:
                found.extend(_against_all(case, act, entry, touched.shaft or shaft))
            elif not entry.as_found:
                failing[touched.shaft or shaft] = standing
    return tuple(found), failing


def _against_all(case: Case, act: Act, entry: Capture, shaft: str) -> list[Shift]:
    edges = _edges(entry, shaft, case)
    found = [_maker(case, act, edges, shaft), _reference(case, act, entry, edges, shaft)]
    found.append(_as_found(case, act, entry, edges, shaft))
    return [shift for shift in found if shift is not None]


def _edges(entry: Capture, shaft: str, case: Case) -> list[EdgeReading]:
    reading = entry.reading
    return (
        [] if reading is None else [edge for edge in reading.edges if (case.places.shaft_of(edge.shaft) or "") == shaft]
    )


def _maker(case: Case, act: Act, edges: list[EdgeReading], shaft: str) -> Shift | None:
    """Against the edges of ``[timing]``: they need ``gap_to_tdc_deg``, where TDC lies after the recording's zero."""
    timing = case.drive.file.timing
    wanted = [edge for edge in timing.cam_edges if edge.shaft in (shaft, None)]
    if timing.gap_to_tdc_deg is None or not wanted:
        return None
    pairs: Pairs = []
    for edge in wanted:
        zero = edge.angle_deg + timing.gap_to_tdc_deg
        near = _nearest(edges, edge.edge, zero)
        if near is not None:
            pairs.append((edge.edge, _shift(near, zero, 0.0)))
    if not pairs:
        return None
    reading, alike = _together(pairs)
    width = min(edge.tolerance_deg for edge in wanted)
    return Shift(shaft, "maker", reading, width, case.source, act, alike)


def _reference(case: Case, act: Act, entry: Capture, edges: list[EdgeReading], shaft: str) -> Shift | None:
    for one in reversed(case.timeline.acts):
        ref = one.entry
        if not isinstance(ref, Reference):
            continue
        u = math.hypot(U_OTHER_ENGINE_DEG, unlike_u(entry.regime, ref.regime))
        pairs = _pairs(edges, [edge for edge in ref.edges if case.places.shaft_of(edge.shaft) == shaft], u)
        if pairs:
            reading, alike = _together(pairs)
            return Shift(shaft, "reference", reading, _quarter_tooth(case, shaft), ref.source, act, alike)
    return None


def _as_found(case: Case, act: Act, entry: Capture, edges: list[EdgeReading], shaft: str) -> Shift | None:
    """Against the same engine before the work; it proves something only where marks or pins were right then."""
    touched = Touched("cam phase", case.places.belts_of(shaft), shaft)
    for one in case.timeline.acts:
        old = one.entry
        if not isinstance(old, Capture) or old.reading is None or one is act:
            continue
        if not case.state.standing(one, touched, "as found").counts:
            continue
        pairs = _pairs(edges, _edges(old, shaft, case), unlike_u(entry.regime, old.regime))
        if pairs:
            reading, alike = _together(pairs)
            right = _right_as_found(case, shaft)
            width = _quarter_tooth(case, shaft) if right else None
            source = "as found, marks or pins right" if right else "as found"
            return Shift(shaft, "as found", reading, width, source, act, alike)
    return None


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


def _pairs(edges: list[EdgeReading], wanted: list[EdgeReading], extra_u: float) -> Pairs:
    found: Pairs = []
    for old in wanted:
        near = _nearest(edges, old.edge, old.angle_deg)
        if near is not None:
            found.append((old.edge, _shift(near, old.angle_deg, math.hypot(old.u_deg, extra_u))))
    return found


def _nearest(edges: list[EdgeReading], polarity: str, angle_deg: float) -> EdgeReading | None:
    alike = [edge for edge in edges if edge.edge == polarity]
    return min(alike, key=lambda edge: abs(_wrapped(edge.angle_deg - angle_deg)), default=None)


def _wrapped(angle_deg: float) -> float:
    """An angle difference within ±360 crank degrees, the turn of a camshaft."""
    return (angle_deg + 360.0) % 720.0 - 360.0


def _shift(edge: EdgeReading, expected_deg: float, extra_u: float) -> Reading:
    u = math.hypot(edge.u_deg, extra_u)
    return Reading(_wrapped(edge.angle_deg - expected_deg), u, "°", edge.dof or math.inf, source="sensor recording")


def _together(pairs: Pairs) -> tuple[Reading, bool]:
    """The shift of all edges together, and whether rising and falling ones moved alike."""
    by_kind = {kind: combine([one for other, one in pairs if other == kind]).reading for kind, _ in pairs}
    if len(by_kind) == 1:
        return next(iter(by_kind.values())), True
    rising, falling = by_kind["rising"], by_kind["falling"]
    middle = Reading(
        (rising.value + falling.value) / 2, math.hypot(rising.u, falling.u) / 2, "°", source="sensor recording"
    )
    apart = abs(rising.value - falling.value)
    return middle, apart <= 3 * math.hypot(rising.u, falling.u) + 0.5


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
    loose = [shift for shift in shifts if shift.half_width_deg is None]
    evidence = [
        Evidence(
            shift.act, "cam phase", shift.shaft, case.places.belts_of(shift.shaft), shift.shaft, value=shift.reading
        )
        for shift in shifts
        if shift.authority == _best([other for other in shifts if other.shaft == shift.shaft])
    ]
    return checks, loose, evidence


def _best(shifts: list[Shift]) -> Authority | None:
    order: tuple[Authority, ...] = ("maker", "reference", "as found")
    bound = [shift.authority for shift in shifts if shift.half_width_deg is not None]
    return next((authority for authority in order if authority in bound), None)


def _check(shaft: Shaft, shifts: list[Shift], failing: Standing | None, case: Case) -> Check:
    best = _best(shifts)
    used = [shift for shift in shifts if shift.authority == best]
    name = shaft_name(case.drive, shaft).removeprefix("the ")
    check = Check(
        f"phase-{slug(shaft.id)}",
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
        if shifts:
            shown = phase_words(shifts[0].reading.value).capitalize()
            why = f"{shown} against the recording as found: that says only whether it changed since arrival."
            return check.but(why=why, next="Enter a proven reference, or the marks as found.")
        return check
    return _judged(check, shaft, used, case)


def _judged(check: Check, shaft: Shaft, used: list[Shift], case: Case) -> Check:
    combined = combine([shift.reading for shift in used])
    reading, width = combined.reading, used[0].half_width_deg or 0.0
    limits = Limits(-width, width, "°")
    verdict = decide(reading, limits) if combined.consistent else Verdict.NOT_SHOWN
    is_maker = used[0].authority == "maker"
    shown = f"{phase_words(reading.value)} ± {with_unit(reading.expanded, '°', 2)}"
    against = {"maker": "the maker's angle", "reference": "a proven recording", "as found": "the recording as found"}
    default = "" if is_maker else " (default)"
    why = f"{shown.capitalize()} against {against[used[0].authority]}; allowed ± {plain(width, 2)}°{default}."
    if not combined.consistent:
        why = "The recordings disagree by more than their uncertainty."
    notes = (*_teeth_note(reading, shaft, case), *_gap_note(used))
    if too_coarse(reading, limits):
        notes = (*notes, "Tool or method too coarse: U is over a quarter of the requirement's width.")
    act = "Find the shaft that is out; take the belt off and fit it again before the engine is cranked."
    return check.but(
        required=is_maker or verdict is Verdict.NOT_MET,
        verdict=verdict,
        reading=shown,
        requirement=f"within {plain(width, 2)}° of {against[used[0].authority]}",
        why=why,
        next={Verdict.PROVEN: "", Verdict.NOT_MET: act}.get(verdict, "Record it again, in the same regime."),
        value=reading,
        limits=limits,
        source=used[0].source,
        kind="maker" if is_maker else "default",
        entries=tuple(shift.act.number for shift in used),
        notes=notes,
    )


def _teeth_note(reading: Reading, shaft: Shaft, case: Case) -> tuple[str, ...]:
    step = shaft_deg_per_tooth(case.drive, shaft)
    if step is None:
        return ()
    teeth, probability = whole_teeth(reading.value, reading.u, float(step), REST_SIGMA_DEG)
    if teeth == 0:
        return ()
    return (f"As whole teeth: {teeth_words(teeth)} ({plain(100 * probability, 0)} % sure).",)


def _gap_note(used: list[Shift]) -> tuple[str, ...]:
    if all(shift.alike for shift in used):
        return ()
    return ("Rising and falling edges moved oppositely: the sensor's gap has changed too.",)
