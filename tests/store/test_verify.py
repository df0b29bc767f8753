"""Whatever is flipped, taken away, swapped, cut or put in: ``verify`` says so, and says nothing of a whole record."""

from __future__ import annotations

import contextlib
import json
import shutil
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, Table, delete, insert, inspect, select, text, update
from sqlalchemy.exc import IntegrityError
from tests.store.databases import NOW, Record
from tests.store.made import WHO, full_record, keep_evidence, new_job, rows, send

from twoturn.job.chain import Checkpoint, entry_hash
from twoturn.store.engine import reading
from twoturn.store.files import keep_file, path_of, sha256_of
from twoturn.store.records import jobs, sheets
from twoturn.store.seals import entry_seal, seal_of
from twoturn.store.tables import ENTRY, EVIDENCE, JOB, METADATA, ONLY_ADDED, SENT, SHEET
from twoturn.store.verify import Verified, verify, verify_within

PROTECTED = [METADATA.tables[name] for name in (*ONLY_ADDED, "job")]
FREE = {"job": {"closed_at", "note"}, "sheet": {"id"}}
"""Columns that people may change, and a number that nothing points at; all else of these tables counts."""


class UndoError(Exception):
    """Ends a transaction whose changes are taken back."""


@contextmanager
def undone(record: Record) -> Iterator[Connection]:
    """A transaction in which everything may be changed, taken back at the end."""

    try:
        with record.write() as connection:
            if record.kind == "sqlite":
                connection.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
                for name in list(connection.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))):
                    connection.exec_driver_sql(f"DROP TRIGGER {name}")
            else:
                connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
            yield connection
            raise UndoError
    except UndoError:
        pass


def seen(connection: Connection, record: Record) -> list[tuple[str, str]]:
    """Kind and place of what is found, the guards that the test itself took away left out."""
    found = verify_within(connection, record.place).problems
    return [(one.kind, one.where) for one in found if "guard" not in one.sentence]


def keys_of(table: Table, row: Any) -> Any:
    wanted = [column == row._mapping[column.name] for column in table.primary_key.columns]
    query = wanted[0]
    for one in wanted[1:]:
        query = query & one
    return query


def changed(value: Any) -> Any:
    """Another value of the same kind: a digit or letter flipped, one more, a second later."""
    if value is None:
        return "0" * 64
    if isinstance(value, str):
        return "~" if not value else value[:-1] + ("1" if value[-1] != "1" else "2")
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    return value.replace(microsecond=(value.microsecond + 1) % 1000)


def test_a_whole_record_has_no_problems_and_everything_is_counted(record: Record) -> None:
    made = full_record(record)
    papers = {job.number: Checkpoint(job.entries, job.last_hash).short for job in made}
    found = verify(record.place, record.engine, papers)
    assert found == Verified((), jobs=3, entries=12, sheets=3, files=3)
    assert found.whole


def test_every_value_of_every_row_is_missed(record: Record) -> None:
    """Each column of each row of what is never changed, one after the other (on PostgreSQL every tenth of them)."""
    full_record(record)
    missed, count, step = [], 0, 1 if record.kind == "sqlite" else 10
    with undone(record) as connection:
        for table, row, column in list(_values(connection))[::step]:
            point = connection.begin_nested()
            other = changed(row._mapping[column])
            with contextlib.suppress(IntegrityError):  # a key that is taken: the database refuses by itself
                connection.execute(update(table).where(keys_of(table, row)).values({column: other}))
                count += 1
                if not [one for one in seen(connection, record) if one[0] != "orphaned"]:
                    missed.append((table.name, column))
            point.rollback()
        assert seen(connection, record) == []
    assert count >= 150 / step
    assert missed == []


def _values(connection: Connection) -> Iterator[tuple[Table, Any, str]]:
    for table in PROTECTED:
        for row in connection.execute(select(table)).fetchall():
            for column in table.columns:
                if column.name not in FREE.get(table.name, ()):
                    yield table, row, column.name


@pytest.mark.parametrize("table", [ENTRY, SENT, JOB], ids=lambda table: table.name)
def test_a_row_taken_away_is_missed(record: Record, table: Table) -> None:
    full_record(record)
    with undone(record) as connection:
        for row in connection.execute(select(table)).fetchall():
            point = connection.begin_nested()
            connection.execute(delete(table).where(keys_of(table, row)))
            assert seen(connection, record) != [], row
            point.rollback()


