"""The sum behind "teeth out": every set of whole-tooth slips weighed against what was seen, vectorised over cases.

Along the train Δ_i = Δ_parent + deg_per_tooth·(n_i − n_driver) + rest_i with rest_i ~ Normal(0, σ_i²). Given the slips,
what is seen is Gaussian with one covariance for all slips; only the differences d = n_i − n_driver move an angle.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from twoturn.timing.evidence import Evidence
from twoturn.timing.priors import LOOKS_ALIKE, OTHER_CAUSE, OVERLAP_TAKEN, log_slip_prior
from twoturn.timing.train import Step, Train

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

REACH_SIGMA = 7.0
KEPT = 4096
LEAST_U_DEG = 1e-3
WILD_SHARE = 0.1
OVERLAP_DEG = 360.0


@dataclass(frozen=True)
class Frame:
    """What does not change from case to case: which slips count, and how they and the rests show.

    Attributes
    ----------
    train
        The train.
    rows
        The angles seen, one a row, painted lines and the crankshaft's own mark left out; in the order of the train.
    lines
        The painted lines seen.
    steps
        Indices of the train's steps that matter; shape (steps,).
    hangs
        1 where a row's shaft hangs on a step; shape (rows, steps) [-].
    moves
        Crank degrees a tooth of each step shows in each row; shape (rows, steps) [°].
    covariance
        Of the rows given the slips; shape (rows, rows) [°²].
    periods
        Whole turn of each row's shaft; shape (rows,) [°].
    captured
        1 for rows of sensor recordings; shape (rows,) [-].
    """

    train: Train
    rows: tuple[Evidence, ...]
    lines: tuple[Evidence, ...]
    steps: IntArray
    hangs: Array
    moves: Array
    covariance: Array
    periods: Array
    captured: Array

    @property
    def belts(self) -> dict[str, list[int]]:
        """By belt: columns of ``steps`` whose sprockets it turns."""
        found: dict[str, list[int]] = {}
        for column, at in enumerate(self.steps):
            belt = self.train.steps[at].belt
            if belt is not None:
                found.setdefault(belt, []).append(column)
        return found


@dataclass(frozen=True)
class Weighed:
    """Hypotheses and their weights.

    Attributes
    ----------
    teeth
        Differences d [-] of every step (0 for links); shape (cases, hypotheses, steps).
    log_weight
        Log of prior × density, of angles and prior of the differences; shape (cases, hypotheses).
    overlap
        True where TDC of overlap was taken for firing TDC; shape (hypotheses,) as 2 blocks of equal size.
    log_other
        The same for causes that are no whole tooth; shape (cases,).
    log_common
        The part of it where everything recorded moved alike (crankshaft's hub or sensor wheel); shape (cases,).
    """

    teeth: IntArray
    log_weight: Array
    overlap: NDArray[np.bool_] = field(repr=False)
    log_other: Array
    log_common: Array


def frame_of(train: Train, evidence: list[Evidence]) -> Frame:
    """The frame for some evidence, whose ``deg`` values do not matter here."""
    angles = [item for item in evidence if item.kind != "line" and item.shaft != train.crank]
    rows = tuple(sorted(angles, key=lambda item: train.index(item.shaft)))
    lines = tuple(item for item in evidence if item.kind == "line")
    needed = {at for item in (*rows, *lines) for at in train.line(item.shaft)}
    for line in lines:
        needed |= set(train.first_driven_by(line.shaft))
    steps = np.array(sorted(needed), dtype=np.int64)
    hangs = np.array([[float(at in train.line(row.shaft)) for at in steps] for row in rows]).reshape(
        len(rows), len(steps)
    )
    per_tooth = np.array([train.steps[at].deg_per_tooth for at in steps])
    sigma = np.array([train.steps[at].rest_sigma_deg for at in steps])
    captured = np.array([float(row.kind == "capture") for row in rows])
    crank_u = [item.u for item in evidence if item.shaft == train.crank and item.kind != "line"]
    looked = 1 - captured
    covariance = (
        (hangs * sigma**2) @ hangs.T
        + train.crank_sigma_deg**2
        + np.diag([max(row.u, LEAST_U_DEG) ** 2 for row in rows])
        + np.outer(looked, looked) * sum(u**2 for u in crank_u)
    )
    periods = np.array([train.steps[train.index(row.shaft)].period_deg for row in rows])
    return Frame(train, rows, lines, steps, hangs, hangs * per_tooth, covariance, periods, captured)


def weigh(frame: Frame, deg: Array) -> Weighed:
    """Weigh every set of slips that what was seen leaves possible.

    Parameters
    ----------
    frame
        The frame.
    deg
        What was seen in each row; shape (cases, rows) [crank degrees, positive late].

    Returns
    -------
    Weighed
        Hypotheses beyond 7 σ of every reading are left out (their share is below 1e-9).
    """
    blocks = []
    for overlap in (False, True) if frame.rows else (False,):
        shifted = deg - OVERLAP_DEG * frame.captured if overlap else deg
        teeth = _candidates(frame, shifted)
        log_weight = _log_density(frame, _residual(frame, shifted, teeth)) + _log_prior(frame, teeth)
        looked = int(np.sum(1 - frame.captured))
        log_weight += np.log(OVERLAP_TAKEN) + looked * np.log(LOOKS_ALIKE) if overlap else np.log(1 - OVERLAP_TAKEN)
        log_weight[_doubled(frame, teeth)] = -np.inf
        blocks.append((teeth, log_weight))
    width = max(teeth.shape[1] for teeth, _ in blocks)
    padded = [_padded(teeth, log_weight, width) for teeth, log_weight in blocks]
    other, common = _other(frame, deg)
    return Weighed(
        teeth=np.concatenate([teeth for teeth, _ in padded], axis=1),
        log_weight=np.concatenate([weight for _, weight in padded], axis=1),
        overlap=np.repeat([False, True], width)[: width * len(blocks)],
        log_other=other,
        log_common=common,
    )


def _padded(teeth: IntArray, log_weight: Array, width: int) -> tuple[IntArray, Array]:
    lack = width - teeth.shape[1]
    return (
        np.pad(teeth, ((0, 0), (0, lack), (0, 0))),
        np.pad(log_weight, ((0, 0), (0, lack)), constant_values=-np.inf),
    )


def _residual(frame: Frame, deg: Array, teeth: IntArray) -> Array:
    """Seen minus predicted, within half a turn of each shaft; shape (cases, hypotheses, rows) [°]."""
    off = deg[:, None, :] - teeth @ frame.moves.T
    return np.asarray(off - frame.periods * np.round(off / frame.periods))


def _log_density(frame: Frame, residual: Array, count: int | None = None) -> Array:
    """Log of the Gaussian density of the first ``count`` rows' residuals."""
    size = residual.shape[-1] if count is None else count
    if size == 0:
        return np.zeros(residual.shape[:-1])
    root = np.linalg.cholesky(frame.covariance[:size, :size])
    white = residual[..., :size] @ np.linalg.inv(root).T
    return np.asarray(-0.5 * np.sum(white**2, axis=-1) - np.log(np.diag(root)).sum() - size / 2 * np.log(2 * np.pi))


def _candidates(frame: Frame, deg: Array) -> IntArray:
    """Differences within reach of what was seen, step by step along the train; shape (cases, hypotheses, steps)."""
    cases = deg.shape[0]
    teeth = np.zeros((cases, 1, len(frame.steps)), dtype=np.int64)
    for column, at in enumerate(frame.steps):
        step = frame.train.steps[at]
        if step.belt is None:
            continue
        options = _options(frame, deg, teeth, column)
        grown = np.repeat(teeth[:, :, None, :], options.shape[2], axis=2)
        grown[..., column] = _wrapped(options, step.teeth)
        teeth = grown.reshape(cases, -1, len(frame.steps))
        teeth = _pruned(frame, deg, teeth, column)
    return teeth


def _options(frame: Frame, deg: Array, teeth: IntArray, column: int) -> IntArray:
    """Whole teeth worth trying for one step, given those before it; shape (cases, hypotheses, options)."""
    per_tooth = frame.train.steps[frame.steps[column]].deg_per_tooth
    found = [np.zeros((*teeth.shape[:2], 1), dtype=np.int64)]
    for row in _witnesses(frame, column):
        left = deg[:, None, row] - teeth @ frame.moves[row]
        left = left - frame.periods[row] * np.round(left / frame.periods[row])
        reach = int(np.ceil(REACH_SIGMA * np.sqrt(frame.covariance[row, row]) / per_tooth))
        centre = np.round(left / per_tooth).astype(np.int64)
        found.append(centre[..., None] + np.arange(-reach, reach + 1))
    by_line = _differences_by_lines(frame, frame.train.steps[frame.steps[column]])
    found.append(np.broadcast_to(by_line, (*teeth.shape[:2], len(by_line))))
    return np.concatenate(found, axis=2)


def _differences_by_lines(frame: Frame, step: Step) -> IntArray:
    """Differences [-] of one step that painted lines on either of its sprockets speak for, a tooth either way."""
    seen = {name: {0} for name in (step.sprocket, step.driver)}
    for line in frame.lines:
        if line.shaft in seen:
            seen[line.shaft].add(round(line.deg / step.deg_per_tooth))
    pairs = {own - by for own in seen[step.sprocket] for by in seen[step.driver]}
    return np.array(sorted({pair + more for pair in pairs for more in (-1, 0, 1)} if len(pairs) > 1 else {0}))


def _witnesses(frame: Frame, column: int) -> list[int]:
    """Rows that show a step: its own shaft's where it has any, else those of every shaft that hangs on it."""
    shaft = frame.train.steps[frame.steps[column]].shaft
    hanging = [row for row in range(len(frame.rows)) if frame.hangs[row, column]]
    return [row for row in hanging if frame.rows[row].shaft == shaft] or hanging


def _wrapped(teeth: IntArray, count: int) -> IntArray:
    """Teeth within half a turn of a sprocket of ``count`` teeth: above −count/2, up to count/2."""
    return np.asarray(-((-teeth + count // 2) % count - count // 2), dtype=np.int64)


def _doubled(frame: Frame, teeth: IntArray) -> NDArray[np.bool_]:
    """True for a hypothesis that repeats an earlier one of its case; shape (cases, hypotheses)."""
    counts = np.array([frame.train.steps[at].teeth + 1 for at in frame.steps], dtype=np.int64)
    weights = np.concatenate([[1], np.cumprod(counts)[:-1]]).astype(np.int64)[: len(counts)]
    key = teeth @ weights
    order = np.argsort(key, axis=1, kind="stable")
    again = np.zeros(key.shape, dtype=bool)
    ordered = np.take_along_axis(key, order, axis=1)
    again[:, 1:] = ordered[:, 1:] == ordered[:, :-1]
    out = np.zeros_like(again)
    np.put_along_axis(out, order, again, axis=1)
    return out


def _pruned(frame: Frame, deg: Array, teeth: IntArray, column: int) -> IntArray:
    """The best hypotheses so far, judged by the rows that need no later step."""
    if teeth.shape[1] <= KEPT:
        return teeth
    settled = [row for row in range(len(frame.rows)) if not frame.hangs[row, column + 1 :].any()]
    count = 0
    while count in settled:
        count += 1
    score = _log_density(frame, _residual(frame, deg, teeth), count) + _log_prior(frame, teeth)
    score[_doubled(frame, teeth)] = -np.inf
    best = np.argpartition(-score, KEPT, axis=1)[:, :KEPT]
    return np.take_along_axis(teeth, best[:, :, None], axis=1)


def gauges(frame: Frame, teeth: IntArray, belt: str) -> tuple[IntArray, IntArray, NDArray[np.bool_]]:
    """The smallest sets of slips behind the differences on one belt.

    Parameters
    ----------
    frame
        The frame.
    teeth
        Differences; shape (…, steps) [-].
    belt
        Id of the belt.

    Returns
    -------
    tuple
        Slip of the driver, shape (…, gauges); slips of the sprockets, shape (…, gauges, sprockets); and whether this
        gauge is the first of its kind, shape (…, gauges). Gauge 0 leaves the driver on its tooth, gauge k the k-th
        sprocket; so no slip of a set can be left out. Each painted line adds the set that agrees with it.
    """
    columns = frame.belts[belt]
    here = teeth[..., columns]
    wanted = [np.zeros((*here.shape[:-1], 1), dtype=np.int64), -here]
    steps = [frame.train.steps[frame.steps[column]] for column in columns]
    for line in frame.lines:
        seen = round(line.deg / steps[0].deg_per_tooth)
        if line.shaft == steps[0].driver:
            wanted.append(np.full((*here.shape[:-1], 1), seen))
        wanted += [seen - here[..., [at]] for at, step in enumerate(steps) if step.sprocket == line.shaft]
    driver = np.concatenate(wanted, axis=-1)
    sprockets = here[..., None, :] + driver[..., :, None]
    same = driver[..., :, None] == driver[..., None, :]
    earlier = np.tril(np.ones(same.shape[-2:], dtype=bool), k=-1)
    return driver, sprockets, ~np.any(same & earlier, axis=-1)


def gauge_log_priors(frame: Frame, teeth: IntArray, belt: str) -> Array:
    """Log weight of every smallest set on one belt, painted lines included; −inf for repeats; shape (…, gauges)."""
    columns = frame.belts[belt]
    driver, sprockets, first = gauges(frame, teeth, belt)
    steps = [frame.train.steps[frame.steps[column]] for column in columns]
    counts = np.array([step.teeth for step in steps])
    weight = log_slip_prior(driver) + log_slip_prior(_wrapped_each(sprockets, counts)).sum(axis=-1)
    for line in frame.lines:
        for at, step in enumerate(steps):
            if line.shaft == step.sprocket:
                weight = weight + _log_normal(line.deg - sprockets[..., at] * step.deg_per_tooth, line.u)
        if line.shaft == steps[0].driver:
            weight = weight + _log_normal(line.deg - driver * steps[0].deg_per_tooth, line.u)
    return np.where(first, weight, -np.inf)


def _wrapped_each(teeth: IntArray, counts: IntArray) -> IntArray:
    return np.asarray(-((-teeth + counts // 2) % counts - counts // 2), dtype=np.int64)


def _log_normal(off: Array, u: float) -> Array:
    sigma = max(u, LEAST_U_DEG)
    return np.asarray(-0.5 * (off / sigma) ** 2 - np.log(sigma * np.sqrt(2 * np.pi)))


def _log_prior(frame: Frame, teeth: IntArray) -> Array:
    total = np.zeros(teeth.shape[:-1])
    for belt in frame.belts:
        total = total + np.logaddexp.reduce(gauge_log_priors(frame, teeth, belt), axis=-1)
    return total


def _other(frame: Frame, deg: Array) -> tuple[Array, Array]:
    """Log weight of causes that are no whole tooth, all of them and those that move everything recorded alike.

    One thing moved by any angle: what was recorded, or all that hangs on one step; evenly over two crank turns. A small
    share says that every reading is wild.
    """
    lines = sum(float(_log_normal(np.array(line.deg), line.u)) for line in frame.lines)
    if not frame.rows:
        empty = np.full(deg.shape[0], np.log(OTHER_CAUSE) + lines)
        return empty, empty
    all_rows = np.ones(len(frame.rows))
    patterns = {tuple(all_rows): True, tuple(frame.captured): True} if frame.captured.any() else {tuple(all_rows): True}
    for column in range(len(frame.steps)):
        patterns.setdefault(tuple(frame.hangs[:, column]), False)
    wrapped = deg - frame.periods * np.round(deg / frame.periods)
    share = np.log(OTHER_CAUSE * (1 - WILD_SHARE) / len(patterns)) + lines
    weights = {key: _log_moved(frame, wrapped, np.array(key)) + share for key in patterns}
    wild = np.log(OTHER_CAUSE * WILD_SHARE) - np.log(frame.periods).sum() + lines
    common = np.logaddexp.reduce([weights[key] for key, alike in patterns.items() if alike], axis=0)
    every = np.logaddexp.reduce([*weights.values(), np.full(deg.shape[0], wild)], axis=0)
    return every, common


def _log_moved(frame: Frame, deg: Array, pattern: Array) -> Array:
    """Log density with all rows of a pattern moved by one unknown angle, spread evenly over two crank turns."""
    inverse = np.linalg.inv(frame.covariance)
    weight = float(pattern @ inverse @ pattern)
    angle = deg @ inverse @ pattern / weight
    fit = _log_density(frame, deg - angle[:, None] * pattern)
    return np.asarray(fit + 0.5 * np.log(2 * np.pi / weight) - np.log(2 * OVERLAP_DEG))
