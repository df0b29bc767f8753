"""Telling every edge which tooth it is, past false edges, missed teeth and changes of speed.

Where the intervals follow the wheel plainly, whole stretches are counted at once. Where they do not, several counts are
carried along until one of them explains what follows far better than the others; a gap settles it at the latest.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array
from twoturn.capture.wheel.find import Shape, surest_zero

FALSE = np.iinfo(np.int64).min
FALSE_COST, MISSED_COST, WIDTH, MARGIN, PLAIN_RUN = 4.0, 3.0, 12, 7.0, 8
MOST_SEARCHED = 3000
SILENCE = 3.0
MOST_COUNTED = 4
"""Teeth missed together that are held against a count [-]: a drop-out loses many by one cause."""
DROP_OUT, CHANGED = 1.5, 0.2
"""Longest drop-out counted across [sections], by how much the speed may have changed over it, as a share [-]."""
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Track:
    """Edges with their running tooth numbers.

    Attributes
    ----------
    times_s
        Times of the edges that are teeth, shape (n,) [s].
    tooth
        Running tooth numbers, growing, shape (n,) [-]; multiples of the section's teeth are its tooth 0.
    false_edges, missed_teeth
        Edges that are no teeth, and teeth without an edge [-].
    breaks
        Indices of the teeth before which the signal was silent so long that the count was begun anew; the turns
        passed meanwhile are estimated from the speed [-].
    faults
        Places with false edges, or places with missed teeth, whichever are fewer: those that follow each other, as in
        a drop-out, count once [-].
    """

    times_s: Array
    tooth: Ints
    false_edges: int
    missed_teeth: int
    breaks: tuple[int, ...] = ()
    faults: int = 0

    @property
    def explained(self) -> float:
        """Share of the edges and of the teeth that fit each other [-]."""
        total = self.tooth.size + self.false_edges + self.missed_teeth
        return self.tooth.size / total if total else 0.0


def track_teeth(times_s: Array, shape: Shape) -> Track:
    """Count the teeth of a whole capture, forwards and backwards from where the wheel was seen best.

    Parameters
    ----------
    times_s
        Times of the edges of one polarity, shape (n,) [s].
    shape
        The wheel and where it was seen.

    Returns
    -------
    Track
        The edges that are teeth.
    """
    steps = np.array(shape.steps, dtype=np.float64)
    sigma = max(0.08, 1.2 * shape.noise)
    tooth = np.full(times_s.size, FALSE, dtype=np.int64)
    breaks: list[int] = []
    before: int | None = None
    for first, last in _stretches(times_s, steps):
        seed = _seed(times_s[first:last], steps, shape, first)
        if seed is None:
            continue
        part = _both_ways(times_s[first:last], seed, steps, sigma)
        if before is not None:
            breaks.append(first)
            known = first + np.flatnonzero(part != FALSE)
            part = np.where(
                part == FALSE, FALSE, part + _advance(times_s, tooth, before, part[known - first], known, steps)
            )
        tooth[first:last] = part
        before = first + int(np.flatnonzero(part != FALSE)[-1])
    return _track(times_s, tooth, breaks)


def _track(times_s: Array, tooth: Ints, breaks: list[int]) -> Track:
    """The counted teeth; what passed in silences counts as neither false nor missed."""
    real = np.flatnonzero(tooth != FALSE)
    counted = tooth[real]
    if counted.size == 0:
        return Track(times_s[real], counted, int(times_s.size), 0)
    starts = np.searchsorted(real, breaks)
    missed = int(counted[-1] - counted[0] + 1 - counted.size)
    for start in starts.tolist():
        missed -= int(counted[start] - counted[start - 1] - 1)
    false = int(np.count_nonzero(np.diff(np.append(tooth == FALSE, False).astype(np.int8)) < 0))
    gaps = int(np.count_nonzero(np.diff(counted) > 1)) - len(breaks)
    faults = min(false, max(gaps, 0))
    return Track(times_s[real], counted, int(times_s.size - real.size), missed, tuple(starts.tolist()), faults)


def _stretches(times_s: Array, steps: Array) -> list[tuple[int, int]]:
    """Stretches of edges between long silences, as first and last index + 1."""
    from scipy.ndimage import median_filter

    intervals = np.diff(times_s)
    if intervals.size < 16:
        return [(0, times_s.size)]
    usual = median_filter(intervals, size=15, mode="nearest")
    silent = np.flatnonzero(intervals > SILENCE * float(steps.max() / np.median(steps)) * usual) + 1
    ends = [0, *silent.tolist(), times_s.size]
    return list(pairwise(ends))


def _seed(times_s: Array, steps: Array, shape: Shape, first: int) -> int | None:
    """An edge of a stretch that is surely a tooth 0; None where the stretch is too short or follows no wheel."""
    if first <= shape.edge_zero < first + times_s.size:
        return shape.edge_zero - first
    if times_s.size < max(8, 2 * steps.size + 4):
        return None
    ratio = np.diff(np.log(np.maximum(np.diff(times_s), 1e-12)))
    seed = surest_zero(ratio, steps, 0)
    expected = np.log(steps / np.roll(steps, 1))
    count = min(2 * steps.size, ratio.size - max(0, seed - 1))
    off = ratio[max(0, seed - 1) : max(0, seed - 1) + count] - np.resize(expected, count)
    return seed if float(np.minimum(np.abs(off), 1.0).mean()) < 0.1 + 2 * shape.noise else None


def _both_ways(times_s: Array, seed: int, steps: Array, sigma: float) -> Ints:
    """Tooth numbers of a stretch, followed forwards and backwards from a tooth 0."""
    tooth = np.full(times_s.size, FALSE, dtype=np.int64)
    tooth[seed:] = _follow(times_s[seed:], steps, sigma)
    back = _follow(-times_s[: seed + 1][::-1], steps[::-1], sigma)[::-1]
    tooth[: seed + 1] = np.where(back == FALSE, FALSE, -back)
    return tooth


def _advance(times_s: Array, tooth: Ints, before: int, numbers: Ints, known: Ints, steps: Array) -> int:
    """Whole sections, in teeth, to add to a stretch so that it follows the one before at the speed there was."""
    places = np.concatenate([[0.0], np.cumsum(steps)])
    last = [i for i in range(max(0, before - 8), before + 1) if tooth[i] != FALSE]
    rate_before = _between(int(tooth[last[0]]), int(tooth[before]), places) / max(
        times_s[before] - times_s[last[0]], 1e-12
    )
    reach = min(8, known.size - 1)
    rate_after = _between(int(numbers[0]), int(numbers[reach]), places) / max(
        times_s[known[reach]] - times_s[known[0]], 1e-12
    )
    passed = (rate_before + rate_after) / 2 * float(times_s[known[0]] - times_s[before])
    now = _between(int(numbers[0]), int(tooth[before]), places) + passed
    sections = max(round(now / float(places[-1])), 0)
    while sections * steps.size + int(numbers[0]) <= int(tooth[before]):
        sections += 1
    return int(sections) * int(steps.size)


def _follow(times: Array, steps: Array, sigma: float) -> Ints:
    """Tooth numbers of the edges from the first, which is tooth 0; FALSE for edges that are no teeth."""
    tooth = np.full(times.size, FALSE, dtype=np.int64)
    if times.size == 0:
        return tooth
    tooth[0] = 0
    log_ratio = np.diff(np.log(np.maximum(np.diff(times), 1e-12)))
    expected = np.log(steps / np.roll(steps, 1))
    edge, searched = 0, 0
    while edge < times.size - 1 and searched < MOST_SEARCHED:
        edge = _plain(edge, tooth, log_ratio, expected, min(0.45, max(0.2, 4 * sigma)))
        if edge >= times.size - 1:
            break
        start = edge
        edge = _search(edge, tooth, times[: edge + MOST_SEARCHED], steps, sigma)
        searched += edge - start
    return tooth


def _plain(edge: int, tooth: Ints, log_ratio: Array, expected: Array, tolerance: float) -> int:
    """Count on from ``edge`` for as long as the intervals follow the wheel; the last edge counted for certain."""
    size = tooth.size
    if edge > 0 and tooth[edge - 1] != tooth[edge] - 1:
        return edge
    block = 64
    while edge < size - 1:
        # log_ratio[i] compares the intervals after and before edge i + 1
        first = max(edge, 1)
        stop = min(size - 1, first + block)
        numbers = tooth[edge] + np.arange(first, stop) - edge
        fits = np.abs(log_ratio[first - 1 : stop - 1] - expected[numbers % expected.size]) < tolerance
        clean = bool(fits.all())
        last = stop if clean else max(edge, first + int(np.argmin(fits)) - 2)
        tooth[edge : last + 1] = tooth[edge] + np.arange(last + 1 - edge)
        if not clean:
            return last
        edge, block = last, min(block * 4, 65_536)
    return edge


@dataclass(frozen=True)
class _Count:
    """One way of counting: its cost, where it stands, and how it came there."""

    cost: float
    tooth: int
    edge: int
    slow: float
    run: int
    before: _Count | None


def _search(edge: int, tooth: Ints, times: Array, steps: Array, sigma: float) -> int:
    """Carry several counts along from ``edge`` until one is plainly the best; writes it and gives its last edge."""
    places = np.concatenate([[0.0], np.cumsum(steps)])
    counts = [_Count(0.0, int(tooth[edge]), edge, _slowness(edge, tooth, times, places), 0, None)]
    best = counts[0]
    for now in range(edge + 1, times.size):
        following: dict[tuple[int, int], _Count] = {}
        for count in counts:
            for new in _ways(count, now, float(times[now] - times[count.edge]), places, sigma):
                key = (new.tooth, new.edge)
                if key not in following or new.cost < following[key].cost:
                    following[key] = new
        counts = sorted(following.values(), key=lambda item: item.cost)[:WIDTH]
        best = counts[0]
        rival = next((c.cost for c in counts if not _same(c, best)), np.inf)
        if best.run >= PLAIN_RUN and best.edge == now and rival - best.cost > MARGIN:
            break
    _write(best, tooth, edge)
    return best.edge if best.edge > edge else times.size


def _same(count: _Count, best: _Count) -> bool:
    """Whether a count is the best one, or differs from it only in taking the last edge for no tooth."""
    return count.tooth == best.tooth or (count.tooth == best.tooth - 1 and count.edge < best.edge)


def _ways(count: _Count, now: int, since: float, places: Array, sigma: float) -> list[_Count]:
    """How one more edge can be counted: as no tooth, as the next one, or with teeth missed before it."""
    ways = [_Count(count.cost + FALSE_COST, count.tooth, count.edge, count.slow, 0, count.before)]
    for step in _steps(since * float(np.exp(-count.slow)), places):
        angle = _between(count.tooth, count.tooth + step, places)
        slow = float(np.log(max(since, 1e-12) / angle))
        off = (slow - count.slow) / (1.5 * sigma)
        cost = count.cost + 2.5 * float(np.log1p(off * off / 4)) + MISSED_COST * min(step - 1, MOST_COUNTED)
        run = count.run + 1 if step == 1 and abs(off) < 3 else 0
        ways.append(_Count(cost, count.tooth + step, now, count.slow + 0.7 * (slow - count.slow), run, count))
    return ways


def _steps(passed: float, places: Array) -> list[int]:
    """By how many teeth the next edge may be further on [-]: a few, and after a drop-out about as many as passed.

    Over ``passed`` places at the speed before it; a compression may have changed that by a fifth either way.
    """
    few = [1, 2, 3, 4]
    usual = (places.size - 1) / float(places[-1])
    if passed * usual <= len(few) + 1 or passed > DROP_OUT * float(places[-1]):
        return few
    low, high = round((1 - CHANGED) * passed * usual) - 1, round((1 + CHANGED) * passed * usual) + 1
    return [*few, *range(max(low, len(few) + 1), high + 1)]


def _between(first: int, last: int, places: Array) -> float:
    """Places from one tooth to a later one."""
    section, size = float(places[-1]), places.size - 1
    return float(places[last % size] - places[first % size] + section * (last // size - first // size))


def _slowness(edge: int, tooth: Ints, times: Array, places: Array) -> float:
    """Log of the time a place takes [log s], from the intervals before ``edge``, or after it at the beginning."""
    known = [i for i in range(max(0, edge - 6), edge + 1) if tooth[i] != FALSE]
    if len(known) >= 2:
        angle = _between(int(tooth[known[-2]]), int(tooth[known[-1]]), places)
        return float(np.log(max(times[known[-1]] - times[known[-2]], 1e-12) / angle))
    ahead = np.diff(times[edge : edge + 12])
    return float(np.log(max(float(np.median(ahead)), 1e-12) / float(np.median(np.diff(places)))))


def _write(count: _Count, tooth: Ints, first: int) -> None:
    """Write the counted teeth back into the list, from the last to the first."""
    step: _Count | None = count
    while step is not None and step.edge > first:
        tooth[step.edge] = step.tooth
        step = step.before