def test_a_sheet_taken_away_is_missed_by_its_file(record: Record) -> None:
    last = full_record(record)[-1]
    kept = keep_evidence(record, b"a sheet", sheets.sheet_name(last.number, last.entries))
    with record.write() as connection:
        new = sheets.NewSheet(last.id, last.entries, "proven", "proof sheet", kept.sha256, WHO, NOW)
        newest = sheets.add(connection, new).id
    with undone(record) as connection:
        assert seen(connection, record) == []
        connection.execute(delete(SHEET).where(SHEET.c.id == newest))
        assert seen(connection, record) == [("sheet", f"proof-sheet-job-{last.number}-{last.entries}")]


def test_the_last_entries_cut_off_with_all_that_tells_of_them_show_against_the_sheet(record: Record) -> None:
    """Somebody who knows the program cuts a job back consistently: only its own sheet, or one in hand, tells."""
    job = full_record(record)[0]
    paper = Checkpoint(job.entries, job.last_hash).short
    with record.write() as connection:
        send(connection, job.id, rows(1, 9), "later")
    with undone(record) as connection:
        _rewrite(connection, job.id, lambda contents: contents[:2])
        assert ("sheet", "sheet 1") in seen(connection, record)
        connection.execute(delete(SHEET).where(SHEET.c.job_id == job.id))
        assert seen(connection, record) == []
        found = verify_papers(connection, record, {job.number: paper})
        assert [one.kind for one in found.problems if "guard" not in one.sentence] == ["paper"]


def test_a_record_written_anew_as_a_whole_shows_against_a_sheet_in_hand(record: Record) -> None:
    job = full_record(record)[1]
    paper = Checkpoint(job.entries, job.last_hash).short
    with undone(record) as connection:

        def other(contents: list[dict[str, Any]]) -> list[dict[str, Any]]:
            return [{**one, "value": 1} for one in contents]

        _rewrite(connection, job.id, other)
        connection.execute(delete(SHEET).where(SHEET.c.job_id == job.id))
        assert seen(connection, record) == []
        found = verify_papers(connection, record, {job.number: paper})
        assert [one.kind for one in found.problems if "guard" not in one.sentence] == ["paper"]


def test_a_sheet_of_a_job_that_is_not_there_is_told(record: Record) -> None:
    full_record(record)
    found = verify(record.place, record.engine, {77: "4-0000-0000-0000-0000", 1: "not a number"})
    assert sorted(one.where for one in found.problems) == ["job 1", "job 77"]
    assert not found.whole


def verify_papers(connection: Connection, record: Record, papers: dict[int, str]) -> Verified:
    from twoturn.store.verify import _Look

    look = _Look(record.place, papers)
    look.through(connection)
    return look.found()


def _rewrite(
    connection: Connection, job_id: int, change: Callable[[list[dict[str, Any]]], list[dict[str, Any]]]
) -> None:
    """Write a job's entries anew with right hashes, seals, sendings and checkpoint."""
    from twoturn.job.canonical import canonical_json
    from twoturn.store.records.entries import digest_of
    from twoturn.store.seals import sealed

    found = connection.execute(select(ENTRY).where(ENTRY.c.job_id == job_id).order_by(ENTRY.c.number)).fetchall()
    contents = change([json.loads(row.content) for row in found])
    sent = connection.execute(select(SENT).where(SENT.c.job_id == job_id).order_by(SENT.c.id)).first()
    connection.execute(delete(ENTRY).where(ENTRY.c.job_id == job_id))
    connection.execute(delete(SENT).where(SENT.c.job_id == job_id))
    assert sent is not None
    texts = [canonical_json(content) for content in contents]
    values = dict(sent._mapping) | {"count": len(texts), "digest": digest_of(job_id, texts, WHO)}
    connection.execute(insert(SENT).values(sealed(SENT, values)))
    previous = "0" * 64
    for row, content in zip(found, contents, strict=False):
        entry = {"hash": entry_hash(content, previous), "previous_hash": previous, "sent_id": sent.id}
        new = dict(row._mapping) | entry | {"content": canonical_json(content)}
        connection.execute(insert(ENTRY).values(new | {"seal": entry_seal(new)}))
        previous = new["hash"]
    connection.execute(update(JOB).where(JOB.c.id == job_id).values(entries=len(texts), last_hash=previous))


