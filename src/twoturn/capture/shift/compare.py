"""By how much a cam is late, by the authority there is: the maker's edges, a reference recording, or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import numpy as np

from twoturn.capture.cams import CYCLE_DEG, Cam
from twoturn.capture.decode import Decoded
from twoturn.capture.shift.match import GAP_SEEN_DEG, Expected, Match, alike_cam, best_match
from twoturn.capture.shift.rivals import SAME_PATTERN_DEG, THINKABLE_SHIFT_DEG, rival_deg, surplus
from twoturn.capture.turning.regime import Regime, like_speeds, unlike
from twoturn.capture.turning.wave import compression_wave, wave_shift, witness

OTHER_WAY = {"rising": "falling", "falling": "rising"}


@dataclass(frozen=True)
class Wanted:
    """The edges that one cam should show.

    Attributes
    ----------
    name
        The shaft or the channel of the reference.
    edges
        The edges.
    tolerance_deg
        How far off the maker allows them to be, either way [crank degrees]; None where nothing is stated.
    """

    name: str
    edges: tuple[Expected, ...]
    tolerance_deg: float | None = None

    @property
    def loose_u(self) -> float:
        """Standard uncertainty of where a right cam stands: the tolerance over √3 (JCGM 100:2008, 4.3.7)."""
        return (self.tolerance_deg or 0.0) / 3**0.5


@dataclass(frozen=True)
class CamShift:
    """How late one cam is.

    Attributes
    ----------
    name, channel
        The shaft (or the reference's channel) and the channel it was seen on.
    deg
        How late [crank degrees]; negative: early.
    u
        Standard uncertainty of the measurement [crank degrees].
    match
        How the edges lay over each other.
    wanted
        What was expected of it, with the maker's tolerance.
    """

    name: str
    channel: str
    deg: float
    u: float
    match: Match
    wanted: Wanted

    @property
    def loose_u(self) -> float:
        """Standard uncertainty with the maker's tolerance as not known [crank degrees]: for weighing whole teeth."""
        return float(np.hypot(self.u, self.wanted.loose_u))


@dataclass(frozen=True)
class Comparison:
    """A capture compared with an authority.

    Attributes
    ----------
    authority
        ``"maker"``, ``"reference"`` or ``"none"``.
    shifts
        One row a cam that was found.
    offset_deg
        Which of the possible zeros agrees with the authority's [crank degrees].
    why
        Sentences: what was added to the uncertainty, what is left open.
    wave
        By how much the compression wave moved on the crank wheel, and its u [crank degrees]; None where unknown.
    witness
        What that says of the greatest shift: ``"stayed"``, ``"moved alike"`` or ``"silent"``.
    """

    authority: str
    shifts: tuple[CamShift, ...]
    offset_deg: float
    why: tuple[str, ...]
    wave: tuple[float, float] | None = None
    witness: str = "silent"


Row = tuple[Wanted, Cam, Match]
"""A cam that is expected, the channel it was found on, and how they lie over each other."""


def against_reference(
    seen: Decoded,
    reference: Decoded,
    now: Regime | None = None,
    then: Regime | None = None,
    cylinders: int | None = None,
) -> Comparison:
    """Compare with a reference capture of the same engine type.

    Parameters
    ----------
    seen, reference
        The decoded captures, by the same crank polarity.
    now, then
        How the engine turned in each; by default as the speeds say, temperatures unknown.
    cylinders
        Their number, where known [-].

    Returns
    -------
    Comparison
        Shifts [crank degrees], positive late; none where the two cannot be compared, with the reason.
    """
    problem = _unlike(seen, reference)
    if problem:
        return Comparison("reference", (), 0.0, (problem,))
    wanted = [
        Wanted(cam.channel, tuple(Expected(edge.edge, edge.angle_deg, edge.u) for edge in cam.edges))
        for cam in reference.cams
    ]
    now, then = now or regime_of(seen), then or regime_of(reference)
    added = unlike(now, then)
    found = _compared("reference", seen, wanted, added.u, list(added.why))
    alike = now.cranked and then.cranked and like_speeds(now, then)
    return _with_wave(found, seen, reference, cylinders) if alike else found


def regime_of(decoded: Decoded, temperature_c: float | None = None) -> Regime:
    """How the engine turned in a decoded capture; the temperature [°C] where a person told it."""
    return Regime(decoded.rpm[1] if decoded.rpm else None, temperature_c)


def upside_down(decoded: Decoded) -> Decoded:
    """A decoded capture with rising and falling exchanged, of the crank and of every cam."""
    crank = decoded.crank and replace(decoded.crank, edge=OTHER_WAY.get(decoded.crank.edge, decoded.crank.edge))
    cams = tuple(
        replace(cam, edges=tuple(replace(edge, edge=OTHER_WAY.get(edge.edge, edge.edge)) for edge in cam.edges))
        for cam in decoded.cams
    )
    return replace(decoded, crank=crank, cams=cams)


def _with_wave(found: Comparison, seen: Decoded, reference: Decoded, cylinders: int | None) -> Comparison:
    """A comparison with what the compression wave says of its greatest shift."""
    if not found.shifts or seen.angle is None or reference.angle is None:
        return found
    then = compression_wave(reference.angle, cylinders)
    now = None if then is None else compression_wave(seen.angle, then.per_cycle)
    if now is None or then is None:
        return found
    wave = wave_shift(now, then, found.offset_deg)
    greatest = max((shift.deg for shift in found.shifts), key=abs)
    return replace(found, wave=wave, witness=witness(greatest, wave, now.per_cycle))


def against_maker(seen: Decoded, wanted: Sequence[Wanted], authority: str = "maker") -> Comparison:
    """Compare with the edges that the vehicle maker states, or a job's reference.

    Parameters
    ----------
    seen
        The decoded capture.
    wanted
        For each shaft its edges, as angles after the zero of the crank wheel [crank degrees], and their tolerance,
        which is no part of the uncertainty of the shift.
    authority
        Whose edges they are.

    Returns
    -------
    Comparison
        Shifts [crank degrees], positive late.
    """
    if seen.crank is None or not seen.cams:
        why = "no cam edges were found to compare with the maker's: record crank and cam sensor together"
        return Comparison(authority, (), 0.0, (why,))
    return _compared(authority, seen, wanted, 0.0, [])


def _unlike(seen: Decoded, reference: Decoded) -> str:
    """Why two captures cannot be compared and what to do; empty where they can."""
    for decoded, option in ((seen, "name the channel with --crank"), (reference, "take another reference")):
        if decoded.crank is None:
            return f"in {decoded.file} no crank wheel was understood, so nothing is compared: {option}, or record again"
        if not decoded.cams:
            more = "" if decoded.why else ": record crank and cam sensor together, ten turns or more"
            return f"in {decoded.file} no cam edges were found, so nothing is compared{more}"
    assert seen.crank is not None  # noqa: S101 - told above
    assert reference.crank is not None  # noqa: S101 - told above
    if seen.crank.wheel.even and seen.crank.wheel.teeth == 1:
        return (
            f"how many teeth the crank wheel of {seen.file} has in a turn is not known, so no shift is told: record a "
            "cam channel that tells the two turns apart, or look at the marks"
        )
    if seen.crank.wheel.steps != reference.crank.wheel.steps or seen.crank.zeros != reference.crank.zeros:
        return (
            f"the crank wheels differ ({seen.crank.wheel.text} in {seen.file}, {reference.crank.wheel.text} in "
            f"{reference.file}): these are not recordings of the same engine type; take a reference of this one"
        )
    if seen.crank.edge != reference.crank.edge:
        return (
            f"the crank angle was read by {seen.crank.edge} edges in one and {reference.crank.edge} ones in the other: "
            "give --edge, so that both are read alike"
        )
    return ""


def _compared(authority: str, seen: Decoded, wanted: Sequence[Wanted], extra: float, why: list[str]) -> Comparison:
    """Lay every expected cam over a channel, the zero being the same for all."""
    assert seen.crank is not None  # noqa: S101 - the callers made sure
    best: tuple[float, float, list[Row]] | None = None
    step = CYCLE_DEG / seen.crank.zeros
    for number in range(seen.crank.zeros):
        offset = number * step
        cost, rows = _assigned(wanted, seen.cams, offset)
        if rows and (best is None or cost < best[0] - 1e-9):
            best = (cost, offset, rows)
    if best is None:
        told = (
            "no cam edge of the same polarity is in both: make sure that the sensor leads are not swapped, record again"
        )
        return Comparison(authority, (), 0.0, (*why, told))
    shifts = []
    for want, cam, match in best[2]:
        problem = _unfit(want, cam, match) or _surplus_words(authority, (want, cam, match), best[2], _zeros(seen), why)
        if problem:
            why.append(problem)
            continue
        why += _gap_words(cam, match, float(np.hypot(extra / 4, want.loose_u)))
        shifts.append(CamShift(want.name, cam.channel, match.shift_deg, float(np.hypot(match.u, extra)), match, want))
    if shifts and step < CYCLE_DEG / 2:
        why.append(f"the crank wheel repeats every {step:g}°: a shift is known only within half of that, either way")
    return Comparison(authority, tuple(shifts), best[1], tuple(why))


def _zeros(seen: Decoded) -> list[float]:
    """The zeros of the crank wheel that may be meant [crank degrees]."""
    zeros = seen.crank.zeros if seen.crank else 1
    return [number * CYCLE_DEG / zeros for number in range(zeros)]


def _unfit(want: Wanted, cam: Cam, match: Match) -> str:
    """Why a channel does not show what is expected of a cam; empty where it does."""
    if match.spread_deg <= SAME_PATTERN_DEG and match.paired >= 0.6 * match.expected and not match.elsewhere:
        return ""
    return (
        f"the edges of {cam.channel} do not show the pattern expected of {want.name}, so no shift is told: another "
        "sensor wheel, another channel (name it with --cam) or another engine type"
    )


def _surplus_words(authority: str, row: Row, rows: Sequence[Row], zeros: Sequence[float], why: list[str]) -> str:
    """Why no shift is told where another edge than the nearest would do; else empty, with a sentence in ``why``."""
    want, cam, match = row
    more = surplus(want.edges, cam.edges)
    if not more:
        return ""
    counts = " and ".join(f"{have} {edge} edges" for edge, (have, _) in more.items())
    stated = " and ".join(str(wanted) for _, wanted in more.values())
    who = "the maker states" if authority == "maker" else "the reference shows"
    said = f"{cam.channel} shows {counts} in two turns where {who} {stated}"
    rival = rival_deg(want.edges, cam.edges, _possible(row, rows, zeros), match)
    if rival is None:
        why.append(f"{said}: the nearest was taken; make sure that the recording is of this engine")
        return ""
    near, far = (f"{abs(deg):.1f}° {'late' if deg >= 0 else 'early'}" for deg in (match.shift_deg, rival))
    return (
        f"{said}: {near} or {far}, the recording cannot tell which, so no shift is told; give the maker's other edges "
        "too, make sure that the recording is of this engine, and that the lead carries no noise"
    )


def _possible(row: Row, rows: Sequence[Row], zeros: Sequence[float]) -> list[float]:
    """The zeros at which the other cams show their patterns too [crank degrees]."""
    others = [(want, cam) for want, cam, _ in rows if cam is not row[1]]
    possible = []
    for zero in zeros:
        tried = [(want, cam, best_match(want.edges, cam.edges, zero)) for want, cam in others]
        if all(
            match is not None and not _unfit(want, cam, match) and abs(match.shift_deg) <= THINKABLE_SHIFT_DEG
            for want, cam, match in tried
        ):
            possible.append(zero)
    return possible or list(zeros)


def _assigned(wanted: Sequence[Wanted], cams: Sequence[Cam], offset: float) -> tuple[float, list[Row]]:
    """Expected cams on channels so that they fit best together; like names go together."""
    count = min(len(wanted), len(cams))
    matches = {
        (w, c): best_match(wanted[w].edges, cams[c].edges, offset) for w in range(len(wanted)) for c in range(len(cams))
    }
    best: tuple[float, list[Row]] = (np.inf, [])
    if max(len(wanted), len(cams)) > 6:
        return best
    for left in permutations(range(len(wanted)), count):
        for right in permutations(range(len(cams)), count):
            if list(right) != sorted(right):
                continue
            rows, cost = [], 0.0
            for w, c in zip(left, right, strict=True):
                match = matches[w, c]
                cost += (match.cost / match.expected if match else 50.0) - 3.0 * alike_cam(
                    wanted[w].name, cams[c].channel
                )
                rows += [(wanted[w], cams[c], match)] if match else []
            if rows and cost < best[0]:
                best = (cost, rows)
    return best


def _gap_words(cam: Cam, match: Match, loose: float) -> list[str]:
    """A sentence where rising and falling edges moved apart."""
    if abs(match.gap_deg) <= max(GAP_SEEN_DEG, 2 * float(np.hypot(match.u, loose))):
        return []
    return [
        f"on {cam.channel} rising and falling edges moved {abs(match.gap_deg):.1f}° each in opposite senses: that is "
        "the sensor's gap or supply, not timing; the mean of both is given"
    ]
