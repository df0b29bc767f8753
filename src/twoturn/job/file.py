"""Reading a job file: text to entries, with every fault collected."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import Any

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.toml_bare import PLACEHOLDER
from twoturn.drive.toml_text import read_toml
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.union import KINDS
from twoturn.job.understand import entry_of, expected_at, signed, value_at

FORMAT = 1
HEAD = ("format", "drive", "entry")
DRIVE = "the path of the drive file, or the name of a shipped drive"


@dataclass(frozen=True)
class JobFile:
    """A job file, understood as far as it can be without its drive.

    Attributes
    ----------
    name
        Name of the file as it was given.
    text
        Its text, from which lines of later faults are found.
    drive
        Path of the drive file, or the name of a shipped drive, as written.
    entries
        The entries in order; who and when are filled in from the entry before.
    raw
        The entries as written: what the record's hashes are made of.
    """

    name: str
    text: str
    drive: str
    entries: tuple[EntryBase, ...]
    raw: tuple[dict[str, Any], ...]


def read_job(text: str, file_name: str) -> JobFile:
    """The job file in ``text``.

    Parameters
    ----------
    text
        The whole text.
    file_name
        Name of the file as it was given, for the faults.

    Raises
    ------
    FileFaults
        Every fault of the text, in file order.
    """
    document = read_toml(text, file_name, what="job file", holds=_holds)
    faults = FaultList(file_name, text)
    _check_head(document, faults)
    rows = _rows(document, faults)
    entries = [entry_of(index, row, faults) for index, row in enumerate(rows)]
    faults.raise_if_any()
    known = [entry for entry in entries if entry is not None]
    understood = signed(known, faults)
    faults.raise_if_any()
    return JobFile(file_name, text, document["drive"], tuple(understood), tuple(rows))


def _holds(document: dict[str, Any], path: tuple[str | int, ...]) -> str:
    """What the key at a path of a job file holds; empty where that is not known."""
    if path == ("drive",):
        return DRIVE
    row = value_at(document, path[:2]) if path[:1] == ("entry",) else None
    kind = row.get("kind") if isinstance(row, dict) else None
    if path[2:] == ("kind",):
        return "a kind of entry"
    model = KINDS.get(kind) if isinstance(kind, str) else None
    return "" if model is None or len(path) < 3 else expected_at(path[2:], model)


def _check_head(document: dict[str, Any], faults: FaultList) -> None:
    for key in document:
        if key not in HEAD:
            near = difflib.get_close_matches(key, (*HEAD, *KINDS), n=1, cutoff=0.6)
            instead = (
                f"{near[0]}, if that is meant" if near and near[0] in HEAD else "format, drive and [[entry]] tables"
            )
            faults.add((key,), "an unknown key", instead)
    number = document.get("format")
    if isinstance(number, bool) or number != FORMAT:
        faults.add(("format",), shown(number), f"format = {FORMAT}, the format this version writes and reads")
    drive = document.get("drive")
    if not isinstance(drive, str) or PLACEHOLDER.fullmatch(drive):
        faults.add(("drive",), shown(drive), DRIVE)


def _rows(document: dict[str, Any], faults: FaultList) -> list[dict[str, Any]]:
    rows = document.get("entry", [])
    if isinstance(rows, dict) or not isinstance(rows, list):
        faults.add(("entry",), shown(rows), "[[entry]] tables, in double brackets")
        return []
    good = []
    for index, row in enumerate(rows):
        if isinstance(row, dict):
            good.append(row)
        else:
            faults.add(("entry", index), shown(row), "an [[entry]] table")
    return good