SWAPS = {
    "two entries of one job": "UPDATE entry SET content = CASE number WHEN 1 THEN {2} ELSE {1} END "
    "WHERE job_id = 1 AND number IN (1, 2)",
    "all entries of two jobs": "UPDATE entry SET job_id = 9 WHERE job_id = 1; "
    "UPDATE entry SET job_id = 1 WHERE job_id = 2; UPDATE entry SET job_id = 2 WHERE job_id = 9",
    "the drives of two jobs": "UPDATE job SET drive_version_id = 2 WHERE id = 1",
    "the vehicles of two jobs": "UPDATE job SET vehicle_id = 3 - vehicle_id WHERE id IN (1, 2)",
    "the files of two names": "UPDATE job_evidence SET sha256 = (SELECT sha256 FROM evidence "
    "WHERE sha256 <> job_evidence.sha256 ORDER BY sha256 LIMIT 1) WHERE job_id = 1",
    "the sendings of two jobs": "UPDATE sent SET job_id = 3 - job_id WHERE job_id IN (1, 2)",
}


@pytest.mark.parametrize("swap", SWAPS)
def test_what_was_swapped_is_told(record: Record, swap: str) -> None:
    from twoturn.store.records import drives

    full_record(record)
    with record.write() as connection:
        drives.keep(connection, "birch", "Birch (invented)", 'name = "Birch"\n', WHO, NOW)
    with undone(record) as connection:
        statement = SWAPS[swap]
        for number in (1, 2):
            of = "(SELECT content FROM entry AS e WHERE e.job_id = 1 AND e.number = {n})".replace("{n}", str(number))
            statement = statement.replace(f"{{{number}}}", of)
        for one in statement.split(";"):
            assert connection.execute(text(one)).rowcount
        assert [one for one in seen(connection, record) if one[0] != "orphaned"]


def test_guards_taken_away_are_told(record: Record) -> None:
    with record.write() as connection:
        on = "" if record.kind == "sqlite" else " ON sheet"
        connection.exec_driver_sql(f"DROP TRIGGER sheet_no_delete{on}")
    found = verify(record.place, record.engine)
    assert [(one.kind, one.where) for one in found.problems] == [("database", "sheet")]


def test_guards_switched_off_are_told(record: Record) -> None:
    if record.kind == "sqlite":
        return  # there a trigger is there or not
    with record.write() as connection:
        connection.exec_driver_sql("ALTER TABLE entry DISABLE TRIGGER entry_no_update")
    assert [one.where for one in verify(record.place, record.engine).problems] == ["entry"]


def test_a_table_taken_away_is_told(record: Record) -> None:
    with record.write() as connection:
        connection.exec_driver_sql("DROP TABLE calibration")
    found = verify(record.place, record.engine)
    assert [(one.kind, one.where) for one in found.problems] == [("database", "calibration")]


def test_a_row_that_points_nowhere_is_told(record: Record) -> None:
    full_record(record)
    if record.kind == "sqlite":
        import sqlite3

        with sqlite3.connect(record.place.database) as raw:
            raw.execute("UPDATE odometer SET vehicle_id = 99 WHERE id = 1")
    else:
        record.tamper("UPDATE odometer SET vehicle_id = 99 WHERE id = 1")
    assert [one.kind for one in verify(record.place, record.engine).problems] == ["database"]


def test_every_byte_of_an_evidence_file_counts(record: Record) -> None:
    kept = keep_evidence(record, bytes(range(256)))
    kept.path.chmod(0o600)
    whole = kept.path.read_bytes()
    for at in range(0, 256, 17):
        kept.path.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        assert [one.kind for one in verify(record.place, record.engine).problems] == ["altered"]
    for content in (whole[:-1], whole + b"\0", b""):
        kept.path.write_bytes(content)
        assert [one.kind for one in verify(record.place, record.engine).problems] == ["altered"]
    kept.path.write_bytes(whole)
    assert verify(record.place, record.engine).problems == ()


