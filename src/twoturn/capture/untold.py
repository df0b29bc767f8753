"""Why a sensor recording gives no wheel, or a wheel and no angles."""

from __future__ import annotations

from twoturn.capture.crank.choose import CAM_NAMES, CRANK_NAMES, UNUSUAL, CrankCandidate, oddness
from twoturn.capture.decoded import Decoded
from twoturn.capture.model import Capture
from twoturn.capture.signal.edges import EdgeTrain
from twoturn.capture.signal.unit import FASTEST_RPM, SLOWEST_RPM
from twoturn.capture.wheel.shape import Wheel

WIDEST = 4.5
"""Longest step of a wheel that is believed of a sound file without a cam channel [normal steps]."""
LEAST_TURNS, LEAST_EVEN = 5.0, 120
"""Turns of a wheel with a gap, edges of one without, that must be seen where no cam channel confirms it [-]."""
FEW_TEETH = 24
"""Wheels with no more teeth than this, or of an odd number of places, may be read over two turns as if over one [-]."""


def not_understood(capture: Capture, trains: list[EdgeTrain], told: EdgeTrain | None, how: str = "") -> Decoded:
    """The answer where no channel shows a wheel."""
    looked = [told] if told else trains
    seen = "; ".join(f"{train.name}: {len(train.times_s)} edges ({train.sensor})" for train in looked)
    why = f"{how}: " if how else ""
    why += f"no channel shows a wheel that repeats turn after turn ({seen}); record ten turns or more"
    if capture.format == "wav":
        why += "; a plucked belt is read by “twoturn pluck”"
    return Decoded(capture.file, None, 0.0, None, (), None, (why,), capture.notes)


def too_short(capture: Capture, best: CrankCandidate, certain: bool, sections: int | None) -> str:
    """Why the wheel is not sure: too few turns, or a sound; empty where a cam channel confirms it or turns are many."""
    teeth, track = len(best.shape.steps), best.track
    if certain:
        return ""
    if teeth == 1 and (track.tooth.size < LEAST_EVEN or (sections is None and capture.format == "wav")):
        return f"too short, or no wheel: {track.tooth.size} even edges of {best.train.name}, no place comes again"
    turns = float(track.tooth[-1] - track.tooth[0]) / teeth / (sections or 1)
    if teeth > 1 and turns < LEAST_TURNS:
        return f"too short, {turns:.1f} turns of {best.train.name} at most, and no cam channel confirms its wheel"
    widest = max(best.shape.steps) / Wheel(best.shape.steps).normal_step
    if capture.format == "wav" and (oddness(best) == UNUSUAL or widest > WIDEST):
        return f"{best.train.name} fits no wheel that is made"
    seconds = float(track.times_s[-1] - track.times_s[0])
    if capture.format == "wav" and teeth > 1 and not SLOWEST_RPM <= 60 * turns / seconds <= FASTEST_RPM:
        return f"{best.train.name} would turn at {60 * turns / seconds:.0f} rpm"
    return ""


def cam_alone(best: CrankCandidate, others: list[EdgeTrain], told: bool) -> str:
    """Why the only wheel seen is no crank's: its channel is called a cam's; empty otherwise, or where it was told."""
    name = best.train.name
    if told or others or not CAM_NAMES.search(name) or CRANK_NAMES.search(name):
        return ""
    return (
        f"{name} is a cam's by its name (its wheel: {Wheel(best.shape.steps).text}) and no crank channel was recorded, "
        f"so there is no crank angle; if it is the crank, say so (--crank “{name}”)"
    )


def doubts(best: CrankCandidate, wheel: Wheel, repeat: int) -> list[str]:
    """Why angles would be a guess; empty where the wheel is understood."""
    name = best.train.name
    if best.stated:
        return []
    if oddness(best) == UNUSUAL or wheel.wide:
        return [
            f"the wheel of {name} is unlike those that are made ({wheel.text}, as far as speed allows to tell): angles "
            "would be a guess and are not given; record ten turns or more at a steadier speed, or state the wheel "
            "(--crank-wheel, or crank_wheel in the drive file)"
        ]
    if repeat == 1 and not wheel.even and (wheel.teeth <= FEW_TEETH or wheel.places % 2):
        return [
            f"the cam pattern comes again with every turn of the wheel of {name} ({wheel.text}): that may be two turns "
            "of a wheel with half as many teeth; angles would be a guess and are not given; state the wheel "
            "(--crank-wheel, or crank_wheel in the drive file)"
        ]
    return []
