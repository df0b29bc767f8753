"""Whole teeth of thousands of simulated readings at once, by the same weighing as one at a time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.drive.parts import Drive
from twoturn.errors import DomainError
from twoturn.timing.evidence import Evidence
from twoturn.timing.posterior import weigh
from twoturn.timing.teeth_out import checked_frame
from twoturn.timing.train import train_of

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class ManyTeeth:
    """The same for many cases at once, without the smallest sets.

    Attributes
    ----------
    shafts
        Shaft ids of the columns.
    teeth
        Most probable whole teeth between each shaft's sprocket and the one that drives it; shape (cases, shafts) [-].
    probability
        Of that whole set [-]; shape (cases,).
    overlap
        True where the most probable set has overlap taken for firing TDC; shape (cases,).
    other
        Probability of another cause [-]; shape (cases,).
    """

    shafts: tuple[str, ...]
    teeth: IntArray
    probability: Array
    overlap: NDArray[np.bool_]
    other: Array


def explain_many(drive: Drive, evidence: list[Evidence], deg: Array) -> ManyTeeth:
    """The most probable whole teeth for many sets of readings of the same kind.

    Parameters
    ----------
    drive
        The drive.
    evidence
        What is read each time: shaft, kind and uncertainty; no painted lines, and not of the crankshaft itself. Their
        ``deg`` does not matter.
    deg
        The readings; shape (cases, evidence) [crank degrees, positive late].

    Returns
    -------
    ManyTeeth
        See there.

    """
    train = train_of(drive)
    frame = checked_frame(drive, train, evidence)
    if len(frame.rows) != len(evidence):
        raise DomainError("many cases at once take angles of driven shafts only, no painted lines or crankshaft marks")
    order = sorted(range(len(evidence)), key=lambda at: train.index(evidence[at].shaft))
    weighed = weigh(frame, np.asarray(deg, dtype=float)[:, order])
    total = np.logaddexp(np.logaddexp.reduce(weighed.log_weight, axis=1), weighed.log_other)
    best = np.argmax(weighed.log_weight, axis=1)
    rows = np.arange(len(best))
    columns = [column for belt in frame.belts.values() for column in belt]
    return ManyTeeth(
        shafts=tuple(train.steps[frame.steps[column]].shaft for column in columns),
        teeth=weighed.teeth[rows, best][:, columns],
        probability=np.exp(weighed.log_weight[rows, best] - total),
        overlap=weighed.overlap[best],
        other=np.exp(weighed.log_other - total),
    )
