"""A whole capture decoded: the crank wheel, turns, speed and cam edges, without being told which channel is which."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from twoturn.capture.angle.curve import AngleTrack, tooth_scatter_deg
from twoturn.capture.angle.placement import Fitted, fitted
from twoturn.capture.cams import CYCLE_DEG, Cam, cam_edges, common_repeat, in_drop_out, lacking_cycles
from twoturn.capture.crank.choose import (
    MISREAD,
    CrankCandidate,
    candidates,
    chosen_cams,
    chosen_crank,
    oddness,
    repeat_of,
)
from twoturn.capture.crank.mend import mended
from twoturn.capture.crank.turned_back import longest_run, stands, turned_back, within
from twoturn.capture.decoded import Crank, Decoded
from twoturn.capture.model import Array, Capture
from twoturn.capture.runs import together
from twoturn.capture.signal.edges import EdgeTrain, edge_train
from twoturn.capture.signal.unit import doubtful_speed, in_unit
from twoturn.capture.untold import cam_alone, doubts, not_understood, too_short
from twoturn.capture.wheel.shape import Wheel
from twoturn.capture.wheel.written import Stated, stated_wheel
from twoturn.capture.zero import anchor_of, sections_of

__all__ = ["Crank", "Decoded", "decode"]

SAID_DEG = 0.05
"""Errors of the teeth's places that are told [crank degrees]."""
MOST_CUTS, LEAST_KEPT = 3, 0.2
"""How often a recording is cut where the crankshaft turned back, least share of its edges that a run must keep [-]."""
LEAST_RUN = 2
"""Cycles that another run must have to be read beside the longest [-]."""
LONGEST_ONLY = "only the longest run is read"


@dataclass(frozen=True)
class _Told:
    """What a person told: names of channels, the polarity, the wheel."""

    crank: str | None
    cams: tuple[str, ...]
    edge: str | None
    wheel: Stated | None


def decode(
    capture: Capture,
    *,
    crank: str | None = None,
    cams: tuple[str, ...] = (),
    edge: str | None = None,
    wheel: str | None = None,
) -> Decoded:
    """Decode a capture.

    Parameters
    ----------
    capture
        The capture as read.
    crank, cams
        Names or numbers of channels, where told.
    edge
        Polarity that carries the crank angle, ``"rising"`` or ``"falling"``; by default the one with less scatter.
    wheel
        The crank wheel in words, where stated (``60-2``): it alone is looked for, another one only where it is not
        there.

    Returns
    -------
    Decoded
        What was found, with sentences on what was not.

    Raises
    ------
    RecordingError
        A channel was named that is not in the file.
    DomainError
        Words that are no wheel.
    """
    told = _Told(crank, cams, edge, None if wheel is None else stated_wheel(wheel))
    decoded = _decoded_once(capture, told)
    if not capture.time_known or decoded.rpm is None:
        return decoded
    if capture.unit_stated:
        speed = doubtful_speed(decoded.rpm[1])
        return replace(decoded, notes=(*decoded.notes, *speed), doubts=(*decoded.doubts, *speed))
    settled = in_unit(capture, decoded.rpm[1])
    if settled.duration_s == capture.duration_s and settled.time_known:
        return decoded
    return _decoded_once(settled, told)


def _decoded_once(capture: Capture, told: _Told) -> Decoded:
    """The capture decoded with its times as they are; where the crankshaft turned back, its longest run."""
    trains = [edge_train(channel) for channel in capture.channels]
    crank = chosen_crank(trains, told.crank)
    cam_trains = chosen_cams(trains, told.cams, crank)
    best = _best(trains, crank, cam_trains, told)
    turned: list[float] = []
    whole = trains, cam_trains
    for _ in range(MOST_CUTS):
        cuts, times = _turnings(best, [crank] if crank else trains, cam_trains)
        run = longest_run(times, cuts)
        if not cuts or np.count_nonzero((times > run[0]) & (times < run[1])) < LEAST_KEPT * times.size:
            break
        turned += cuts
        trains = [within(train, run) for train in trains]
        crank, cam_trains = chosen_crank(trains, told.crank), [within(train, run) for train in cam_trains]
        best = _best(trains, crank, cam_trains, told)
    if turned:
        capture = replace(capture, notes=(*capture.notes, _turned_note(sorted(turned), LONGEST_ONLY)))
    if best is None:
        return not_understood(capture, trains, crank)
    if oddness(best) == MISREAD:
        return not_understood(capture, trains, crank, f"{best.train.name} fits no wheel turn after turn")
    others = [train for train in cam_trains if train.name != best.train.name]
    decoded = _decoded(capture, best, others, told)
    return _with_other_runs(decoded, best, sorted(turned), whole, told) if turned and decoded.cams else decoded


