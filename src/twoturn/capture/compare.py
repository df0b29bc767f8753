"""By how much a cam is late, by the authority there is: the maker's edges, a reference recording, or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from twoturn.capture.cams import CYCLE_DEG, Cam
from twoturn.capture.decode import Decoded
from twoturn.capture.match import Expected, Match, alike_cam, best_match
from twoturn.capture.rivals import SAME_PATTERN_DEG, THINKABLE_SHIFT_DEG, rival_deg, surplus

SPEED_SHARE = 0.2
BLOCK_DEG_PER_K = 0.017
UNKNOWN_TEMPERATURE_U_K = 10.0
OTHER_REGIME_U_DEG = 0.7
SENSOR_DELAY_S = 30e-6


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
    """

    authority: str
    shifts: tuple[CamShift, ...]
    offset_deg: float
    why: tuple[str, ...]


Row = tuple[Wanted, Cam, Match]
"""A cam that is expected, the channel it was found on, and how they lie over each other."""


def against_reference(seen: Decoded, reference: Decoded) -> Comparison:
    """Compare with a reference capture of the same engine type.

    Parameters
    ----------
    seen, reference
        The decoded captures, by the same crank polarity.

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
    extra, why = _regime(seen, reference)
    return _compared("reference", seen, wanted, extra, why)


def against_maker(seen: Decoded, wanted: Sequence[Wanted]) -> Comparison:
    """Compare with the edges that the vehicle maker states.

    Parameters
    ----------
    seen
        The decoded capture.
    wanted
        For each shaft its edges, as angles after the zero of the crank wheel [crank degrees], and their tolerance,
        which is no part of the uncertainty of the shift.

    Returns
    -------
    Comparison
        Shifts [crank degrees], positive late.
    """
    if seen.crank is None or not seen.cams:
        return Comparison("maker", (), 0.0, ("no cam edges were found to compare with the maker's",))
    return _compared("maker", seen, wanted, 0.0, [])


def _unlike(seen: Decoded, reference: Decoded) -> str:
    """Why two captures cannot be compared; empty where they can."""
    for decoded in (seen, reference):
        if decoded.crank is None:
            return f"in {decoded.file} no crank wheel was understood"
        if not decoded.cams:
            return f"in {decoded.file} no cam edges were found"
    assert seen.crank is not None  # noqa: S101 - told above
    assert reference.crank is not None  # noqa: S101 - told above
    if seen.crank.wheel.steps != reference.crank.wheel.steps or seen.crank.zeros != reference.crank.zeros:
        return (
            f"the crank wheels differ ({seen.crank.wheel.text} in {seen.file}, {reference.crank.wheel.text} in "
            f"{reference.file}): these are not recordings of the same engine type"
        )
    if seen.crank.edge != reference.crank.edge:
        return (
            f"the crank angle was read by {seen.crank.edge} edges in one and {reference.crank.edge} ones in the other"
        )
    return ""


def _regime(seen: Decoded, reference: Decoded) -> tuple[float, list[str]]:
    """What a different or unknown regime adds to the uncertainty [crank degrees], and sentences on it."""
    extra = BLOCK_DEG_PER_K * UNKNOWN_TEMPERATURE_U_K
    why = [
        f"the temperatures of both recordings are taken as alike within {UNKNOWN_TEMPERATURE_U_K:g} K "
        f"(u {extra:.2f}° by growth of the block)"
    ]
    if seen.rpm is None or reference.rpm is None:
        return float(np.hypot(extra, OTHER_REGIME_U_DEG)), [*why, "the speed of one recording is unknown"]
    now, then = seen.rpm[1], reference.rpm[1]
    if abs(now / then - 1) > SPEED_SHARE:
        delay = SENSOR_DELAY_S * abs(now - then) * 6
        extra = float(np.sqrt(extra**2 + OTHER_REGIME_U_DEG**2 + delay**2))
        why.append(
            f"the speeds differ by more than a fifth ({now:.0f} and {then:.0f} rpm): belt stretch and sensor delay are "
            f"added (u {extra:.2f}°); record again at the same speed"
        )
    return extra, why


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
        return Comparison(authority, (), 0.0, (*why, "no cam edge of the same polarity is in both"))
    shifts = []
    for want, cam, match in best[2]:
        problem = _unfit(want, cam, match) or _surplus_words(authority, (want, cam, match), best[2], _zeros(seen), why)
        if problem:
            why.append(problem)
            continue
        why += _gap_words(cam, match, float(np.hypot(extra / 4, want.loose_u)))
        shifts.append(CamShift(want.name, cam.channel, match.shift_deg, float(np.hypot(match.u, extra)), match, want))
    return Comparison(authority, tuple(shifts), best[1], (*why, *_place_words(seen, shifts, step)))


def _zeros(seen: Decoded) -> list[float]:
    """The zeros of the crank wheel that may be meant [crank degrees]."""
    zeros = seen.crank.zeros if seen.crank else 1
    return [number * CYCLE_DEG / zeros for number in range(zeros)]


def _unfit(want: Wanted, cam: Cam, match: Match) -> str:
    """Why a channel does not show what is expected of a cam; empty where it does."""
    if match.spread_deg <= SAME_PATTERN_DEG and match.paired >= 0.6 * match.expected:
        return ""
    return (
        f"the edges of {cam.channel} do not show the pattern expected of {want.name}: another sensor wheel, another "
        "channel or another engine type"
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
        "too, or make sure that the recording is of this engine"
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
    if abs(match.gap_deg) <= max(0.5, 2 * float(np.hypot(match.u, loose))):
        return []
    return [
        f"on {cam.channel} rising and falling edges moved {abs(match.gap_deg):.1f}° each in opposite senses: that is "
        "the sensor's gap or supply, not timing; the mean of both is given"
    ]


def _place_words(seen: Decoded, shifts: list[CamShift], step: float) -> list[str]:
    """Sentences on shifts that the crank wheel itself could feign."""
    assert seen.crank is not None  # noqa: S101 - the callers made sure
    wheel, words = seen.crank.wheel, []
    place = 360.0 / wheel.places * wheel.normal_step
    for shift in shifts:
        whole = round(shift.deg / place)
        if whole and abs(shift.deg - whole * place) <= max(1.0, 2 * shift.loose_u):
            words.append(
                f"{abs(shift.deg):.1f}° is also {abs(whole)} whole {'place' if abs(whole) == 1 else 'places'} of the "
                f"{wheel.text} crank wheel: look at a mark or a pin before you trust it"
            )
            break
    if shifts and step < CYCLE_DEG / 2:
        words.append(f"the crank wheel repeats every {step:g}°: a shift is known only within half of that, either way")
    moved = [shift.deg for shift in shifts if abs(shift.deg) > max(1.5, 2 * shift.loose_u)]
    if moved:
        words.append(
            "the crank sprocket, the crank sensor or its wheel moved the other way would look the same: the marks tell "
            "which"
        )
    return words
