"""From the changes of a value change dump to channels."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.formats.channels import channel_of, left_out, plain_names
from twoturn.capture.formats.files import open_plain
from twoturn.capture.formats.vcd.body import Changes, State, hash_words, read_piece
from twoturn.capture.formats.vcd.header import Header, Variable, read_header
from twoturn.capture.model import Array, Capture, Channel
from twoturn.errors import RecordingError

PIECE_BYTES, MOST_REST = 1_000_000, 64_000_000
MAX_CHANGES = 40_000_000
ODD_SHARE = 0.05
ONE_BIT_SHARE, MOST_LINES = 0.9, 64
NO_LEVEL = ("parameter", "string")
Pieces = list[tuple[Array, Array]]


def read(path: Path) -> Capture:
    """Read a value change dump.

    Parameters
    ----------
    path
        The file, which may be packed with gzip.

    Returns
    -------
    Capture
        Levels at their changes, numbers and real values as volts; what never changes is left out.

    Raises
    ------
    RecordingError
        Declarations or times that cannot be read, or nothing that changes.

    References
    ----------
    IEEE 1364-2005, clause 18, "Value change dump (VCD) files".
    """
    with open_plain(path) as file:
        header = read_header(file, path.name)
        firsts = _first_of_each_code(header)
        state = State()
        pieces: dict[int, Pieces] = {index: [] for index in firsts.values()}
        _gather(file, header, firsts, state, pieces, path.name)
    _check_words(state, header, path.name)
    return _capture(path.name, header, state, pieces)


def _first_of_each_code(header: Header) -> dict[int, int]:
    """For the number of each sign the first variable that has it (others are the same wire by another name)."""
    firsts: dict[int, int] = {}
    for index, variable in enumerate(header.variables):
        firsts.setdefault(_code_number(variable.code), index)
    return firsts


def _code_number(code: bytes) -> int:
    """The number that stands for a sign."""
    data = np.frombuffer(code, dtype=np.uint8)
    return int(hash_words(data, np.array([0]), np.array([data.size]))[0])


def _gather(
    file: BinaryIO, header: Header, firsts: dict[int, int], state: State, pieces: dict[int, Pieces], name: str
) -> None:
    """Read all changes into one list of pieces a variable."""
    numbers = np.array(list(firsts), dtype=np.uint64)
    order = np.argsort(numbers)
    numbers, owners = numbers[order], np.array(list(firsts.values()))[order]
    total = 0
    for changes in _all_changes(file, header.body, state, name):
        place = np.minimum(np.searchsorted(numbers, changes.code), numbers.size - 1)
        known = numbers[place] == changes.code
        state.unknown += int(known.size - np.count_nonzero(known))
        total += _deal_out(owners[place[known]], changes.time[known], changes.value[known], header, pieces)
        if total > MAX_CHANGES:
            raise RecordingError(
                f"{name} holds more than {MAX_CHANGES / 1e6:g} million changes", next_step="cut out twenty turns or so"
            )


def _all_changes(file: BinaryIO, rest: bytes, state: State, name: str) -> Iterator[Changes]:
    """The changes of the whole file, some megabytes at a time."""
    while True:
        more = file.read(PIECE_BYTES)
        data = rest + more
        cut = len(data) if not more else max(data.rfind(blank) for blank in (b"\n", b" ", b"\t", b"\r")) + 1
        changes, left = read_piece(data[:cut], state, name, last=not more)
        yield changes
        rest = left + data[cut:]
        if not more:
            return
        if len(rest) > MOST_REST:
            raise RecordingError(f"{name} is no value change dump: a word in it does not end")


def _deal_out(owner: NDArray[np.int64], time: Array, value: Array, header: Header, pieces: dict[int, Pieces]) -> int:
    """Sort changes by variable, repeated values left out; how many are kept."""
    order = np.argsort(owner, kind="stable")
    owner, time, value = owner[order], time[order], value[order]
    cuts = np.flatnonzero(np.diff(owner)) + 1
    kept = 0
    for first, last in zip([0, *cuts.tolist()], [*cuts.tolist(), owner.size], strict=True):
        if first == last:
            continue
        index = int(owner[first])
        times, values = time[first:last], value[first:last]
        if header.variables[index].kind != "event":
            new = _changed(values)
            times, values = times[new], values[new]
        pieces[index].append((times, values))
        kept += times.size
    return kept


def _changed(values: Array) -> NDArray[np.bool_]:
    """True where a value is not the one before it."""
    new = np.ones(values.size, dtype=bool)
    with np.errstate(invalid="ignore"):
        new[1:] = (values[1:] != values[:-1]) & ~(np.isnan(values[1:]) & np.isnan(values[:-1]))
    return new


def _check_words(state: State, header: Header, name: str) -> None:
    """Refuse a file that is mostly damaged."""
    if any(variable.kind == "port" for variable in header.variables):
        raise RecordingError(
            f"{name} is an extended value change dump with port strengths, which is not read",
            allowed="value change dumps with 0, 1, x, z, binary and real values",
        )
    if state.odd > ODD_SHARE * state.words + 1:
        raise RecordingError(
            f"{name} is damaged: {state.odd} of its {state.words} words are neither times nor changes",
            next_step="copy it again from where it was recorded",
        )


def _capture(name: str, header: Header, state: State, pieces: dict[int, Pieces]) -> Capture:
    """Channels out of the changes of each variable."""
    scale_s = header.scale_s or 1.0
    names = plain_names([variable.path for variable in header.variables])
    first, last = state.first * scale_s, state.time * scale_s
    notes = []
    start, end = _longest(state, first, last, scale_s)
    if (start, end) != (first, last):
        notes.append(f"the recording pauses; its longest stretch was read, from {start:.6g} s to {end:.6g} s")
    if state.unknown:
        notes.append(f"{state.unknown} changes of channels that are not declared were left out")
    if state.odd:
        notes.append(f"{state.odd} words of the file could not be understood and were left out")
    channels: list[Channel] = []
    still: list[str] = []
    for index in list(pieces):
        variable, held = header.variables[index], pieces.pop(index)
        made = _channels(variable, names[index], _joined(held, state.first, scale_s), (start, end))
        channels += made
        still += [] if made or variable.kind in NO_LEVEL else [names[index]]
    if not channels:
        raise RecordingError(f"in {name} no channel ever changes", next_step="check the leads and record again")
    notes += left_out(still)
    stated = header.scale_s is not None
    return Capture(tuple(channels), end - start, None, name, "vcd", unit_stated=stated, notes=tuple(notes))


def _joined(held: Pieces, first: float, scale_s: float) -> tuple[Array, Array]:
    """Times [s] and values of one variable."""
    if not held:
        return np.empty(0), np.empty(0)
    times = np.concatenate([times for times, _ in held])
    times[np.isnan(times)] = first
    times *= scale_s
    return times, np.concatenate([values for _, values in held])


def _longest(state: State, first: float, last: float, scale_s: float) -> tuple[float, float]:
    """Begin and end of the longest stretch without a pause [s]."""
    stretches, begin = [], first
    for time, on in state.pauses:
        if on:
            begin = time * scale_s
        elif begin is not None:
            stretches.append((begin, time * scale_s))
            begin = np.inf
    if np.isfinite(begin):
        stretches.append((begin, last))
    return max(stretches, key=lambda stretch: stretch[1] - stretch[0], default=(first, last))


def _channels(variable: Variable, name: str, changes: tuple[Array, Array], span: tuple[float, float]) -> list[Channel]:
    """The channel of one variable; several for a bus of lines; none where nothing changes."""
    times, values = changes
    if variable.kind in NO_LEVEL or times.size < 2:
        return []
    inside = (times >= span[0]) & (times <= span[1])
    times, values = times[inside], values[inside]
    if variable.kind == "event":
        times = np.unique(times)
        return [Channel(name, "edges", times, np.empty(0))] if times.size > 1 else []
    times, values = _levels(times, values)
    if variable.kind == "integer":
        values = np.where(values >= 2.0 ** (variable.width - 1), values - 2.0**variable.width, values)
    if 1 < variable.width <= MOST_LINES and variable.kind not in ("real", "integer") and _is_bus(values):
        return _lines(name, times, values, variable.width)
    made = channel_of(name, times, values, None)
    return [made] if made else []


def _levels(times: Array, values: Array) -> tuple[Array, Array]:
    """Known values at changes: x holds the level before it, z is the other level of a line that knows one only."""
    floats = np.isinf(values)
    if floats.any():
        known = np.unique(values[np.isfinite(values)])
        if known.size == 1 and known[0] in (0.0, 1.0):
            values = np.where(floats, 1.0 - known[0], values)
    keep = np.isfinite(values)
    times, values = times[keep], values[keep]
    final = np.append(times[1:] != times[:-1], True)[: times.size]
    times, values = times[final], values[final]
    new = _changed(values)
    return times[new], values[new]


def _is_bus(values: Array) -> bool:
    """Whether a number is a bundle of single lines: nearly every change flips one of its bits."""
    if values.size < 8 or np.unique(values).size <= 2 or values.max() >= 2.0**53:
        return False
    whole = values.astype(np.int64)
    flips = np.bitwise_count(whole[1:] ^ whole[:-1])
    jumps = np.abs(np.diff(whole))
    return bool((flips == 1).mean() > ONE_BIT_SHARE and (jumps.max() > 1))


def _lines(name: str, times: Array, values: Array, width: int) -> list[Channel]:
    """One channel for each line of a bus that changes."""
    whole = values.astype(np.int64)
    channels = []
    for bit in range(min(width, 53)):
        level = ((whole >> bit) & 1).astype(np.float64)
        new = _changed(level)
        made = channel_of(f"{name}[{bit}]", times[new], level[new], None)
        channels += [made] if made else []
    return channels