def _with_other_runs(
    longest: Decoded,
    best: CrankCandidate,
    cuts: list[float],
    whole: tuple[list[EdgeTrain], list[EdgeTrain]],
    told: _Told,
) -> Decoded:
    """The longest run, with the cycles of the other runs forwards where they agree with it."""
    others: list[Decoded] = []
    for run in pairwise([-np.inf, *cuts, np.inf]):
        if run[0] < best.train.times_s[0] < run[1]:
            continue
        trains, cams = ([within(train, run) for train in part] for part in whole)
        least = LEAST_RUN * best.train.times_s.size * (2 / longest.turns)
        if (found := _forwards(trains, cams, best, told, least)) is not None:
            bare = Capture((), 0.0, None, longest.file, "", time_known=False)
            others.append(_decoded(bare, *found, told))
    joined, used, against = together(longest, others)
    if not used and not against:
        return longest
    words = f"{used + 1} runs forwards are read together" if used else f"{LONGEST_ONLY}; another does not agree with it"
    old, new = _turned_note(cuts, LONGEST_ONLY), _turned_note(cuts, words)
    notes, doubtful = (tuple(new if note == old else note for note in part) for part in (joined.notes, joined.doubts))
    return replace(joined, notes=notes, doubts=doubtful)


def _forwards(
    trains: list[EdgeTrain], cams: list[EdgeTrain], best: CrankCandidate, told: _Told, least: float
) -> tuple[CrankCandidate, list[EdgeTrain]] | None:
    """The crank and cams of another run, cut once where it turned back too; None where it has too few edges then."""
    for _ in range(2):
        crank = next(train for train in trains if train.name == best.train.name)
        if crank.times_s.size < least:
            return None
        found = _best(trains, crank, cams, replace(told, edge=best.edge))
        if found is None or oddness(found) == MISREAD:
            return None
        cuts, times = _turnings(found, trains, cams)
        if not cuts:
            return found, [train for train in cams if train.name != crank.name]
        run = longest_run(times, cuts)
        trains, cams = ([within(train, run) for train in part] for part in (trains, cams))
    return None


def _best(
    trains: list[EdgeTrain], crank: EdgeTrain | None, cam_trains: list[EdgeTrain], told: _Told
) -> CrankCandidate | None:
    """The likeliest crank, of the wheel stated if one shows it; None where no channel shows a wheel."""
    named = {id(train) for train in cam_trains} if told.cams else set()
    looked = [crank] if crank else [train for train in trains if id(train) not in named]
    if told.wheel is not None:
        found = next(iter(candidates(looked, trains, told.edge, told.wheel)), None)
        if found is not None and found.stated and oddness(found) < MISREAD:
            return found
    return next(iter(candidates(looked, trains, told.edge)), None)


def _turnings(best: CrankCandidate | None, looked: list[EdgeTrain], cams: list[EdgeTrain]) -> tuple[list[float], Array]:
    """Moments at which the crankshaft turned back [s], and the times of its edges [s]."""
    if best is None:
        most = max(looked, key=lambda train: train.times_s.size)
        times = most.of(most.polarities[0])
        return stands(times), times
    others = [train for train in cams if train.name != best.train.name]
    repeat = common_repeat([repeat_of(best, train) for train in others])
    return turned_back(mended(best, others, repeat), others), best.train.of(best.edge)


def _turned_note(cuts: list[float], read: str) -> str:
    """The sentence on a crankshaft that turned back."""
    moments = ", ".join(f"{at:.3g} s" for at in cuts[:3]) + (" …" if len(cuts) > 3 else "")
    return (
        f"the crankshaft came to a stand at {moments} and its teeth do not come on after it as before: it may "
        f"have turned back there; {read}, taken as forwards (a sensor does not see the direction)"
    )


