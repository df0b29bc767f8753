"""Backups made while others write, restored into either database; damaged, newer and half ones; full disks."""

from __future__ import annotations

import hashlib
import json
import random
import re
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import MetaData, select
from tests.store.databases import KINDS, NOW, PROGRAM, Record, later, new_record
from tests.store.made import full_record, keep_evidence, new_job, rows, send
from tests.store.steps import GOOD, first_steps, steps_with

from twoturn.job.chain import Checkpoint
from twoturn.store.archive import SEAL, open_archive
from twoturn.store.backup import LEFT_OUT, backup, write_tables
from twoturn.store.engine import make_engine
from twoturn.store.faults import ArchiveRefused, BenchRuns, DiskFull, Gone, NewerSchema, NotFound
from twoturn.store.files import path_of
from twoturn.store.locks import one_bench
from twoturn.store.migrate.schema import newest
from twoturn.store.migrate.up import bring_up
from twoturn.store.place import Place
from twoturn.store.records import entries
from twoturn.store.restore import restore
from twoturn.store.verify import verify


def everything(record: Record) -> dict[str, list[Any]]:
    """Every row of every table that a backup holds."""
    with record.read() as connection:
        tables = MetaData()
        tables.reflect(connection)
        return {
            table.name: sorted((tuple(row) for row in connection.execute(select(table))), key=repr)
            for table in tables.sorted_tables
            if table.name not in LEFT_OUT
        }


def saved(record: Record, name: str = "b.zip") -> Path:
    return backup(record.place, record.engine, record.place.folder / name, NOW, PROGRAM).path


def opened(place: Place) -> Record:
    engine = make_engine(place)
    bring_up(engine, place, later(3600), PROGRAM)
    return Record(place, engine)


@pytest.mark.parametrize("target", KINDS)
def test_a_backup_of_one_database_is_restored_into_the_other(record: Record, target: str, tmp_path: Path) -> None:
    made = full_record(record)
    before = everything(record)
    file = saved(record)
    with new_record(target, tmp_path / "target", tables=False) as other:
        done = restore(other.place, file, later(60), PROGRAM)
        assert (done.verified.problems, done.missing, done.set_aside, done.tables_aside) == ((), (), None, None)
        again = opened(other.place)
        assert everything(again) == before
        assert verify(again.place, again.engine, {1: Checkpoint(made[0].entries, made[0].last_hash).short}).whole
        with again.write() as connection:  # numbers of rows go on where they were
            assert new_job(connection).number == 4
            assert not send(connection, 1, rows(1), "new").repeated
            assert send(connection, 1, rows(4), "key 0").repeated
        again.engine.dispose()


def test_a_backup_holds_one_moment_while_others_write(record: Record) -> None:
    """Three writers without a pause: no job is cut in the middle of a sending, and nobody is refused."""
    with record.write() as connection:
        made = [new_job(connection).id for _ in range(3)]
    stop, told = threading.Event(), []

    def write(job_id: int) -> None:
        number = 0
        while not stop.is_set():
            try:
                with record.write() as connection:
                    send(connection, job_id, rows(3, 3 * number + 1), f"{job_id} {number}")
            except Exception as error:
                told.append(error)
            number += 1

    writers = [threading.Thread(target=write, args=(job_id,)) for job_id in made]
    for writer in writers:
        writer.start()
    files = [saved(record, f"{number}.zip") for number in range(2)]
    stop.set()
    for writer in writers:
        writer.join()
    assert told == []
    for number, file in enumerate(files):
        place = Place(record.place.folder / f"restored {number}")
        assert restore(place, file, later(60), PROGRAM).verified.problems == ()
        again = opened(place)
        with again.read() as connection:
            for job_id in made:
                found = [entry.content for entry in entries.entries(connection, job_id)]
                assert found == rows(len(found))
                assert len(found) % 3 == 0
        again.engine.dispose()


