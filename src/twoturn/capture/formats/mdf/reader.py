"""From the channel groups of a measurement data file to channels."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from twoturn.capture.formats.channels import channel_of, even_times, left_out, plain_names
from twoturn.capture.formats.files import is_packed, open_plain
from twoturn.capture.formats.mdf.process import read_limited
from twoturn.capture.model import Array, Capture, Channel
from twoturn.errors import RecordingError

UNITS_S = {"": 1.0, "s": 1.0, "sec": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "μs": 1e-6, "ns": 1e-9, "min": 60.0}
NO_TIME, TIME = 0, 1
OTHER_MASTERS = {2: "angle", 3: "distance", 4: "a number of records"}
MOST_UNSORTED, LATEST_S = 0.01, 1e10


def probe(head: bytes) -> bool:
    """Whether the first bytes of a file are those of a measurement data file, closed or not."""
    return head[:8] in (b"MDF     ", b"UnFinMF ")


def read(path: Path) -> Capture:
    """Read a measurement data file (MDF 4; also 3).

    Parameters
    ----------
    path
        The file, which may be packed with gzip.

    Returns
    -------
    Capture
        Channels of numbers with the file's conversions applied, each group on its own time base.

    Raises
    ------
    RecordingError
        The addition that reads such files is missing; the file is damaged, cut off, too long, or nothing changes.

    References
    ----------
    ASAM MDF, version 4.1: channel groups, master channels and their synchronisation.
    """
    if is_packed(path):
        with tempfile.TemporaryFile() as plain, open_plain(path) as file:
            shutil.copyfileobj(file, plain)
            head, numbers = read_limited(plain, path.name)
    else:
        with path.open("rb") as file:
            head, numbers = read_limited(file, path.name)
    return _capture(path.name, head, numbers)


def _capture(name: str, head: dict[str, Any], numbers: Array) -> Capture:
    """Channels of all groups."""
    notes = ["the file is cut off; what is whole was read"] if head.get("cut") else []
    short = [group for group in head["groups"] if 0 < group["records"] < group["expected"]]
    notes += [
        f"a channel group is cut off: it holds {one['records']} of {one['expected']} samples, which were read"
        for one in short[:3]
    ]
    if head["damaged"]:
        notes.append(f"{head['damaged']} damaged channel groups were left out")
    timed = [group for group in head["groups"] if group["sync"] == TIME and group["channels"]]
    counted = [group for group in head["groups"] if group["sync"] == NO_TIME and group["channels"]]
    notes += [_other_master(group) for group in head["groups"] if group["sync"] in OTHER_MASTERS and group["channels"]]
    used = timed or counted
    if timed and counted:
        notes.append(f"{len(counted)} channel groups without a time channel were left out")
    if counted and not timed:
        notes.append("the file counts samples and states no rate: the time is unknown, angles hold")
    paths = [(group["name"], one["name"]) for group in used for one in group["channels"]]
    names = iter(plain_names([tuple(part for part in path if part) for path in paths]))
    channels = [one for group in used for one in _group(group, numbers, names, notes)]
    if not channels:
        why = f"; {notes[0]}" if notes else ""
        raise RecordingError(f"in {name} no channel ever changes{why}", next_step="check the leads and record again")
    notes += left_out([still for group in used for still in group["still"]])
    ends = [(float(one.times_s[0]), float(one.times_s[-1])) for one in channels]
    rates = {one.rate_hz for one in channels}
    return Capture(
        tuple(channels), max(end for _, end in ends) - min(start for start, _ in ends),
        rates.pop() if len(rates) == 1 and timed else None, name, "mdf",
        time_known=bool(timed), notes=tuple(notes),
    )  # fmt: skip


def _other_master(group: dict[str, Any]) -> str:
    """A sentence on a group that is not recorded over time."""
    return (
        f"channel group {group['name'] or 'without a name'} goes by {OTHER_MASTERS[group['sync']]}, not time: left out"
    )


def _group(group: dict[str, Any], numbers: Array, names: Any, notes: list[str]) -> list[Channel]:
    """The channels of one group."""
    scale_s = UNITS_S.get(group["unit"].strip("[]() ").lower())
    if scale_s is None:
        notes.append(f"the time of a channel group is given in “{group['unit'][:20]}”; seconds were assumed")
        scale_s = 1.0
    made: dict[int, tuple[Array, float | None]] = {}
    channels = []
    for one in group["channels"]:
        name = next(names)
        start, count = one["times"]
        written = numbers[start : start + count]
        if np.abs(written).max() * scale_s > LATEST_S:
            notes.append(f"the times of {name} are damaged: left out")
            continue
        values = numbers[one["values"][0] : one["values"][0] + count]
        steps = np.diff(written)
        if (steps < 0).any():
            if (steps < 0).mean() > MOST_UNSORTED:
                notes.append(f"the time of {name} runs backwards again and again: left out")
                continue
            order = np.argsort(written, kind="stable")
            written, values = written[order], values[order]
            notes.append(f"samples of {name} were put in the order of their time")
            times, rate = even_times(written * scale_s, notes)
        else:
            if start not in made:
                made[start] = even_times(written * scale_s, notes)
            times, rate = made[start]
        channel = channel_of(name, times, values, rate) if times[-1] > times[0] else None
        channels += [channel] if channel else []
    return channels
