"""Telling every edge which tooth it is, past false edges, missed teeth and changes of speed.

Where the intervals follow the wheel plainly, whole stretches are counted at once. Where they do not, several counts are
carried along until one of them explains what follows far better than the others; a gap settles it at the latest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.find import Shape
from twoturn.capture.model import Array

FALSE = np.iinfo(np.int64).min
FALSE_COST, MISSED_COST, WIDTH, MARGIN, PLAIN_RUN = 4.0, 3.0, 12, 7.0, 8
MOST_SEARCHED = 3000
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
    """

    times_s: Array
    tooth: Ints
    false_edges: int
    missed_teeth: int

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
    seed = min(shape.edge_zero, times_s.size - 1)
    tooth = np.full(times_s.size, FALSE, dtype=np.int64)
    tooth[seed:] = _follow(times_s[seed:], steps, sigma)
    back = _follow(-times_s[: seed + 1][::-1], steps[::-1], sigma)[::-1]
    tooth[: seed + 1] = np.where(back == FALSE, FALSE, -back)
    real = tooth != FALSE
    counted = tooth[real]
    missed = int(counted[-1] - counted[0] + 1 - counted.size)
    return Track(times_s[real], counted, int(np.count_nonzero(~real)), missed)


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
        rival = next((c.cost for c in counts if c.tooth - best.tooth not in (0, -1) or c.edge > best.edge), np.inf)
        if best.run >= PLAIN_RUN and best.edge == now and rival - best.cost > MARGIN:
            break
    _write(best, tooth, edge)
    return best.edge if best.edge > edge else times.size


def _ways(count: _Count, now: int, since: float, places: Array, sigma: float) -> list[_Count]:
    """How one more edge can be counted: as no tooth, as the next one, or with teeth missed before it."""
    ways = [_Count(count.cost + FALSE_COST, count.tooth, count.edge, count.slow, 0, count.before)]
    for step in (1, 2, 3, 4):
        angle = _between(count.tooth, count.tooth + step, places)
        slow = float(np.log(max(since, 1e-12) / angle))
        off = (slow - count.slow) / (1.5 * sigma)
        cost = count.cost + 2.5 * float(np.log1p(off * off / 4)) + MISSED_COST * (step - 1)
        run = count.run + 1 if step == 1 and abs(off) < 3 else 0
        ways.append(_Count(cost, count.tooth + step, now, count.slow + 0.7 * (slow - count.slow), run, count))
    return ways


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