def test_the_archive_is_readable_with_common_tools(record: Record) -> None:
    """The page on the record says how: zip, JSON, SHA-256."""
    full_record(record)
    file = saved(record)
    whole = file.read_bytes()
    assert whole[-SEAL:].decode() == hashlib.sha256(whole[:-SEAL]).hexdigest()
    with zipfile.ZipFile(file) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        assert (manifest["schema"], manifest["program"], manifest["whole"]) == (newest(), PROGRAM, True)
        for name, said in manifest["files"].items():
            content = archive.read(name)
            assert (hashlib.sha256(content).hexdigest(), len(content)) == (said["sha256"], said["size"])
        names = {name for name in manifest["files"] if name.startswith("tables/")}
        assert {f"tables/{name}.jsonl" for name in LEFT_OUT}.isdisjoint(names)
        lines = [json.loads(line) for line in archive.read("tables/entry.jsonl").splitlines()]
    assert len(lines) == 1 + 12
    assert dict(zip(lines[0], lines[1], strict=True))["number"] == 1


def _flip(whole: bytes, at: int) -> bytes:
    return whole[:at] + bytes([whole[at] ^ 0x40]) + whole[at + 1 :]


def test_a_backup_flipped_cut_or_grown_anywhere_is_refused(file_record: Record, tmp_path: Path) -> None:
    """Some hundreds of damages, at random places and at every place near both ends."""
    full_record(file_record, 1, 2)
    whole = saved(file_record).read_bytes()
    draw, file = random.Random(7), tmp_path / "damaged.zip"
    places = {*range(40), *range(len(whole) - 90, len(whole)), *(draw.randrange(len(whole)) for _ in range(150))}
    damages = [_flip(whole, at) for at in places]
    damages += [whole[:at] for at in (0, 1, SEAL - 1, SEAL, *(draw.randrange(len(whole)) for _ in range(30)))]
    damages += [whole + b"x", b"x" + whole, whole * 2, whole[: len(whole) // 2] + whole[len(whole) // 2 + 100 :]]
    for damaged in damages:
        file.write_bytes(damaged)
        with pytest.raises(ArchiveRefused), open_archive(file):
            pass
    assert len(damages) > 250


def _resealed(file: Path, change: Callable[[dict[str, bytes], dict[str, Any]], object]) -> None:
    """Write an archive anew with other members and a right seal, as a hand that knows the format would."""
    with zipfile.ZipFile(file) as archive:
        members = {name: archive.read(name) for name in archive.namelist() if name != "manifest.json"}
        manifest = json.loads(archive.read("manifest.json"))
    change(members, manifest)
    with zipfile.ZipFile(file, "w") as archive:
        archive.comment = b"0" * SEAL
        for name, content in members.items():
            archive.writestr(name, content)
        archive.writestr("manifest.json", json.dumps(manifest))
    whole = file.read_bytes()
    file.write_bytes(whole[:-SEAL] + hashlib.sha256(whole[:-SEAL]).hexdigest().encode())


def _put(members: dict[str, bytes], manifest: dict[str, Any], name: str, content: bytes) -> None:
    members[name] = content
    manifest["files"][name] = {"sha256": hashlib.sha256(content).hexdigest(), "size": len(content)}


SETTING = b'["key","value"]\n'
ODOMETER = b'["id","vehicle_id","km","read_on","by"]\n'
FORGED: dict[str, Callable[[dict[str, bytes], dict[str, Any]], object]] = {
    "a way out of the folder": lambda members, said: _put(members, said, "../../evil", b"x"),
    "a name that is no SHA-256": lambda members, said: _put(members, said, "evidence/ab/" + "z" * 64, b"x"),
    "a file that is not its name": lambda members, said: _put(members, said, "evidence/ab/ab" + "0" * 62, b"x"),
    "a member that is not listed": lambda members, _: members.update({"tables/more.jsonl": b"[]\n"}),
    "a member that is not there": lambda members, _: members.pop("tables/entry.jsonl"),
    "a table of its own": lambda members, said: _put(members, said, "tables/evil.jsonl", b'["id"]\n'),
    "a table left out": lambda members, said: [one.pop("tables/sheet.jsonl") for one in (members, said["files"])],
    "other columns": lambda members, said: _put(members, said, "tables/job.jsonl", b'["id","evil"]\n'),
    "a row too short": lambda members, said: _put(
        members, said, "tables/setting.jsonl", SETTING + b'["a"]\n'
    ),
    "a number too large": lambda members, said: _put(
        members, said, "tables/odometer.jsonl", ODOMETER + b'[1,1,1e400,"2026-01-01","x"]\n'
    ),
    "a number of many digits": lambda members, said: _put(
        members, said, "tables/setting.jsonl", SETTING + b'["a",' + b"9" * 30 + b"]\n"
    ),
    "a list in a row": lambda members, said: _put(members, said, "tables/setting.jsonl", SETTING + b'["a",[]]\n'),
    "nothing where something must be": lambda members, said: _put(
        members, said, "tables/setting.jsonl", SETTING + b'["a",null]\n'
    ),
    "a moment that is none": lambda members, said: _put(
        members, said, "tables/job.jsonl", re.sub(rb'"2026-03-02T[^"]+"', b'"noon"', members["tables/job.jsonl"])
    ),
    "no line": lambda members, said: _put(members, said, "tables/setting.jsonl", SETTING + b'{'),
    "no rows": lambda members, said: _put(members, said, "tables/setting.jsonl", SETTING + b'{}\n'),
    "a size that is a lie": lambda _, said: said["files"]["tables/entry.jsonl"].update({"size": 1}),
    "tables alone": lambda _, said: said.update({"whole": False}),
    "no list": lambda _, said: said.pop("files"),
    "a schema that is no number": lambda _, said: said.update({"schema": "first"}),
    "no schema": lambda _, said: said.update({"schema": None}),
    "a list of something else": lambda _, said: said.update({"files": [1]}),
}  # fmt: skip


@pytest.mark.parametrize("forged", FORGED)
def test_a_backup_that_somebody_made_up_changes_nothing(file_record: Record, tmp_path: Path, forged: str) -> None:
    _refused(file_record, tmp_path, forged)


def test_a_backup_found_out_half_way_through_its_rows_changes_nothing(record: Record, tmp_path: Path) -> None:
    _refused(record, tmp_path, "a row too short")


def _refused(record: Record, tmp_path: Path, forged: str) -> None:
    full_record(record, 1, 2)
    before = everything(record)
    file = saved(record)
    _resealed(file, FORGED[forged])
    record.engine.dispose()
    with pytest.raises(ArchiveRefused):
        restore(record.place, file, later(60), PROGRAM)
    assert everything(record) == before
    assert verify(record.place, record.engine).problems == ()
    assert [path.name for path in record.place.folder.glob("restoring*")] == []
    assert not (tmp_path / "evil").exists()


def test_a_backup_changed_by_a_hand_that_knows_the_format_is_told_when_restored(record: Record, tmp_path: Path) -> None:
    full_record(record, 1, 2)
    file = saved(record)

    def change(members: dict[str, bytes], said: dict[str, Any]) -> None:
        _put(members, said, "tables/entry.jsonl", members["tables/entry.jsonl"].replace(b"entry 1", b"entry 7"))

    _resealed(file, change)
    done = restore(Place(tmp_path / "second"), file, later(60), PROGRAM)
    assert not done.verified.whole
    assert "chain" in {one.kind for one in done.verified.problems}


@pytest.mark.parametrize("of", ["schema", "format"])
def test_a_backup_of_a_newer_program_is_refused_in_words(record: Record, tmp_path: Path, of: str) -> None:
    full_record(record, 1, 2)
    if of == "schema":
        bring_up(record.engine, record.place, later(1), "0.9.0", steps=steps_with(tmp_path / "steps", GOOD))
    file = backup(record.place, record.engine, tmp_path / "b.zip", NOW, "0.9.0").path
    if of == "format":
        _resealed(file, lambda _, said: said.update({"format": 2}))
    with pytest.raises(NewerSchema, match=r"twoturn 0\.9\.0") as caught:
        restore(Place(tmp_path / "second"), file, later(60), PROGRAM)
    assert "install" in caught.value.sentence
    assert not (tmp_path / "second" / "record").exists()


def test_a_backup_of_an_older_schema_is_brought_up(record: Record, empty_record: Record, tmp_path: Path) -> None:
    if record.kind != empty_record.kind:
        return  # each database once is enough
    from tests.store.test_migrate import _as_before_seals

    bring_up(empty_record.engine, empty_record.place, NOW, PROGRAM, steps=first_steps(tmp_path / "old", 1))
    _as_before_seals(empty_record)
    file = saved(empty_record)
    record.engine.dispose()
    done = restore(record.place, file, later(60), PROGRAM)
    assert done.schema == 1
    assert done.verified.problems == ()
    again = opened(record.place)
    assert verify(again.place, again.engine).problems == ()
    again.engine.dispose()


def test_the_record_before_is_set_aside_whole(record: Record) -> None:
    full_record(record)
    file = saved(record)
    with record.write() as connection:
        send(connection, 1, rows(1, 9), "after the backup")
    record.engine.dispose()
    done = restore(record.place, file, later(60), PROGRAM)
    assert done.set_aside is not None
    again = opened(record.place)
    with again.read() as connection:
        assert len(entries.entries(connection, 1)) == 4
    if record.kind == "sqlite":
        aside = make_engine(Place(done.set_aside.parent / "as it was"))
        aside.dispose()
        assert (done.set_aside / "twoturn.sqlite").is_file()
    else:
        assert again.rows("SELECT count(*) FROM " + str(done.tables_aside) + ".entry") == [(13,)]  # noqa: S608 - a name of our own
    again.engine.dispose()
    second = restore(record.place, file, later(60), PROGRAM)  # in the same second: another name
    assert second.set_aside != done.set_aside
    assert second.tables_aside != done.tables_aside or record.kind == "sqlite"


def test_evidence_that_is_gone_is_told_by_backup_and_restore(record: Record, tmp_path: Path) -> None:
    one, two = keep_evidence(record, b"one"), keep_evidence(record, b"two")
    one.path.unlink()
    two.path.chmod(0o600)
    two.path.write_bytes(b"altered")
    done = backup(record.place, record.engine, tmp_path / "b.zip", NOW, PROGRAM)
    assert done.missing == tuple(sorted((one.sha256, two.sha256)))
    put = restore(Place(tmp_path / "second"), done.path, later(60), PROGRAM)
    assert put.missing == done.missing
    assert {problem.kind for problem in put.verified.problems} == {"missing"}
    assert not path_of(Place(tmp_path / "second"), one.sha256).exists()


def test_what_is_not_backed_up(empty_record: Record, record: Record, tmp_path: Path) -> None:
    if record.kind != empty_record.kind:
        return
    if empty_record.kind == "sqlite":
        empty_record.place.live.mkdir()
        empty_record.place.database.touch()
    with pytest.raises(NotFound, match="no record yet"):
        saved(empty_record)
    assert list(empty_record.place.folder.glob("*.zip")) == []
    tables = write_tables(record.engine, tmp_path / "tables.zip", NOW, PROGRAM)
    with pytest.raises(ArchiveRefused, match="tables alone"):
        restore(Place(tmp_path / "second"), tables, later(60), PROGRAM)


def test_a_bench_on_the_folder_or_database_holds_a_restore_back(record: Record) -> None:
    full_record(record, 1, 2)
    file = saved(record)
    with one_bench(record.place, "http://127.0.0.1:8642"), pytest.raises(BenchRuns, match="8642"):
        restore(record.place, file, later(60), PROGRAM)
    if record.kind == "postgresql":
        words = "import sys, time; from pathlib import Path; from sqlalchemy import text\n"
        words += "from twoturn.store.engine import make_engine, reading; from twoturn.store.place import Place\n"
        words += "with reading(make_engine(Place(Path(sys.argv[1]), sys.argv[2]))) as connection:\n"
        words += "    connection.execute(text('SELECT 1')); print('here', flush=True); time.sleep(60)"
        import subprocess
        import sys

        call = [sys.executable, "-c", words, str(record.place.folder / "elsewhere"), str(record.place.url)]
        with subprocess.Popen(call, stdout=subprocess.PIPE) as other:
            assert other.stdout is not None
            other.stdout.readline()
            with pytest.raises(BenchRuns, match="runs on this database"):
                restore(record.place, file, later(60), PROGRAM)
            other.kill()


def test_too_little_room_is_told_before_anything_is_changed(
    record: Record, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    full_record(record, 1, 2)
    file = saved(record)
    monkeypatch.setattr("shutil.disk_usage", lambda _: type("Usage", (), {"free": 50_000_100})())
    with pytest.raises(DiskFull, match="MB are free"):
        restore(Place(tmp_path / "second"), file, later(60), PROGRAM)
    assert not (tmp_path / "second" / "record").exists()


def test_no_file_no_folder(record: Record, tmp_path: Path) -> None:
    with pytest.raises(Gone, match="is not there"):
        restore(record.place, tmp_path / "none.zip", NOW, PROGRAM)
    (tmp_path / "empty.zip").touch()
    with pytest.raises(ArchiveRefused):
        restore(record.place, tmp_path / "empty.zip", NOW, PROGRAM)
