"""Bringing a record up: looked through first, copied first, put back when a step fails; newer ones are refused."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text
from tests.store.databases import NOW, PROGRAM, Record, later
from tests.store.made import WHO, full_record, new_job, send
from tests.store.steps import FAILS, GOOD, WRECKS, first_steps, steps_with

from twoturn.job.chain import Checkpoint
from twoturn.store.archive import open_archive
from twoturn.store.faults import BenchRuns, Damaged, Gone, NewerSchema, StoreError
from twoturn.store.locks import one_bench
from twoturn.store.migrate.schema import newest, schema_of
from twoturn.store.migrate.up import bring_up
from twoturn.store.records import drives, entries, jobs
from twoturn.store.verify import verify


def content(record: Record) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table."""
    return {name: sorted((tuple(row.values()) for row in rows), key=repr) for name, rows in _dicts(record).items()}


def up(record: Record, steps: Path, program: str = "0.2.0") -> Any:
    return bring_up(record.engine, record.place, later(60), program, steps=steps)


def test_a_new_record_is_begun_and_opened_again(empty_record: Record) -> None:
    first = bring_up(empty_record.engine, empty_record.place, NOW, PROGRAM)
    again = bring_up(empty_record.engine, empty_record.place, later(1), PROGRAM)
    assert (first.before, first.after, first.copy) == (None, newest(), None)
    assert (again.before, again.after, again.copy) == (newest(), newest(), None)
    assert empty_record.place.begun.exists()


def test_a_newer_schema_is_made_behind_a_dated_copy(record: Record, tmp_path: Path) -> None:
    full_record(record)
    before = content(record)
    done = up(record, steps_with(tmp_path / "steps", GOOD))
    assert (done.before, done.after) == (newest(), newest() + 1)
    assert done.copy is not None
    assert done.copy.name.startswith("before-20260302-174100")
    assert {row[-1] for row in record.rows("SELECT * FROM job")} == {"none"}
    assert record.rows("SELECT program FROM about") == [("0.2.0",)]
    assert verify(record.place, record.engine).problems == ()
    if record.kind == "sqlite":
        with closing(sqlite3.connect(done.copy)) as kept:
            assert sorted(kept.execute("SELECT * FROM entry").fetchall(), key=repr) == before["entry"]
    else:
        with open_archive(done.copy) as archive:
            assert len(list(archive.rows("entry"))) == 1 + len(before["entry"])


@pytest.mark.parametrize("works", [(FAILS,), (GOOD, FAILS)], ids=["the only step", "the second of two"])
def test_a_step_that_fails_leaves_the_record_as_it_was(record: Record, tmp_path: Path, works: tuple[str, ...]) -> None:
    full_record(record)
    before = content(record)
    with pytest.raises(StoreError, match=r"half way.*as it was before.*a copy is") as caught:
        up(record, steps_with(tmp_path / "steps", *works))
    assert "go on with the older twoturn" in caught.value.sentence
    assert content(record) == before
    assert [path.name.partition(".")[0] for path in record.place.copies.iterdir()] == ["before-20260302-174100"]
    with record.write() as connection:
        send(connection, new_job(connection).id, [{"kind": "note"}], "after it")
    assert verify(record.place, record.engine).problems == ()


def test_a_step_that_wrecks_the_file_is_put_back_from_the_copy(file_record: Record, tmp_path: Path) -> None:
    """A step that ends the transaction itself; the broken file is kept, never thrown away."""
    full_record(file_record)
    before = content(file_record)
    wreck = WRECKS.replace("raise", 'connection.exec_driver_sql("BEGIN"); op.drop_table("calibration")\n    connection'
                           '.exec_driver_sql("COMMIT")\n    raise')  # fmt: skip
    with pytest.raises(StoreError, match="the broken file is kept as"):
        up(file_record, steps_with(tmp_path / "steps", wreck))
    again = file_record.again()
    assert content(again) == before
    again.engine.dispose()
    assert sorted(path.name.partition("-")[0] for path in file_record.place.copies.glob("*.sqlite")) == [
        "before",
        "broken",
    ]


def test_a_newer_record_is_refused_with_the_version_it_needs(record: Record, tmp_path: Path) -> None:
    up(record, steps_with(tmp_path / "steps", GOOD), "0.9.0")
    before = content(record)
    with pytest.raises(NewerSchema, match=r"last used with twoturn 0\.9\.0; this is 0\.1\.0") as caught:
        bring_up(record.engine, record.place, later(90), PROGRAM)
    assert caught.value.next_step == "install the newer one"
    assert content(record) == before


def test_a_record_of_the_first_schema_is_brought_up_and_its_seals_hold(empty_record: Record, tmp_path: Path) -> None:
    """Rows as the first schema kept them: everything that the program writes today, without its seals."""
    old = first_steps(tmp_path / "old", 1)
    bring_up(empty_record.engine, empty_record.place, NOW, PROGRAM, steps=old)
    _as_before_seals(empty_record)
    done = bring_up(empty_record.engine, empty_record.place, later(60), "0.2.0")
    assert (done.before, done.after) == (1, newest())
    assert verify(empty_record.place, empty_record.engine).problems == ()
    with empty_record.write() as connection:
        send(connection, 1, [{"kind": "note"}], "after it")
        job = jobs.job(connection, 1)
        assert entries.hash_at(connection, 1, job.entries) == job.last_hash
        assert drives.drive_version(connection, job.drive_version_id).text == 'name = "Alder"\n'
    assert verify(empty_record.place, empty_record.engine, {1: Checkpoint(job.entries, job.last_hash).short}).whole


