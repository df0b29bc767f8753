"""What a sensor capture holds once it is read: channels of levels, volts or edge times."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Kind = Literal["logic", "analogue", "edges"]


@dataclass(frozen=True, eq=False)
class Channel:
    """One channel of a capture; its samples are never altered.

    Attributes
    ----------
    name
        Name as written in the file, or ``"channel 1"`` where the file gives none.
    kind
        ``"logic"`` two levels, ``"analogue"`` volts or sound samples, ``"edges"`` bare times of edges of one kind.
    times_s
        Times of the samples or edges, shape (n,) [s] (see ``Capture.time_known``).
    values
        Levels 0 and 1 [-] or volts [V], shape (n,); empty for bare edge times.
    rate_hz
        Samples a second [Hz] when sampled evenly; None for levels written at changes and bare edge times.
    """

    name: str
    kind: Kind
    times_s: Array
    values: Array
    rate_hz: float | None = None


@dataclass(frozen=True, eq=False)
class Capture:
    """A sensor capture as read from a file.

    Attributes
    ----------
    channels
        Its channels, those without any change left out.
    duration_s
        Time from first to last sample or edge [s].
    rate_hz
        Samples a second [Hz] when sampled evenly, else None.
    file, format
        File name without folders; ``"csv"`` or ``"wav"``.
    time_known
        False where the file counts samples and says no rate: angles hold, speeds are unknown.
    unit_stated
        False where the file says no unit of time: seconds are assumed and checked against plausible speeds.
    notes
        Sentences about the file itself.
    """

    channels: tuple[Channel, ...]
    duration_s: float
    rate_hz: float | None
    file: str
    format: str
    time_known: bool = True
    unit_stated: bool = True
    notes: tuple[str, ...] = field(default_factory=tuple)