def test_files_that_are_gone_swapped_or_put_in_are_told(record: Record) -> None:
    one, two = keep_evidence(record, b"one"), keep_evidence(record, b"two")
    found = lambda: [(problem.kind, problem.where) for problem in verify(record.place, record.engine).problems]  # noqa: E731
    one.path.rename(one.path.with_name("aside"))
    assert ("missing", one.sha256) in found()
    one.path.with_name("aside").rename(one.path)
    assert found() == []
    shutil.copy(two.path, record.place.folder / "two")
    one.path.chmod(0o600), two.path.chmod(0o600)
    one.path.write_bytes(b"two"), two.path.write_bytes(b"one")
    assert found() == [("altered", sha256) for sha256 in sorted((one.sha256, two.sha256))]
    one.path.write_bytes(b"one"), two.path.write_bytes(b"two")
    (record.place.evidence / "aa").mkdir(exist_ok=True)
    (record.place.evidence / "aa" / "stranger").write_bytes(b"x")
    assert found() == [("orphaned", "aa/stranger")]


def test_files_are_read_after_the_rows_so_that_nothing_waits_for_them(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    full_record(record)
    under_way: list[bool] = [False]

    @contextmanager
    def watched(engine: Engine) -> Iterator[Connection]:
        with reading(engine) as connection:
            under_way[0] = True
            yield connection
        under_way[0] = False

    looked: list[bool] = []

    def hashed(path: Path) -> str:
        looked.append(under_way[0])
        return sha256_of(path)

    monkeypatch.setattr("twoturn.store.verify.reading", watched)
    monkeypatch.setattr("twoturn.store.verify.sha256_of", hashed)
    assert verify(record.place, record.engine).problems == ()
    assert looked == [False] * 3


def test_the_texts_of_one_job_at_a_time_are_held(file_record: Record) -> None:
    with file_record.write() as connection:
        for number in range(12):
            job = new_job(connection)
            send(
                connection,
                job.id,
                [{"kind": "note", "text": f"{one} " * 1000} for one in range(1000, 1060)],
                f"{number}",
            )
    tracemalloc.start()
    try:
        assert verify(file_record.place, file_record.engine).whole
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    texts = 12 * 60 * 5000
    assert most < texts / 2


def test_a_file_that_came_before_the_power_was_cut_is_an_orphan_that_does_no_harm(record: Record) -> None:
    from io import BytesIO

    kept = keep_file(record.place, BytesIO(b"half a sending"), 100)
    found = verify(record.place, record.engine)
    assert [one.kind for one in found.problems] == ["orphaned"]
    assert found.whole
    assert path_of(record.place, kept.sha256).exists()


def test_a_database_file_with_holes_is_told(file_record: Record) -> None:
    """Pages of the file overwritten one after the other: told, or a page that nothing uses."""
    full_record(file_record)
    file_record.engine.dispose()
    path: Path = file_record.place.database
    whole = path.read_bytes()
    size = int.from_bytes(whole[16:18], "big")
    told = 0
    for at in range(0, len(whole), size):
        path.write_bytes(whole[:at] + b"\xff" * 8 + whole[at + 8 :])
        again = file_record.again()
        told += not verify(again.place, again.engine).whole
        again.engine.dispose()
    assert told >= 0.95 * (len(whole) // size)
    path.write_bytes(whole)
    again = file_record.again()
    assert verify(again.place, again.engine).problems == ()
    again.engine.dispose()


def test_every_table_stands_in_the_description(record: Record) -> None:
    """What the steps of the schema make is what the program is written for: names, columns, null or not."""
    with record.read() as connection:
        found = inspect(connection)
        there = {
            name: {(column["name"], column["nullable"]) for column in found.get_columns(name)}
            for name in found.get_table_names()
            if name != "alembic_version"
        }
        keys = {
            name: sorted(tuple(link["constrained_columns"]) for link in found.get_foreign_keys(name)) for name in there
        }
    assert there == {
        name: {(column.name, bool(column.nullable)) for column in table.columns}
        for name, table in METADATA.tables.items()
    }
    assert keys == {
        name: sorted((link.parent.name,) for link in table.foreign_keys) for name, table in METADATA.tables.items()
    }


def test_seals_are_of_what_they_say() -> None:
    assert seal_of([1, "a", None]) != seal_of([1, "a", ""])
    assert seal_of(["ab", "c"]) != seal_of(["a", "bc"])
    assert EVIDENCE.c.seal.nullable is False
    assert jobs.Job.__dataclass_fields__.keys().isdisjoint({"seal"})
