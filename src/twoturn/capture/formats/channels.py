"""From samples and changes to channels: two levels or volts, even sampling, what never changes."""

from __future__ import annotations

import numpy as np

from twoturn.capture.model import Array, Channel

MOST_NAMED = 4
EVEN_SHARE = 0.75
GRID_MOST, GRID_FACTOR = 20_000_000, 40
GREATEST, LATEST = 1e30, 1e20
"""Beyond these a value [any unit] or a time [s, or its unit] is damage, not a reading."""


def even_times(times_s: Array, notes: list[str]) -> tuple[Array, float | None]:
    """Exact times and rate of samples taken evenly; the times as they are and None otherwise.

    Parameters
    ----------
    times_s
        Times as written, not falling, shape (n,) [s].
    notes
        Gets a sentence where even sampling was assumed because times were written too coarsely.

    Returns
    -------
    tuple
        Times, shape (n,) [s], and samples a second [Hz] or None.
    """
    count = len(times_s)
    if count < 32 or times_s[-1] <= times_s[0]:
        return times_s, None
    step = float(times_s[-1] - times_s[0]) / (count - 1)
    off = 0.0
    for first in range(0, count, 1_000_000):
        part = times_s[first : first + 1_000_000]
        off = max(off, float(np.max(np.abs(part - (times_s[0] + step * np.arange(first, first + len(part)))))))
    if off > EVEN_SHARE * step:
        steps = np.diff(times_s)
        if not ((steps == 0).mean() > 0.3 and off <= 1.5 * float(steps[steps > 0].min())):
            return times_s, None
        notes.append("the times were written too coarsely; even sampling was assumed")
    even = np.arange(count, dtype=np.float64)
    even *= step
    even += times_s[0]
    return even, 1 / step


def channel_of(name: str, times_s: Array, values: Array, rate_hz: float | None) -> Channel | None:
    """A channel of two levels or of volts; None where nothing changes.

    Parameters
    ----------
    name
        Its name.
    times_s, values
        Samples, shape (n,) each, finite [s], [V or level].
    rate_hz
        Samples a second where sampled evenly [Hz], else None; then volts are put on an even grid.
    """
    if values.size == 0:
        return None
    low, high = float(values.min()), float(values.max())
    if max(-low, high) > GREATEST:
        values = np.clip(values, -GREATEST, GREATEST)
        low, high = float(values.min()), float(values.max())
    if low == high:
        return None
    if bool(((values == low) | (values == high)).all()):
        return Channel(name, "logic", times_s, np.asarray(values == high, dtype=np.float64), rate_hz)
    if rate_hz is None:
        times_s, values, rate_hz = on_grid(times_s, values)
    return Channel(name, "analogue", times_s, values, rate_hz)


def on_grid(times_s: Array, values: Array) -> tuple[Array, Array, float | None]:
    """Volts written unevenly, put on an even grid; as they are where the grid would be far too long.

    Where the times lie on a grid already, samples left out because nothing changed are held; else a straight line is
    drawn from sample to sample.

    Parameters
    ----------
    times_s, values
        Samples, shape (n,) each [s], [V].

    Returns
    -------
    tuple
        Times [s], values [V], samples a second [Hz] or None.
    """
    steps = np.diff(times_s)
    steps = steps[steps > 0]
    if steps.size < 32:
        return times_s, values, None
    step = float(np.percentile(steps, 1))
    span = float(times_s[-1] - times_s[0])
    if not np.isfinite(span) or span > step * min(GRID_MOST, GRID_FACTOR * times_s.size):
        return times_s, values, None
    whole = np.rint(steps / step)
    step = float(np.sum(steps) / np.sum(whole)) if (whole >= 1).all() else step
    count = int(span / step) + 1
    places = (times_s - times_s[0]) / step
    grid = times_s[0] + step * np.arange(count)
    if np.mean(np.abs(places - np.rint(places)) < 0.1) > 0.98:
        at = np.searchsorted(np.rint(places), np.arange(count), side="right") - 1
        return grid, np.asarray(values[at]), 1 / step
    return grid, np.interp(grid, times_s, values), 1 / step


def filled(values: Array) -> Array:
    """Blank cells take the value above them, those at the top the first one below.

    Parameters
    ----------
    values
        Samples, NaN where blank, shape (n,); not altered [any unit].
    """
    blank = np.isnan(values)
    if not blank.any():
        return values
    if blank.all():
        return np.zeros(values.size)
    last = np.maximum.accumulate(np.where(blank, 0, np.arange(len(values))))
    whole = values[last]
    return np.where(np.isnan(whole), whole[np.argmax(~np.isnan(whole))], whole)


def left_out(names: list[str]) -> list[str]:
    """Sentences on channels that never change; counted where there are many.

    Parameters
    ----------
    names
        Their names.
    """
    if len(names) > MOST_NAMED:
        return [f"{len(names)} channels never change and were left out"]
    return [f"{name} never changes and was left out" for name in names]


def is_idle(note: str) -> bool:
    """Whether a sentence only tells of channels that never change: such a one makes no reading less sure."""
    return "never change" in note and note.endswith("left out")


def plain_names(paths: list[tuple[str, ...]]) -> list[str]:
    """Short names that tell channels apart: the last part, more of the path where two are the same.

    Parameters
    ----------
    paths
        For each channel its groups, outermost first, and its name.

    Returns
    -------
    list
        One name each; a number in brackets where even whole paths are the same.
    """
    parts = [1] * len(paths)
    for _ in range(max((len(path) for path in paths), default=0)):
        names = [".".join(path[-n:]) for path, n in zip(paths, parts, strict=True)]
        seen: dict[str, int] = {}
        for name in names:
            seen[name] = seen.get(name, 0) + 1
        again = [index for index, name in enumerate(names) if seen[name] > 1 and parts[index] < len(paths[index])]
        if not again:
            break
        for index in again:
            parts[index] += 1
    return _numbered([".".join(path[-n:]) for path, n in zip(paths, parts, strict=True)])


def _numbered(names: list[str]) -> list[str]:
    """Names with a number behind the second and later of the same."""
    counts: dict[str, int] = {}
    out = []
    for name in names:
        counts[name] = counts.get(name, 0) + 1
        out.append(name if counts[name] == 1 else f"{name} ({counts[name]})")
    return out