def _decoded(capture: Capture, best: CrankCandidate, others: list[EdgeTrain], told: _Told) -> Decoded:
    """Turns, zero, speed and cam edges for the chosen crank channel."""
    why: list[str] = []
    notes = [*capture.notes, *_hum_notes([best.train, *others])]
    repeats = [repeat_of(best, train) for train in others]
    sections, certain = sections_of(best, common_repeat(repeats), why, told.wheel)
    if alone := cam_alone(best, others, told.crank is not None):
        return not_understood(capture, [best.train], None, alone)
    if short := too_short(capture, best, certain, sections):
        return not_understood(capture, [best.train, *others], None, short)
    best = mended(best, others, 2 * sections if sections else 0)
    if best.track.breaks:
        notes.append(
            f"the crank signal was silent {len(best.track.breaks)} times; the turns passed were set by the cams"
        )
    if sections is None:
        wheel = Wheel(best.shape.steps)
        crank = _crank(best, wheel, "no place on the wheel is marked", 0, 0.0)
        return Decoded(capture.file, crank, 0.0, None, (), None, tuple(why), tuple(notes))
    wheel = Wheel(best.shape.steps, sections)
    whole = fitted(best.angle_track(wheel), wheel)
    track = whole.track
    scatter = tooth_scatter_deg(track)
    anchor, zeros = anchor_of(wheel, certain)
    crank = _crank(best, wheel, anchor, zeros, scatter)
    if whole.ripple:
        crank = replace(crank, hidden_deg=whole.ripple.hidden_deg, hidden_gap_deg=whole.ripple.hidden_gap_deg)
    turns = float(track.angles_deg[-1] - track.angles_deg[0]) / 360
    untold = doubts(best, wheel, common_repeat(repeats))
    cams = [] if untold else _cams(whole, wheel.widest_deg, others, repeats, notes)
    doubtful = tuple(notes)
    errors = np.abs(whole.ripple.placement_deg).max() if whole.ripple else 0.0
    if errors > SAID_DEG:
        notes.append(
            f"the teeth of the wheel stand up to {errors:.2f}° off their places; that was learned over the turns and "
            "taken out"
        )
    why += untold
    if not others:
        why.append("only a crank channel was found: no cam edges")
    speed = _rpm(track, capture)
    return Decoded(capture.file, crank, turns, speed, tuple(cams), track, tuple(why), tuple(notes), doubtful)


def _hum_notes(trains: list[EdgeTrain]) -> list[str]:
    """A sentence for each channel from which mains hum was taken out."""
    return [
        f"mains hum ({train.hum_hz:.0f} Hz) was taken out of {train.name}: keep its lead short and away from mains"
        for train in trains
        if train.hum_hz is not None
    ]


def _cams(whole: Fitted, widest_deg: float, others: list[EdgeTrain], repeats: list[int], notes: list[str]) -> list[Cam]:
    """The cam channels that repeat with the crankshaft; the others are noted."""
    track = whole.track
    cycles = float(track.angles_deg[-1] - track.angles_deg[0]) / CYCLE_DEG
    cams = []
    for train, repeat in zip(others, repeats, strict=True):
        angles, _ = track.at(train.times_s)
        angles[in_drop_out(track.times_s, track.angles_deg, widest_deg, train.times_s)] = np.nan
        edges = cam_edges(train, angles, whole.u_deg, cycles)
        if edges:
            cams.append(Cam(train.name, edges, train.sensor, repeat))
            lacking, due = lacking_cycles(train, angles, edges, (track.angles_deg[0], track.angles_deg[-1]))
            if lacking:
                notes.append(
                    f"of {due} cycles {lacking} lack an edge of {train.name} (lost, or in a drop-out of "
                    "the crank signal); the others are read"
                )
        else:
            notes.append(f"{train.name} does not repeat with the crankshaft's turns and was left out")
    return cams


def _crank(best: CrankCandidate, wheel: Wheel, anchor: str, zeros: int, scatter: float) -> Crank:
    """The crank answer of a candidate."""
    track = best.track
    return Crank(
        best.train.name,
        best.edge,
        best.train.sensor,
        wheel,
        anchor,
        zeros,
        scatter,
        track.false_edges,
        track.missed_teeth,
    )


def _rpm(track: AngleTrack, capture: Capture) -> tuple[float, float, float] | None:
    """Least, mean and greatest speed [1/min]; None where the file tells no time."""
    if not capture.time_known:
        return None
    smooth = replace(track, half=max(track.half, 3))
    _, speeds = smooth.at(_middles(track.times_s))
    speeds = speeds[np.isfinite(speeds)] / 6
    if not speeds.size:
        return None
    mean = float(track.angles_deg[-1] - track.angles_deg[0]) / float(track.times_s[-1] - track.times_s[0]) / 6
    low, high = np.percentile(speeds, [0.5, 99.5])
    return max(0.0, float(low)), mean, float(high)


def _middles(times: Array) -> Array:
    """Moments in the middle between teeth [s]."""
    return (times[1:] + times[:-1]) / 2
