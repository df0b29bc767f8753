"""Has anything of the record been changed, taken away or put in?"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, inspect, select

from twoturn.job.canonical import canonical_json
from twoturn.job.chain import START, Checkpoint, entry_hash
from twoturn.store.engine import reading
from twoturn.store.faults import StoreError
from twoturn.store.files import path_of, sha256_of
from twoturn.store.integrity import damage
from twoturn.store.migrate.only_added import guards, wanted_guards
from twoturn.store.place import Place
from twoturn.store.records.drives import text_hash
from twoturn.store.records.entries import digest_of
from twoturn.store.records.sheets import is_sheet_name
from twoturn.store.seals import entry_seal, job_seal, row_seal
from twoturn.store.tables import DRIVE_VERSION, ENTRY, EVIDENCE, JOB, JOB_EVIDENCE, METADATA, ONLY_ADDED, SENT, SHEET


@dataclass(frozen=True)
class Problem:
    """Something that is not as it was written.

    Attributes
    ----------
    kind
        ``database``, ``chain``, ``job``, ``sending``, ``sheet``, ``paper``, ``drive``, ``file``, ``missing``,
        ``altered`` or ``orphaned``.
    where
        Job, file or table.
    sentence
        What is the matter.
    """

    kind: str
    where: str
    sentence: str


@dataclass(frozen=True)
class Verified:
    """What was looked through, and what was found.

    Attributes
    ----------
    problems
        Empty when all is as it was written.
    jobs, entries, sheets, files
        How many were looked through.
    """

    problems: tuple[Problem, ...]
    jobs: int
    entries: int
    sheets: int
    files: int

    @property
    def whole(self) -> bool:
        """Whether nothing is changed, missing or put in; a file that belongs to nothing does no harm."""
        return all(problem.kind == "orphaned" for problem in self.problems)


def verify(place: Place, engine: Engine, papers: Mapping[int, str] | None = None) -> Verified:
    """Look through the whole record.

    Parameters
    ----------
    place, engine
        The record.
    papers
        Record numbers as printed on sheets, by running number of the job: they show a record that was rewritten as a
        whole, its own notes of sheets with it.
    """
    look = _Look(place, papers or {})
    try:
        with reading(engine) as connection:
            look.through(connection)
        look.files()
    except StoreError as error:
        look.say("database", "database", error.message)
    except (ValueError, TypeError) as error:
        look.say("database", "database", f"a row holds what cannot be read ({error})")
    return look.found()


def verify_within(connection: Connection, place: Place) -> Verified:
    """As :func:`verify`, in a transaction that is under way."""
    look = _Look(place, {})
    look.through(connection)
    look.files()
    return look.found()


@dataclass(frozen=True)
class _Sent:
    """What a job has of a sending: the numbers of its entries, and the digest over them."""

    job_id: int
    numbers: tuple[int, ...]
    digest: str


class _Look:
    """One look through a record: the texts of one job at a time are held, and files are read after the transaction."""

    def __init__(self, place: Place, papers: Mapping[int, str]) -> None:
        self.place, self.papers = place, papers
        self.problems: list[Problem] = []
        self.counts = dict.fromkeys(("jobs", "entries", "sheets", "files"), 0)
        self.on_disk: list[Path] = []
        self.known: dict[str, tuple[int, str]] | None = None
        self.handed_out: set[str] = set()

    def say(self, kind: str, where: str, sentence: str) -> None:
        self.problems.append(Problem(kind, where, sentence))

    def found(self) -> Verified:
        return Verified(tuple(self.problems), **self.counts)

    def through(self, connection: Connection) -> None:
        """Look through the database, row by row; files are hashed afterwards."""
        self.on_disk = sorted(self.place.evidence.rglob("*"))  # before the rows: a row never comes before its file
        for fault in damage(connection):
            self.say("database", "database", fault)
        lost = set(METADATA.tables) - set(inspect(connection).get_table_names())
        for name in sorted(lost):
            self.say("database", name, f"the table {name} is gone")
        if lost:
            return
        there = guards(connection)
        for table in ONLY_ADDED:
            for guard in sorted(wanted_guards(connection, table) - there):
                self.say("database", table, f"the guard {guard} that forbids changes is gone")
        drives = self.drives(connection)
        self.jobs(connection, drives)
        self.evidence(connection)

    def drives(self, connection: Connection) -> dict[int, str]:
        """SHA-256 of the text of every version, as it is now."""
        found = {}
        for row in connection.execute(select(DRIVE_VERSION).order_by(DRIVE_VERSION.c.id)):
            found[row.id] = text_hash(row.text)
            if found[row.id] != row.sha256:
                self.say("drive", f"drive version {row.id}", "its text is not what was kept")
            self.seal("drive", DRIVE_VERSION, row, f"drive version {row.id}")
        return found

    def seal(self, kind: str, table: Table, row: Any, where: str) -> None:
        if row.seal != row_seal(table.name, row._mapping):
            self.say(kind, where, "what the record notes of it is not what was written")

    def jobs(self, connection: Connection, drives: dict[int, str]) -> None:
        """Every job with its entries, sendings and sheets; ``drives`` holds the hash of each version by its number."""
        jobs = {row.id: row for row in connection.execute(select(JOB).order_by(JOB.c.id))}
        numbers = {row.number: row.id for row in jobs.values()}
        for number in sorted(set(range(1, max(numbers, default=0) + 1)) - set(numbers)):
            self.say("chain", f"job {number}", "the job is gone")
        for row in jobs.values():
            if row.seal != job_seal(dict(row._mapping), drives.get(row.drive_version_id, "")):
                self.say("job", f"job {row.number}", "its number, vehicle, drive, or who began it when, was changed")
        chains = self.chains(connection, jobs)
        for row in connection.execute(select(SHEET).order_by(SHEET.c.id)):
            self.counts["sheets"] += 1
            self.handed_out.add(row.sha256)
            self.sheet(row, jobs.get(row.job_id), chains.get(row.job_id, []), drives)
        for number, paper in self.papers.items():
            self.paper(number, paper, chains.get(numbers.get(number, 0)))
        self.counts["jobs"] = len(jobs)

    def chains(self, connection: Connection, jobs: dict[int, Any]) -> dict[int, list[str]]:
        """The hashes of every job, computed anew from what its entries hold now."""
        chains: dict[int, list[str]] = {number: [] for number in jobs}
        sendings: dict[int, list[_Sent]] = {}
        query = select(ENTRY).order_by(ENTRY.c.job_id, ENTRY.c.number)
        rows = connection.execute(query, execution_options={"yield_per": 100})
        for job_id, entries in groupby(rows, key=lambda row: row.job_id):
            chain = chains.setdefault(job_id, [])
            where = f"job {jobs[job_id].number}" if job_id in jobs else f"job row {job_id}"
            for sent_id, sent in self.job(entries, chain, where).items():
                sendings.setdefault(sent_id, []).append(sent)
        for job in jobs.values():
            chain = chains[job.id]
            if job.entries != len(chain) or job.last_hash != (chain[-1] if chain else START):
                said = f"it has {len(chain)} entries, where {job.entries} were written, or the last is another one"
                self.say("chain", f"job {job.number}", said)
        self.sendings(connection, sendings)
        return chains

    def job(self, entries: Iterable[Any], chain: list[str], where: str) -> dict[int, _Sent]:
        """Its hashes put into ``chain``; what it has of each sending."""
        mine: dict[int, list[Any]] = {}
        for row in entries:
            self.counts["entries"] += 1
            mine.setdefault(row.sent_id, []).append(row)
            chain.append(self.entry(row, chain, where))
        return {
            sent_id: _Sent(
                rows[0].job_id,
                tuple(row.number for row in rows),
                digest_of(rows[0].job_id, [row.content for row in rows], rows[0].by),
            )
            for sent_id, rows in mine.items()
        }

    def entry(self, row: Any, chain: list[str], where: str) -> str:
        """Its hash from its content and the ones before."""
        previous = chain[-1] if chain else START
        try:
            content = json.loads(row.content)
            plain = canonical_json(content) == row.content
            found = entry_hash(content, previous)
        except (ValueError, TypeError, AttributeError, StoreError):
            plain, found = False, "unreadable"
        if row.number != len(chain) + 1:
            self.say("chain", where, f"entry {row.number} stands where entry {len(chain) + 1} belongs")
        if not plain or row.hash != found or row.previous_hash != previous:
            self.say("chain", where, f"entry {row.number} is not what was written")
        elif row.seal != entry_seal(row._mapping):
            self.say("chain", where, f"who sent entry {row.number}, or when, is not what was written")
        return found

    def sendings(self, connection: Connection, found: dict[int, list[_Sent]]) -> None:
        """Every sending against the entries that name it, ``found`` by the sending's number."""
        for row in connection.execute(select(SENT).order_by(SENT.c.id)):
            first, count = row._mapping["first"], row._mapping["count"]
            whole = count > 0 and found.pop(row.id, []) == [
                _Sent(row.job_id, tuple(range(first, first + count)), row.digest)
            ]
            if not whole:
                self.say("sending", f"sending {row.id}", "its entries are not those that were written")
            self.seal("sending", SENT, row, f"sending {row.id}")
        for sent_id in sorted(found):
            self.say("sending", f"sending {sent_id}", "its key is gone")

    def sheet(self, row: Any, job: Any, chain: list[str], drives: dict[int, str]) -> None:
        """One sheet against its job, the hashes of the job's entries and the version of its drive."""
        where = f"sheet {row.id}"
        self.seal("sheet", SHEET, row, where)
        if job is None:
            self.say("sheet", where, "its job is gone")
            return
        if (START, *chain)[row.entries : row.entries + 1] != (row.last_hash,):
            said = f"the record of job {job.number} no longer begins with the {row.entries} entries that it prints"
            self.say("sheet", where, said)
        if drives.get(job.drive_version_id) != row.drive_sha256:
            self.say("sheet", where, f"job {job.number} is no longer by the drive file that it was judged by")

    def paper(self, number: int, paper: str, chain: list[str] | None) -> None:
        count = paper.partition("-")[0]
        if chain is None:
            self.say("paper", f"job {number}", "the job of this sheet is not in the record")
        elif not count.isdecimal() or not self.begins(chain, int(count), paper):
            self.say("paper", f"job {number}", f"the record does not begin with the entries of record number {paper}")

    def begins(self, chain: list[str], count: int, paper: str) -> bool:
        start = (START, *chain)
        return count < len(start) and Checkpoint(count, start[count]).short == paper.strip().lower()

    def evidence(self, connection: Connection) -> None:
        """The notes of files; one of a sheet of which nothing else is noted any more is told."""
        known = {}
        for row in connection.execute(select(JOB_EVIDENCE).order_by(JOB_EVIDENCE.c.job_id, JOB_EVIDENCE.c.name)):
            self.seal("file", JOB_EVIDENCE, row, f'file "{row.name}" of job row {row.job_id}')
        for row in connection.execute(select(EVIDENCE).order_by(EVIDENCE.c.sha256)):
            self.counts["files"] += 1
            self.seal("file", EVIDENCE, row, row.sha256)
            known[row.sha256] = (row.size, row.first_name)
            if is_sheet_name(row.first_name) and row.sha256 not in self.handed_out:
                said = "it was handed out, and what the record notes of it is gone"
                self.say("sheet", row.first_name.removesuffix(".pdf"), said)
        self.known = known

    def files(self) -> None:
        """Look through the files that the rows know, where the rows could be read: this may take long."""
        if self.known is None:
            return
        known = self.known
        for sha256, (size, name) in known.items():
            try:
                path = path_of(self.place, sha256)
                altered = path.stat().st_size != size or sha256_of(path) != sha256
            except (OSError, StoreError):
                self.say("missing", sha256, f'the file that came as "{name}" is missing or cannot be read')
                continue
            if altered:
                self.say("altered", sha256, f'the file that came as "{name}" is not what was kept')
        for path in self.on_disk:
            if path.is_file() and (path.name not in known or path != path_of(self.place, path.name)):
                self.say(
                    "orphaned", str(path.relative_to(self.place.evidence)), "a file that no row of the record knows"
                )
