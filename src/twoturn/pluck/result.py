"""What the reading of a plucked span answers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from twoturn.pluck.evidence import Evidence
from twoturn.pluck.partials import Pluck
from twoturn.quantity.reading import Reading

Array = NDArray[np.float64]
OtherNotes = Sequence[tuple[float, int]]
"""Notes at which other plucks ring [Hz], and how many at each [-]."""


def is_contested(others: int, agreeing: int) -> bool:
    """Whether plucks at other notes are half as many as those that agree, or more (judgement).

    Parameters
    ----------
    others, agreeing
        Numbers of plucks [-].
    """
    return others > 0 and agreeing <= 2 * others


@dataclass(frozen=True)
class HeardPluck:
    """One pluck that counts, or one that was heard but does not agree.

    Attributes
    ----------
    pluck
        Its fit.
    evidence
        What speaks for its being a pluck.
    agrees
        Whether it belongs to the plucks that were combined.
    """

    pluck: Pluck
    evidence: Evidence
    agrees: bool

    def as_json(self) -> dict[str, Any]:
        """Time, first partial, decay and strength for the command line's JSON."""
        return {
            "time_s": round(self.pluck.time_s, 4),
            "frequency_hz": self.pluck.f1_hz,
            "u_hz": math.hypot(self.pluck.u_hz, self.pluck.room_u_hz),
            "decay_s": self.pluck.tau_s,
            "partials": [int(n) for n in self.pluck.number],
            "snr_db": round(self.pluck.snr_db, 1),
            "agrees": self.agrees,
        }


@dataclass(frozen=True, eq=False)
class Spectrum:
    """The mean spectrum of the plucks, for a picture.

    Attributes
    ----------
    hertz, level_db
        Frequency [Hz] and level over the background [dB], shape (n,).
    partials
        Number of the partial and its frequency [Hz].
    """

    hertz: Array
    level_db: Array
    partials: tuple[tuple[int, float], ...]


@dataclass(frozen=True, eq=False)
class PluckResult:
    """The reading of one recording.

    Attributes
    ----------
    found
        Whether a plucked span was heard.
    plucks
        The plucks, in order of time; empty when none was found.
    frequency
        First partial in the limit of small amplitude [Hz]; None when none was found.
    second_ratio
        f₂/(2·f₁) where the second partial was heard [-]; None otherwise.
    why
        One sentence: what was found, or why nothing was.
    doubts
        Sentences on what makes the reading less sure.
    steps
        What was done to the sound, in words.
    spectrum
        For the picture; None for a recording too short for one.
    duration_s, sha256
        Length of the recording [s] and SHA-256 of its file.
    other_notes
        Other notes heard: the note [Hz] and the number of plucks at it [-].
    """

    found: bool
    plucks: tuple[HeardPluck, ...]
    frequency: Reading | None
    second_ratio: Reading | None
    why: str
    doubts: tuple[str, ...]
    steps: tuple[str, ...]
    spectrum: Spectrum | None
    duration_s: float
    sha256: str = ""
    other_notes: OtherNotes = ()

    @property
    def contested(self) -> bool:
        """Whether half as many plucks or more ring at other notes as at this: then the note counts for no span."""
        return is_contested(sum(count for _, count in self.other_notes), len(self.agreeing))

    @property
    def agreeing(self) -> tuple[HeardPluck, ...]:
        """The plucks that were combined."""
        return tuple(heard for heard in self.plucks if heard.agrees)

    def as_json(self) -> dict[str, Any]:
        """The keys of ``twoturn pluck --json`` that concern the sound."""
        return {
            "found": self.found,
            "plucks": [heard.as_json() for heard in self.plucks],
            "frequency_hz": None if self.frequency is None else self.frequency.as_json(),
            "second_ratio": None if self.second_ratio is None else self.second_ratio.as_json(),
            "why": self.why,
            "other_notes": [{"frequency_hz": hertz, "plucks": count} for hertz, count in self.other_notes],
            "contested": self.contested,
            "doubts": list(self.doubts),
            "steps": list(self.steps),
            "duration_s": self.duration_s,
            "sha256": self.sha256,
        }
