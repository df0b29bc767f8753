"""The changes of a value change dump, read in large pieces with arrays of words instead of a loop over them.

Syntax: IEEE 1364-2005, clause 18.2.1: ``#`` time, a value and its sign in one word for single bits, ``b`` binary or
``r`` real values with their sign in the next word, keywords from ``$`` to ``$end``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array
from twoturn.errors import RecordingError

Bytes = NDArray[np.uint8]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
OTHER, SCALAR, VECTOR, REAL, STRING, TIME, KEYWORD, PORT = range(8)
HIGH_IMPEDANCE: Final[float] = np.inf
"""Stands for ``z`` among values; ``x`` is NaN."""
MOST_CODE_BYTES, MOST_DIGITS, MOST_BITS = 64, 18, 4096


def _table(pairs: dict[str, int], fill: int) -> NDArray[np.int8]:
    """A table of 256 entries from letters to numbers."""
    table = np.full(256, fill, dtype=np.int8)
    for letters, number in pairs.items():
        for letter in letters.encode():
            table[letter] = number
    return table


KIND = _table(
    {"01xXzZuUwWlLhH-": SCALAR, "bB": VECTOR, "rR": REAL, "sS": STRING, "#": TIME, "$": KEYWORD, "p": PORT}, OTHER
)
BIT = np.full(256, np.nan)
for _letters, _value in {"0lL": 0.0, "1hH": 1.0, "zZ": HIGH_IMPEDANCE}.items():
    for _letter in _letters.encode():
        BIT[_letter] = _value
SPACE = np.zeros(256, dtype=np.bool_)
SPACE[[9, 10, 11, 12, 13, 32]] = True


@dataclass
class State:
    """What is carried from piece to piece.

    Attributes
    ----------
    time
        Time of the next change, in units of the file; NaN before the first.
    first
        First time of the file, NaN before it is known.
    commented
        Whether the piece begins within a comment.
    pauses
        Times at which dumping stopped (False) and went on (True).
    odd, words, unknown
        Words that could not be understood, all words, and changes of signs that were not declared [-].
    """

    time: float = np.nan
    first: float = np.nan
    commented: bool = False
    pauses: list[tuple[float, bool]] = field(default_factory=list)
    odd: int = 0
    words: int = 0
    unknown: int = 0


@dataclass(frozen=True, eq=False)
class Changes:
    """Changes of one piece, in their order.

    Attributes
    ----------
    code
        Hash of the sign, shape (n,).
    time
        Time in units of the file, shape (n,); NaN before the first time.
    value
        Value, shape (n,); NaN for x, infinite for z.
    """

    code: NDArray[np.uint64]
    time: Array
    value: Array


def hash_words(data: Bytes, starts: Ints, ends: Ints) -> NDArray[np.uint64]:
    """One number for each word: the same words give the same number.

    Parameters
    ----------
    data
        The text, shape (bytes,).
    starts, ends
        First byte of each word and the one after its last, shape (words,).
    """
    out = np.zeros(starts.size, dtype=np.uint64)
    lengths = ends - starts
    longest = min(int(lengths.max(initial=0)), MOST_CODE_BYTES)
    last = data.size - 1
    for place in range(longest):
        letter = data[np.minimum(starts + place, last)].astype(np.uint64)
        more = out * np.uint64(1_000_003) + letter + np.uint64(1)
        out = more if place == 0 and (lengths > 0).all() else np.where(lengths > place, more, out)
    return out


def read_piece(text: bytes, state: State, name: str, *, last: bool) -> tuple[Changes, bytes]:
    """Read the changes of one piece.

    Parameters
    ----------
    text
        The piece, cut between two words.
    state
        What earlier pieces left; brought up to date.
    name
        The file's name, for the error sentence.
    last
        Whether nothing follows.

    Returns
    -------
    tuple
        Changes, and the bytes at the end that belong to the next piece.

    Raises
    ------
    RecordingError
        Time that is no number or runs backwards.
    """
    data = np.frombuffer(text, dtype=np.uint8)
    edges = np.flatnonzero(np.diff(SPACE[data].view(np.int8), prepend=1, append=1))
    starts, ends = edges[::2], edges[1::2]
    if starts.size == 0:
        empty = np.empty(0)
        return Changes(np.empty(0, dtype=np.uint64), empty, empty), b""
    kind = KIND[data[starts]]
    names = _keywords(data, starts, ends, kind)
    owner = _value_words(kind, names)
    rest = b""
    if owner[-1] and not last:
        rest = text[int(starts[-1]) :]
        starts, ends, kind, names, owner = starts[:-1], ends[:-1], kind[:-1], names[:-1], owner[:-1]
    kind = _sorted_kinds(kind, names, owner)
    state.words += starts.size
    state.odd += int(np.count_nonzero(kind == PORT)) + int(np.count_nonzero(kind == OTHER))
    now = _times(data, starts, ends, kind, state, name)
    _note_pauses(data, starts, kind, now, state)
    return _changes(data, starts, ends, kind, now), rest


def _keywords(data: Bytes, starts: Ints, ends: Ints, kind: NDArray[np.int8]) -> Bools:
    """True where a word is a keyword: a dollar sign and small letters, not a sign for a variable."""
    found: Bools = kind == KEYWORD
    if found.any():
        second = data[np.minimum(starts + 1, data.size - 1)]
        found &= (ends - starts >= 4) & (second >= ord("a")) & (second <= ord("z"))
    return found


def _value_words(kind: NDArray[np.int8], names: Bools) -> Bools:
    """True where a word is a value whose sign is the next word; every second one where such words follow each other."""
    like: Bools = (kind >= VECTOR) & (kind <= STRING)
    if not like.any():
        return like
    index = np.arange(kind.size)
    before = np.maximum.accumulate(np.where(like, -1, index))
    owner = like & ((index - before) % 2 == 1)
    owner[:-1] &= ~names[1:]
    return np.asarray(owner)


def _sorted_kinds(kind: NDArray[np.int8], names: Bools, owner: Bools) -> NDArray[np.int8]:
    """The kind of each word with signs of values, comments and what stands in them marked as -1."""
    kind = kind.copy()
    signs = np.zeros(kind.size, dtype=bool)
    signs[1:] = owner[:-1]
    kind[(kind >= VECTOR) & (kind <= STRING) & ~owner & ~signs] = OTHER
    kind[(kind == KEYWORD) & ~names & ~signs] = OTHER
    kind[signs] = -1
    return kind


def _times(data: Bytes, starts: Ints, ends: Ints, kind: NDArray[np.int8], state: State, name: str) -> Array:
    """The time at each word, in units of the file; comments are taken out of ``kind`` on the way."""
    _blank_comments(data, starts, kind, state)
    at = np.flatnonzero(kind == TIME)
    times = _whole_numbers(data, starts[at] + 1, ends[at], name)
    if at.size and np.isnan(state.first):
        state.first = float(times[0])
    known = np.concatenate([[state.time], times])
    back = np.flatnonzero(np.diff(known) < 0)
    if back.size:
        early, late = known[back[0] + 1], known[back[0]]
        raise RecordingError(
            f"in {name} time runs backwards, from #{late:.0f} to #{early:.0f}", next_step="export the recording again"
        )
    state.time = float(known[-1])
    count = np.zeros(starts.size, dtype=np.int64)
    count[at] = 1
    return np.asarray(known[np.cumsum(count)])


def _blank_comments(data: Bytes, starts: Ints, kind: NDArray[np.int8], state: State) -> None:
    """Mark every word from a keyword that opens a text to its ``$end`` as -1."""
    at = np.flatnonzero(kind == KEYWORD)
    if at.size == 0:
        if state.commented:
            kind[:] = -1
        return
    second = data[starts[at] + 1]
    third = data[np.minimum(starts[at] + 2, data.size - 1)]
    index = np.arange(kind.size)
    opens, closes = np.full(kind.size, -1), np.full(kind.size, -1)
    opens[at[(second != ord("e")) & ~((second == ord("d")) & (third == ord("u")))]] = 1
    opens = np.maximum.accumulate(np.where(opens > 0, index, -1))
    closes[at[second == ord("e")]] = 1
    closes = np.maximum.accumulate(np.where(closes > 0, index, -2 if state.commented else -1))
    inside = (opens > closes) | ((closes == -2) & state.commented)
    state.commented = bool(inside[-1])
    kind[inside] = -1


def _whole_numbers(data: Bytes, starts: Ints, ends: Ints, name: str) -> Array:
    """Whole numbers of up to 18 digits; longer or broken ones go one by one, shape (words,)."""
    out = np.zeros(starts.size, dtype=np.int64)
    lengths = ends - starts
    odd = (lengths > MOST_DIGITS) | (lengths == 0)
    last = data.size - 1
    for place in range(min(int(lengths.max(initial=0)), MOST_DIGITS)):
        digit = data[np.minimum(starts + place, last)].astype(np.int64) - ord("0")
        held = lengths > place
        odd |= held & ((digit < 0) | (digit > 9))
        out = np.where(held, out * 10 + digit, out)
    numbers = out.astype(np.float64)
    for index in np.flatnonzero(odd).tolist():
        word = data[starts[index] : ends[index]].tobytes()[:40]
        try:
            numbers[index] = float(word)
        except ValueError:
            numbers[index] = np.nan
        if not np.isfinite(numbers[index]):
            shown = word.decode("utf-8", errors="replace")
            raise RecordingError(f"{name} holds the time “#{shown}”, which is no number", next_step="export it again")
    return numbers


def _note_pauses(data: Bytes, starts: Ints, kind: NDArray[np.int8], now: Array, state: State) -> None:
    """Keep when dumping was switched off and on."""
    at = np.flatnonzero(kind == KEYWORD)
    if at.size == 0:
        return
    sixth = data[np.minimum(starts[at] + 6, data.size - 1)]
    seventh = data[np.minimum(starts[at] + 7, data.size - 1)]
    fifth = data[np.minimum(starts[at] + 5, data.size - 1)]
    off = (fifth == ord("o")) & (sixth == ord("f")) & (seventh == ord("f"))
    on = (fifth == ord("o")) & (sixth == ord("n"))
    for index in np.flatnonzero(off | on).tolist():
        state.pauses.append((float(now[at[index]]), bool(on[index])))


def _changes(data: Bytes, starts: Ints, ends: Ints, kind: NDArray[np.int8], now: Array) -> Changes:
    """Signs, times and values of all changes, in their order."""
    single = np.flatnonzero(kind == SCALAR)
    parts = [(single, hash_words(data, starts[single] + 1, ends[single]), BIT[data[starts[single]]])]
    for which, values_of in ((VECTOR, _bits), (REAL, _reals)):
        at = np.flatnonzero(kind[:-1] == which)
        if at.size:
            values = values_of(data, starts[at] + 1, ends[at])
            parts.append((at, hash_words(data, starts[at + 1], ends[at + 1]), values))
    index = np.concatenate([part[0] for part in parts])
    code = np.concatenate([part[1] for part in parts])
    value = np.concatenate([part[2] for part in parts])
    if len(parts) > 1:
        order = np.argsort(index, kind="stable")
        index, code, value = index[order], code[order], value[order]
    return Changes(code, now[index], value)


def _bits(data: Bytes, starts: Ints, ends: Ints) -> Array:
    """Numbers written in binary; NaN where a bit is unknown, infinite where all the bits float."""
    lengths = ends - starts
    out = np.zeros(starts.size)
    floats = lengths > 0
    last = data.size - 1
    for place in range(min(int(lengths.max(initial=0)), MOST_BITS)):
        bit = BIT[data[np.minimum(starts + place, last)]]
        held = lengths > place
        floats &= ~held | np.isinf(bit)
        out = np.where(held, out * 2 + np.where(np.isinf(bit), np.nan, bit), out)
    out[lengths == 0] = np.nan
    return np.where(floats, HIGH_IMPEDANCE, out)


def _reals(data: Bytes, starts: Ints, ends: Ints) -> Array:
    """Real numbers; NaN where one cannot be read."""
    first, stop = int(starts[0]), int(ends[-1])
    mark = np.zeros(stop - first + 1, dtype=np.int8)
    mark[starts - first] += 1
    mark[ends - first] -= 1
    inside = np.cumsum(mark[:-1], dtype=np.int8) > 0
    text = np.where(inside, data[first:stop], 32).astype(np.uint8).tobytes()
    try:
        values = np.array(text.split(), dtype=np.float64)
    except ValueError:
        values = np.array([_real(word) for word in text.split()])
    if values.size != starts.size:
        values = np.array([_real(data[a:b].tobytes()) for a, b in zip(starts, ends, strict=True)])
    return np.where(np.isfinite(values), values, np.nan)


def _real(word: bytes) -> float:
    """One real number, NaN where it is none."""
    try:
        return float(word)
    except ValueError:
        return float("nan")
