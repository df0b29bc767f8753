"""What a sensor recording says once it is decoded: the crank wheel, turns, speed, cam edges."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.capture.angle.curve import AngleTrack
from twoturn.capture.cams import Cam
from twoturn.capture.wheel.shape import Wheel


@dataclass(frozen=True)
class Crank:
    """The crank channel and its wheel.

    Attributes
    ----------
    channel, edge, sensor
        Name of the channel, polarity of the edges that carry the angle, kind of sensor.
    wheel
        The wheel.
    anchor
        Which tooth is 0 and what symmetry was free, in a sentence.
    zeros
        How many zeros were possible in a cycle of two turns [-].
    scatter_deg
        Robust standard deviation of a tooth against its neighbours [crank degrees].
    false_edges, missed_teeth
        Edges that are no teeth, teeth without an edge [-].
    hidden_deg, hidden_gap_deg
        Root mean square by which teeth of this recording were foretold wrongly when they were hidden one by one, and
        as many together as the longest gap lacks [crank degrees]; None where there were too few cycles to try.
    """

    channel: str
    edge: str
    sensor: str
    wheel: Wheel
    anchor: str
    zeros: int
    scatter_deg: float
    false_edges: int
    missed_teeth: int
    hidden_deg: float | None = None
    hidden_gap_deg: float | None = None


@dataclass(frozen=True, eq=False)
class Decoded:
    """A decoded capture.

    Attributes
    ----------
    file
        The file's name.
    crank
        The crank channel; None where none was understood.
    turns
        Crank turns covered [-].
    rpm
        Least, mean and greatest speed [1/min]; None where the file tells no time.
    cams
        Cam channels with their edges.
    angle
        Crank angle over time, for plots; None where no crank was understood.
    why
        Sentences on what could not be told.
    notes
        Sentences on the file and the decoding.
    doubts
        Those of them on what makes the reading less sure: a file cut off, a silence, hum, a part left out.
    """

    file: str
    crank: Crank | None
    turns: float
    rpm: tuple[float, float, float] | None
    cams: tuple[Cam, ...]
    angle: AngleTrack | None
    why: tuple[str, ...]
    notes: tuple[str, ...]
    doubts: tuple[str, ...] = ()
