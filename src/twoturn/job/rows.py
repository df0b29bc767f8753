"""Entries as the record keeps them, JSON objects with dates as text, by the very rules of a job file."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from twoturn.drive.faults import FaultList, shown
from twoturn.errors import Fault, FileFaults, TwoTurnError
from twoturn.job.canonical import canonical_json
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.recordings import Capture, Pluck
from twoturn.job.file import JobFile
from twoturn.job.understand import entry_of, signed


def job_of_rows(rows: Sequence[Mapping[str, Any]], name: str, drive: str, *, before: JobFile | None = None) -> JobFile:
    """The job that rows of keys and values are, as if they stood in a job file.

    Parameters
    ----------
    rows
        The entries, in order; who and when are filled in from the entry before.
    name
        What the faults are said to be of, such as ``"job 12"``.
    drive
        What the job file would say of its drive.
    before
        Entries that stand before these and were understood already.

    Returns
    -------
    JobFile
        All entries; ``raw`` holds them as canonical JSON says them, which is what hashes are made of.

    Raises
    ------
    FileFaults
        Every fault of the rows; keys such as ``entry[3].km`` count from the first entry of the job.
    """
    earlier = before.entries if before is not None else ()
    faults = FaultList(name, "")
    plain = [_plain(len(earlier) + at, row, faults) for at, row in enumerate(rows)]
    entries = [entry_of(len(earlier) + at, row, faults) for at, row in enumerate(plain) if row is not None]
    faults.raise_if_any()
    known = [entry for entry in entries if entry is not None]
    new = signed(known, faults, earlier[-1] if earlier else None)
    faults.raise_if_any()
    raw = (*(before.raw if before is not None else ()), *(row for row in plain if row is not None))
    return JobFile(name, "", drive, (*earlier, *new), raw)


def entry_of_row(row: Mapping[str, Any], name: str = "the entry") -> EntryBase:
    """One entry by itself; who and when may be missing.

    Raises
    ------
    FileFaults
        Every fault of the row; keys are those of the entry.
    """
    faults = FaultList(name, "")
    plain = _plain(0, row, faults)
    entry = None if plain is None else entry_of(0, plain, faults)
    try:
        faults.raise_if_any()
    except FileFaults as error:
        raise FileFaults([_own_key(fault) for fault in error.faults]) from None
    assert entry is not None  # noqa: S101 - without a fault it is understood
    return entry


def _own_key(fault: Fault) -> Fault:
    key = fault.key.removeprefix("entry[1]").removeprefix(".") or "entry"
    return Fault(fault.file, None, key, fault.found, fault.expected)


def _plain(index: int, row: Any, faults: FaultList) -> dict[str, Any] | None:
    """A row with its numbers and dates as canonical JSON writes them; None, with its faults noted, for what is no row.

    What canonical JSON cannot hold is left as it is: :func:`~twoturn.job.understand.entry_of` tells it.
    """
    if not isinstance(row, Mapping):
        faults.add(("entry", index), shown(row), "an entry: keys and values")
        return None
    empty = list(_nothing(dict(row)))
    for path in empty:
        faults.add(("entry", index, *path), "nothing (null)", "a value, or the key left out")
    if empty:
        return None
    try:
        plain: dict[str, Any] = json.loads(canonical_json(dict(row)))
    except (TwoTurnError, RecursionError):
        return dict(row)
    return plain


def _nothing(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every place of a row that holds null, which a job file cannot."""
    if value is None:
        yield path
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list | tuple) else ()
    if len(path) < _DEPTH:
        for key, item in inner:
            yield from _nothing(item, (*path, key))


_DEPTH = 60


def row_filled(raw: Mapping[str, Any], entry: EntryBase) -> dict[str, Any]:
    """An entry as written, with the reading, the SHA-256 and the reader's version that were filled in.

    Parameters
    ----------
    raw
        The entry's keys and values as they stand in the file.
    entry
        The same entry with its reading filled in.
    """
    row = dict(raw)
    if isinstance(entry, Pluck | Capture) and entry.reading is not None and "reading" not in row:
        row["reading"] = entry.reading.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
        row |= {"sha256": entry.sha256, "reader": entry.reader}
    return row