def _as_before_seals(record: Record) -> None:
    """Fill the tables of the first schema with the rows of a record of today."""
    from sqlalchemy import MetaData, insert
    from tests.store.databases import new_record

    with new_record("sqlite", record.place.folder.parent / "today") as today:
        full_record(today)
        made = {name: rows for name, rows in _dicts(today).items() if name not in {"alembic_version", "about"}}
        for path in today.place.evidence.rglob("*"):
            if path.is_file():
                target = record.place.evidence / path.relative_to(today.place.evidence)
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(path.read_bytes())
    with record.write() as connection:
        tables = MetaData()
        tables.reflect(connection)
        for table in tables.sorted_tables:
            rows = [{key: row[key] for key in dict(table.columns)} for row in made.get(table.name, [])]
            if rows:
                connection.execute(insert(table), rows)
        if record.kind == "postgresql":
            query = "SELECT setval(pg_get_serial_sequence('sent', 'id'), (SELECT max(id) FROM sent))"
            connection.execute(text(query))


def _dicts(record: Record) -> dict[str, list[dict[str, Any]]]:
    from sqlalchemy import MetaData, select

    with record.read() as connection:
        tables = MetaData()
        tables.reflect(connection)
        return {table.name: [dict(row._mapping) for row in connection.execute(select(table))]
                for table in tables.sorted_tables}  # fmt: skip


def test_a_damaged_database_is_not_changed(file_record: Record, tmp_path: Path) -> None:
    full_record(file_record)
    with file_record.write() as connection:
        connection.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
    file_record.engine.dispose()
    with closing(sqlite3.connect(file_record.place.database)) as raw, raw:
        raw.execute("UPDATE odometer SET vehicle_id = 99")
    with pytest.raises(Damaged, match="was not changed"):
        up(file_record, steps_with(tmp_path / "steps", GOOD))
    assert list(file_record.place.copies.iterdir()) == []


def test_tables_of_somebody_else_are_left_alone(empty_record: Record) -> None:
    if empty_record.kind == "sqlite":
        empty_record.place.live.mkdir()
        empty_record.place.database.touch()
    with empty_record.write() as connection:
        connection.exec_driver_sql("CREATE TABLE customers (id INTEGER)")
    with pytest.raises(StoreError, match=r"none of twoturn.*empty database"):
        bring_up(empty_record.engine, empty_record.place, NOW, PROGRAM)
    assert empty_record.rows("SELECT * FROM customers") == []


def test_a_file_that_is_missing_is_never_begun_anew(file_record: Record) -> None:
    full_record(file_record)
    file_record.engine.dispose()
    for path in file_record.place.live.glob("twoturn.sqlite*"):
        path.rename(file_record.place.folder / path.name)
    again = file_record.again()
    with pytest.raises(Gone, match="is missing from a folder that has held one"):
        bring_up(again.engine, again.place, later(1), PROGRAM)
    assert not again.place.database.exists()


def test_a_bench_of_an_older_program_on_the_folder_holds_the_change_back(record: Record, tmp_path: Path) -> None:
    import subprocess
    import sys

    words = "import sys, time; from pathlib import Path; from twoturn.store.locks import one_bench; "
    words += "from twoturn.store.place import Place\n"
    words += "with one_bench(Place(Path(sys.argv[1])), 'http://127.0.0.1:9'):\n"
    words += "    print('holds', flush=True); time.sleep(60)"
    with subprocess.Popen([sys.executable, "-c", words, str(record.place.folder)], stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        other.stdout.readline()
        with pytest.raises(BenchRuns, match="older twoturn runs"):
            up(record, steps_with(tmp_path / "steps", GOOD))
        other.kill()
    with record.read() as connection:
        assert schema_of(connection) == newest()
    with one_bench(record.place):
        assert up(record, tmp_path / "steps").after == newest() + 1


def test_a_cut_off_restore_is_told_and_not_worked_on(record: Record) -> None:
    record.place.restoring.write_text("{}")
    with pytest.raises(StoreError, match=r"a restore .* was cut off half-way"):
        bring_up(record.engine, record.place, later(1), PROGRAM)


@pytest.mark.parametrize(
    ("mark", "moved", "said"),
    [
        ('{"set_aside": "/elsewhere/set-aside-1"}', True, "the record before it is kept in {copies}/set-aside-1"),
        ('{"set_aside": "/elsewhere/set-aside-1"}', False, "the record before it is still in {live}"),
        ('{"set_aside": ""}', False, "there was no record before it"),
        ('{"set_as', False, "the record before it is in {live}, or set aside in {copies}"),
        ('{"set_aside": 7}', False, "the record before it is in {live}, or set aside in {copies}"),
    ],
)
def test_a_cut_off_restore_says_where_the_record_before_is(record: Record, mark: str, moved: bool, said: str) -> None:
    place = record.place
    place.restoring.write_text(mark)
    if moved:
        (place.copies / "set-aside-1").mkdir(parents=True)
    with pytest.raises(StoreError) as told:
        bring_up(record.engine, place, later(1), PROGRAM)
    wanted = said.format(copies=place.copies, live=place.live)
    assert wanted in told.value.next_step.replace('"', "")
    assert ("its tables are in the database" in told.value.next_step) is (place.url is not None)


def test_who_wrote_is_kept_with_every_row(record: Record) -> None:
    full_record(record)
    assert set(record.rows("SELECT DISTINCT opened_by FROM job")) == {(WHO,)}
