"""Which channel is the crank, which polarity carries the angle, which channels are cams."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from twoturn.capture.angle.curve import AngleTrack, angle_track, tooth_scatter_deg
from twoturn.capture.cams import MOST_SECTIONS, pattern_repeat
from twoturn.capture.model import Array
from twoturn.capture.signal.edges import EdgeTrain
from twoturn.capture.wheel.find import Shape, find_shapes
from twoturn.capture.wheel.shape import Wheel
from twoturn.capture.wheel.track import Track, track_teeth
from twoturn.capture.wheel.written import Stated
from twoturn.errors import RecordingError

CRANK_NAMES = re.compile(r"crank|\bckp\b|\bckps\b|\bcrk\b|\bne\b|flywheel|\brpm\b|engine speed", re.IGNORECASE)
NEARLY = 1.25
"""Falling edges are taken unless the rising ones scatter less by more than this factor [-]."""
UNUSUAL, MISREAD = 2, 3
SMOOTH = 0.06
USUAL, FITS, RECURRING = 0.12, 0.85, 0.4
"""Greatest cost of a usual wheel, least share of edges that fit, most faults a section [-]."""
FAR_BETTER, POOR = 4.0, 0.05
"""By what factor a wheel must fit better than another of as many teeth that fits no better than this (rms of log
intervals) to decide [-]."""
MOST_PLACES = 130
"""Places in a turn of a wheel with gaps, at most [-]."""
PLAINER, BETTER = 0.04, 0.02
"""By how much the wheel seen by one polarity must be plainer, or fit more of its edges, to decide [-]."""
CAM_NAMES = re.compile(r"\bcam|camshaft|\bcmp\b|\bcmps\b|inlet|exhaust|intake|phase|\bg[12]?\b", re.IGNORECASE)


@dataclass(frozen=True, eq=False)
class CrankCandidate:
    """A channel and polarity read as crank wheel.

    Attributes
    ----------
    train
        The channel's edges.
    edge
        The polarity.
    shape, track
        The wheel's section and the counted teeth.
    scatter
        Robust scatter of teeth against their neighbours, as a share of a section [-].
    stated
        Whether a person states this wheel.
    """

    train: EdgeTrain
    edge: str
    shape: Shape
    track: Track
    scatter: float
    stated: bool = False

    def section_positions(self) -> Array:
        """Position of each counted tooth in sections, shape (n,) [-]; the first counted edge lies in section 0."""
        wheel = Wheel(self.shape.steps)
        positions = wheel.angle_deg(self.track.tooth) / 360.0
        return np.asarray(positions - np.floor(positions[0] + 1e-9))

    def positions_track(self) -> AngleTrack:
        """Angles with 360 degrees to a section of the wheel, for use before the turn is known."""
        wheel = Wheel(self.shape.steps)
        return angle_track(self.track.times_s, self.section_positions() * 360.0, wheel.pitch_deg, wheel.widest_deg)

    def angle_track(self, wheel: Wheel) -> AngleTrack:
        """Crank angle of the counted teeth."""
        return angle_track(
            self.track.times_s, self.section_positions() * wheel.section_deg, wheel.pitch_deg, wheel.widest_deg
        )


def chosen_crank(trains: list[EdgeTrain], name: str | None) -> EdgeTrain | None:
    """The channel named as crank, by name or number; None where none was named."""
    return None if name is None else by_name(trains, name)


def chosen_cams(trains: list[EdgeTrain], names: tuple[str, ...], crank: EdgeTrain | None) -> list[EdgeTrain]:
    """The channels to read as cams: those named, else all but the crank that have edges."""
    if names:
        return [by_name(trains, name) for name in names]
    return [train for train in trains if train is not crank and train.times_s.size >= 2]


def by_name(trains: list[EdgeTrain], name: str) -> EdgeTrain:
    """A channel by its name (or part of it) or its number counted from 1.

    Raises
    ------
    RecordingError
        No channel, or more than one, is called so.
    """
    plain = name.strip().lower()
    exact = [train for train in trains if train.name.lower() == plain]
    part = [train for train in trains if plain and plain in train.name.lower()]
    if len(exact) == 1 or (not exact and len(part) == 1):
        return (exact or part)[0]
    if plain.isdigit() and 1 <= int(plain) <= len(trains) and not exact:
        return trains[int(plain) - 1]
    names = ", ".join(f"{number} {train.name}" for number, train in enumerate(trains, start=1))
    raise RecordingError(f"no channel is called “{name}”", allowed=f"one of: {names}")


def candidates(
    looked: list[EdgeTrain], trains: list[EdgeTrain], edge: str | None, wheel: Stated | None = None
) -> list[CrankCandidate]:
    """Channels that show a wheel, the likeliest crank first, each with its better polarity.

    Parameters
    ----------
    looked
        Channels that may be the crank.
    trains
        All channels.
    edge
        The polarity asked for, or None.
    wheel
        The wheel that a person states, or None.
    """
    named = [train for train in looked if CRANK_NAMES.search(train.name) and not CAM_NAMES.search(train.name)]
    found = [best for train in named if (best := best_polarity(train, edge, wheel)) is not None]
    if not any(oddness(best) < MISREAD for best in found):
        rest = [train for train in looked if train not in named]
        found += [best for train in rest if (best := best_polarity(train, edge, wheel)) is not None]
    rank = (
        {id(candidate): _rank(candidate, trains) for candidate in found}
        if len(found) > 1
        else {id(c): 0 for c in found}
    )
    return sorted(found, key=lambda candidate: -rank[id(candidate)])


def best_polarity(train: EdgeTrain, edge: str | None, wheel: Stated | None = None) -> CrankCandidate | None:
    """The reading of a channel as wheel by the polarity asked for, or by the one that scatters less.

    An inductive sensor crosses its baseline slowly inside a gap, where no tooth is: there the polarity with the longer
    gap carries the angle.
    """
    found = []
    for polarity in train.polarities:
        if edge is None or polarity in (edge, "as recorded"):
            found += _read_as_wheel(train, polarity, wheel)
    if not found:
        return None
    if train.sensor == "inductive":
        known = [item for item in found if oddness(item) < UNUSUAL]
        found = _by_steepness(train, known or found)
    plainest = min(oddness(item) for item in found)
    found = [item for item in found if oddness(item) == plainest]
    fits = max(item.track.explained for item in found)
    found = [item for item in found if item.track.explained >= fits - BETTER]
    cheapest = min(item.shape.cost for item in found)
    found = [item for item in found if item.shape.cost <= cheapest + PLAINER]
    least = min(item.scatter for item in found)
    return next(item for item in found if item.scatter <= NEARLY * least + 1e-9)


def _by_steepness(train: EdgeTrain, found: list[CrankCandidate]) -> list[CrankCandidate]:
    """The polarity of an inductive sensor whose crossings are all steep; else the one with the longer gap."""
    teeth = max(len(item.shape.steps) for item in found)
    even = [_least_steep(train, item, teeth) for item in found]
    if len(found) < 2 or max(even) < 1.3 * min(even):
        surest = min(_gap_key(item) for item in found)
        return [item for item in found if _gap_key(item) == surest]
    return [found[int(np.argmax(even))]]


def _least_steep(train: EdgeTrain, candidate: CrankCandidate, teeth: int) -> float:
    """Steepness of the slackest tooth of a section, mean over the turns, against the usual one [-].

    It goes with the square of the speed, which is taken out. An even row of one polarity may be a wheel with a gap by
    the other: then it is looked at by that one's ``teeth``.
    """
    from scipy.ndimage import median_filter

    track, own = candidate.track, len(candidate.shape.steps)
    places = Wheel(candidate.shape.steps).angle_deg(track.tooth)
    steep = train.steepness(track.times_s) * (np.gradient(track.times_s) / np.gradient(places)) ** 2
    share = steep / np.maximum(median_filter(steep, size=2 * max(own, teeth) + 1, mode="nearest"), 1e-300)
    tooth = track.tooth % (own if own > 1 else teeth)
    counts = np.bincount(tooth)
    return float(np.min(np.bincount(tooth, weights=share)[counts > 0] / counts[counts > 0]))


def _gap_key(candidate: CrankCandidate) -> tuple[float, int]:
    """Smaller for the longer gap, then for fewer gaps."""
    steps = candidate.shape.steps
    normal = Wheel(steps).normal_step
    return -max(steps) / normal, sum(1 for step in steps if step > normal)


def _read_as_wheel(train: EdgeTrain, polarity: str, stated: Stated | None) -> list[CrankCandidate]:
    """The best wheel for one polarity of a channel, as a list of one or none."""
    times = train.of(polarity)
    found: list[CrankCandidate] = []
    for shape in find_shapes(times, steps=stated.steps if stated else None):
        track = track_teeth(times, shape)
        if track.tooth.size < 8:
            continue
        wheel = Wheel(shape.steps)
        scatter = tooth_scatter_deg(angle_track(track.times_s, wheel.angle_deg(track.tooth), wheel.pitch_deg)) / 360.0
        as_stated = stated is not None and stated.is_shown_by(shape.steps)
        found.append(CrankCandidate(train, polarity, shape, track, scatter, as_stated))
        if oddness(found[-1]) == 0 and track.explained > 0.97 and roughness(found[-1]) < SMOOTH:
            break
    found = [item for item in found if not any(_far_better(other, item) for other in found)]
    return sorted(found, key=lambda item: (oddness(item), roughness(item) + 1 - item.track.explained))[:1]


def _far_better(one: CrankCandidate, other: CrankCandidate) -> bool:
    """Whether of two wheels of as many teeth one fits the intervals far better."""
    same = len(one.shape.steps) == len(other.shape.steps)
    return same and one.shape.misfit * FAR_BETTER < other.shape.misfit and other.shape.misfit > POOR


def roughness(candidate: CrankCandidate) -> float:
    """Mean change of the log time a place takes from tooth to tooth, cut at 1 [-]: small where the wheel is right."""
    steps = np.diff(Wheel(candidate.shape.steps).angle_deg(candidate.track.tooth))
    slow = np.log(np.maximum(np.diff(candidate.track.times_s), 1e-12) / steps)
    return float(np.minimum(np.abs(np.diff(slow)), 1.0).mean())


def oddness(candidate: CrankCandidate) -> int:
    """0 a usual wheel with a gap, 1 one without, 2 an unusual one, 3 whatever most edges do not fit."""
    if candidate.track.explained < FITS:
        return MISREAD
    if Wheel(candidate.shape.steps).even:
        return 1
    if candidate.track.faults > RECURRING * candidate.track.tooth.size / len(candidate.shape.steps):
        return MISREAD  # the same fault turn after turn is a wheel misread
    if candidate.stated:
        return 0
    if candidate.shape.cost <= USUAL and Wheel(candidate.shape.steps).usual:
        return 0
    return UNUSUAL if candidate.track.tooth.size >= 4 * len(candidate.shape.steps) else MISREAD


def _rank(candidate: CrankCandidate, trains: list[EdgeTrain]) -> float:
    """How likely a channel is the crank: its name, a gap among many teeth, many edges, edges that fit."""
    wheel = Wheel(candidate.shape.steps)
    most = max(train.times_s.size for train in trains)
    rank = np.log(candidate.train.times_s.size / most) + 2.0 * candidate.track.explained
    if CRANK_NAMES.search(candidate.train.name):
        rank += 10
    elif CAM_NAMES.search(candidate.train.name):
        rank -= 5
    if not wheel.even and wheel.places >= 12 and wheel.normal_step <= 3:
        rank += 1.0
    others = [train for train in trains if train is not candidate.train]
    if any(repeat and repeat % 2 == 0 for repeat in (repeat_of(candidate, train) for train in others)):
        rank += 2.0
    return float(rank)


def repeat_of(candidate: CrankCandidate, train: EdgeTrain) -> int:
    """After how many sections of the candidate's wheel another channel repeats [-]; 0 where it does not."""
    angles, _ = candidate.positions_track().at(train.times_s)
    known = np.isfinite(angles)
    kinds = train.rising[known].astype(np.float64)
    tolerance = 0.3 if len(candidate.shape.steps) == 1 else 0.08
    silences = candidate.track.times_s[np.array(candidate.track.breaks, dtype=np.int64)]
    stretch = np.searchsorted(silences, train.times_s[known])
    wheel = Wheel(candidate.shape.steps)
    most = MOST_SECTIONS if wheel.even else max(2, 2 * (MOST_PLACES // wheel.places))
    return pattern_repeat(angles[known] / 360.0, kinds, tolerance, stretch, most)
