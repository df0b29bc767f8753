"""What the commands on the record print, for a person and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from twoturn.words.numbers import count_words

if TYPE_CHECKING:
    from twoturn.acts.shop.export_job import Exported
    from twoturn.acts.shop.import_job import Imported
    from twoturn.store.backup import BackedUp
    from twoturn.store.restore import Restored
    from twoturn.store.verify import Verified

MOST_LINES = 40
"""Problems that are printed one by one; JSON has them all."""


def backup_json(done: BackedUp, same_disk: bool) -> dict[str, Any]:
    """Keys ``file``, ``bytes``, ``rows``, ``files``, ``missing``, ``same_disk``."""
    answer: dict[str, Any] = {"file": str(done.path), "bytes": done.size, "rows": done.rows, "files": done.files}
    return answer | {"missing": list(done.missing), "same_disk": same_disk}


def backup_lines(done: BackedUp, same_disk: bool) -> Iterator[str]:
    """The file, what is in it, what is not, and where it should lie."""
    counted = [count_words(done.rows["job"], "job"), _entries(done.rows["entry"])]
    yield f"{done.path}: {', '.join(counted)}, {count_words(done.files, 'evidence file')}, {_size(done.size)}."
    yield "It was read again and is whole."
    yield from _missing(done.missing, "not in it, because they are missing or altered in the record")
    if same_disk:
        yield "It lies on the disk of the record: carry a copy to another one."


def restore_json(done: Restored) -> dict[str, Any]:
    """Keys ``made``, ``program``, ``set_aside``, ``missing`` and those of ``twoturn verify``."""
    aside = done.set_aside or done.tables_aside
    said: dict[str, Any] = {"made": done.made, "program": done.program, "missing": list(done.missing)}
    return said | {"set_aside": None if aside is None else str(aside)} | verify_json(done.verified)


def restore_lines(done: Restored) -> Iterator[str]:
    """Which backup it was, where the record before it is, and whether all is whole."""
    yield f"The backup of {done.made[:16].replace('T', ' ')} UTC, made with twoturn {done.program}, is in place."
    if done.set_aside is not None:
        yield f"The record before it is kept in {done.set_aside}."
    if done.tables_aside is not None:
        yield f"The tables before it are kept in the schema {done.tables_aside}."
    yield from _missing(done.missing, "missing or altered already when the backup was made")
    yield from verify_lines(done.verified)


def verify_json(found: Verified) -> dict[str, Any]:
    """Keys ``whole``, ``jobs``, ``entries``, ``sheets``, ``files``, ``problems``."""
    problems = [{"kind": one.kind, "where": one.where, "sentence": one.sentence} for one in found.problems]
    counts = {"jobs": found.jobs, "entries": found.entries, "sheets": found.sheets, "files": found.files}
    return {"whole": found.whole, **counts, "problems": problems}


def verify_lines(found: Verified) -> Iterator[str]:
    """What was looked through, and every problem."""
    jobs, sheets = count_words(found.jobs, "job"), count_words(found.sheets, "sheet")
    files = count_words(found.files, "evidence file")
    yield f"Looked through {jobs}, {_entries(found.entries)}, {sheets}, {files}."
    for one in found.problems[:MOST_LINES]:
        yield f"  {one.where}: {one.sentence}."
    if len(found.problems) > MOST_LINES:
        yield f"  and {len(found.problems) - MOST_LINES} more; --json lists them all."
    if found.whole:
        yield "Everything is as it was written."
    else:
        yield "Something is not as it was written. Keep the data folder as it is and look for the last good backup."


def export_lines(done: Exported) -> Iterator[str]:
    """The folder, its record number, and what is missing."""
    yield f"{done.folder}: job {done.number}, {_entries(done.checkpoint.entries)}, {_files(done.files)}."
    yield f"Record number: {done.checkpoint.short}"
    yield from _missing(done.missing, "not in it, because they are missing or altered in the record")
    yield f"Judge it with: twoturn prove {done.folder}"


def import_lines(done: Imported) -> Iterator[str]:
    """The number of the new job, its record number, and what was not taken in."""
    yield f"Job {done.job.number}: {_entries(done.checkpoint.entries)}, {_files(done.files)}."
    yield f"Record number: {done.checkpoint.short}"
    yield from done.warnings


def _entries(count: int) -> str:
    return count_words(count, "entry", "entries")


def _files(names: tuple[str, ...]) -> str:
    return count_words(len(names), "file")


def _missing(names: tuple[str, ...], why: str) -> Iterator[str]:
    if names:
        yield f"{count_words(len(names), 'evidence file')} {why}:"
        yield from (f"  {name}" for name in names)


def _size(count: int) -> str:
    return f"{count / 1e6:.1f} MB" if count >= 100_000 else f"{count / 1e3:.0f} kB"
