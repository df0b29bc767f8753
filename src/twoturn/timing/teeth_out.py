"""Which sprocket is how many belt teeth out, from marks, pins, painted lines and sensor recordings together."""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from twoturn.drive.parts import Drive
from twoturn.errors import DomainError
from twoturn.timing.evidence import Evidence
from twoturn.timing.explanation import Explanation, Explanations
from twoturn.timing.inseparable import inseparable
from twoturn.timing.posterior import Frame, Weighed, frame_of, gauge_log_priors, gauges, weigh
from twoturn.timing.train import Train, train_of

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
SHOWN = 1e-3
MOST_SHOWN = 24


def explain(drive: Drive, evidence: list[Evidence]) -> Explanations:
    """Every smallest set of whole-tooth slips that explains the evidence, with its probability.

    Parameters
    ----------
    drive
        The drive.
    evidence
        Marks, pins, painted lines and sensor recordings [crank degrees, positive late]; several of one shaft count
        together.

    Returns
    -------
    Explanations
        Bayes' rule over Δ_i = deg_per_tooth_i·(n_i − n_driver) + rest_i (``posterior``), searched over half a turn of
        each shaft either way; priors in ``priors``.

    Raises
    ------
    DomainError
        No evidence of a shaft that hangs on the crankshaft, an unknown shaft, or an uncertainty below 0.
    """
    train = train_of(drive)
    frame = checked_frame(drive, train, evidence)
    weighed = weigh(frame, _degrees(frame, evidence)[None, :])
    total = np.logaddexp(np.logaddexp.reduce(weighed.log_weight[0]), weighed.log_other[0])
    found = _smallest_sets(frame, weighed, total, _degrees(frame, evidence))
    other = float(np.exp(weighed.log_other[0] - total))
    shares = _shares(frame, weighed, float(total))
    common = float(np.exp(weighed.log_common[0] - total))
    return Explanations(found, other, tuple(inseparable(drive, frame, found, common)), shares)


def checked_frame(drive: Drive, train: Train, evidence: list[Evidence]) -> Frame:
    """The frame of some evidence, after it was found to make sense.

    Raises
    ------
    DomainError
        As in :func:`explain`.
    """
    reached = {train.crank, *(step.shaft for step in train.steps)}
    sprockets = {name for step in train.steps for name in (step.sprocket, step.driver) if name}
    for item in evidence:
        if item.shaft not in reached:
            known = any(shaft.id == item.shaft for shaft in drive.shafts)
            what = (
                "is turned by no toothed wheel that leads to the crankshaft" if known else "is no shaft of this drive"
            )
            raise DomainError(f'"{item.shaft}" {what}', allowed=", ".join(sorted(reached)))
        if item.kind == "line" and item.shaft not in sprockets:
            raise DomainError(f'no belt runs over "{item.shaft}", so no painted line can be seen against it')
        if not (np.isfinite(item.deg) and np.isfinite(item.u) and item.u >= 0):
            raise DomainError(
                f'{item.deg:g} ± {item.u:g} crank degrees of "{item.shaft}" mean nothing',
                allowed="finite numbers, the uncertainty 0 or more",
            )
    frame = frame_of(train, evidence)
    if not frame.rows and not frame.lines:
        raise DomainError(
            "nothing says how any shaft stands against the crankshaft",
            next_step="enter a mark, a pin, a painted line or a sensor recording of a driven shaft",
        )
    return frame


def _degrees(frame: Frame, evidence: list[Evidence]) -> Array:
    """What was seen, row by row, with the crankshaft's own distance from its mark taken off marks and pins [°]."""
    crank = sum(item.deg for item in evidence if item.shaft == frame.train.crank and item.kind != "line")
    return np.array([row.deg - (0.0 if row.kind == "capture" else crank) for row in frame.rows])


def _smallest_sets(frame: Frame, weighed: Weighed, total: float, deg: Array) -> tuple[Explanation, ...]:
    """Every hypothesis split into its smallest sets, most probable first."""
    weights = weighed.log_weight[0] - total
    found: list[Explanation] = []
    for at in np.argsort(-weights)[: 4 * MOST_SHOWN]:
        if not weights[at] > np.log(SHOWN / 10):
            break
        teeth, overlap = weighed.teeth[0, at], bool(weighed.overlap[at])
        rest = _rest(frame, teeth, overlap, deg)
        for slips, share in _split(frame, teeth):
            probability = float(np.exp(weights[at])) * share
            found.append(Explanation(slips, rest, probability, overlap))
    found.sort(key=lambda item: (-item.probability, len(item.slips)))
    kept = [item for item in found[:MOST_SHOWN] if item.probability >= SHOWN]
    return tuple(kept or found[:1] or [Explanation({}, {}, 0.0)])


def _split(frame: Frame, teeth: IntArray) -> list[tuple[dict[str, int], float]]:
    """The smallest sets behind one hypothesis and the share of each; over several belts their combinations."""
    by_belt = []
    for belt, columns in frame.belts.items():
        driver, sprockets, _ = gauges(frame, teeth, belt)
        weight = gauge_log_priors(frame, teeth, belt)
        share = np.exp(weight - np.logaddexp.reduce(weight))
        steps = [frame.train.steps[frame.steps[column]] for column in columns]
        names = [steps[0].driver, *(step.sprocket for step in steps)]
        sets = [dict(zip(names, (driver[at], *sprockets[at]), strict=True)) for at in range(len(share))]
        by_belt.append([(some, float(part)) for some, part in zip(sets, share, strict=True) if part > 0])
    out = []
    for combination in product(*by_belt):
        slips: dict[str, int] = {}
        for some, _ in combination:
            slips.update({name: int(value) for name, value in some.items() if value})
        out.append((slips, float(np.prod([part for _, part in combination]))))
    return out


def _rest(frame: Frame, teeth: IntArray, overlap: bool, deg: Array) -> dict[str, float]:
    """Posterior mean of the part of each seen shaft's shift that is no whole tooth [crank degrees]."""
    if not frame.rows:
        return {}
    off = deg - 360.0 * frame.captured * overlap - teeth @ frame.moves.T
    off = off - frame.periods * np.round(off / frame.periods)
    sigma = np.array([frame.train.steps[at].rest_sigma_deg for at in frame.steps])
    prior = (frame.hangs * sigma**2) @ frame.hangs.T + frame.train.crank_sigma_deg**2
    mean = prior @ np.linalg.solve(frame.covariance, off)
    return {row.shaft: float(value) for row, value in zip(frame.rows, mean, strict=True)}


def _shares(frame: Frame, weighed: Weighed, total: float) -> dict[str, tuple[int, float]]:
    """By shaft: the most probable whole teeth against the crankshaft, and their probability."""
    weight = np.exp(weighed.log_weight[0] - total)
    out: dict[str, tuple[int, float]] = {}
    for at in frame.steps:
        line = [int(np.flatnonzero(frame.steps == index)[0]) for index in frame.train.line(frame.train.steps[at].shaft)]
        moves = np.array([frame.train.steps[frame.steps[column]].deg_per_tooth for column in line])
        own = next((move for move in moves[::-1] if move), 0.0)
        if not own:
            continue
        teeth = np.rint(weighed.teeth[0][:, line] @ moves / own).astype(int)
        values, inverse = np.unique(teeth, return_inverse=True)
        sums = np.bincount(inverse, weights=weight)
        best = int(np.argmax(sums))
        out[frame.train.steps[at].shaft] = (int(values[best]), float(min(1.0, sums[best])))
    return out
