"""The whole record by act and by command: backed up, restored without writing over anything, looked through."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest
from tests.docs.examples import twoturn
from tests.store.databases import drop_database, new_database

from twoturn.acts.shop import record
from twoturn.acts.shop.export_job import export_numbered
from twoturn.acts.shop.import_job import import_here, import_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.demo.jobs_shipped import JOBS, write_job
from twoturn.errors import TwoTurnError
from twoturn.store.faults import ArchiveRefused, BenchRuns, Conflict, NotFound
from twoturn.store.locks import one_bench


@pytest.fixture
def number(workshop: Shop, ida: Actor, tmp_path: Path) -> str:
    """Record number of the one job of the workshop."""
    write_job(JOBS[0], tmp_path / "job")
    return import_job(workshop, ida, tmp_path / "job").checkpoint.short


def said(*words: object) -> tuple[int, Any]:
    """Exit status and answer of a command."""
    status, text = twoturn([*map(str, words), "--json"])
    return status, json.loads(text[: text.rindex("}") + 1])


def test_a_backup_is_noted_with_its_moment(workshop: Shop, number: str, tmp_path: Path) -> None:
    assert record.last_backup(workshop) is None
    done = record.backup(workshop, tmp_path / "b.zip")
    found = record.last_backup(workshop)
    assert found == record.LastBackup(workshop.now(), str(tmp_path / "b.zip"), done.path.stat().st_size, 0)
    assert done.files == 2
    assert record.on_the_same_disk(workshop, done.path)
    assert not record.on_the_same_disk(workshop, tmp_path / "gone.zip")


def test_a_backup_never_writes_over_a_file(workshop: Shop, number: str, tmp_path: Path) -> None:
    (tmp_path / "b.zip").write_text("mine")
    with pytest.raises(ArchiveRefused, match="already"):
        record.backup(workshop, tmp_path / "b.zip")
    with pytest.raises(TwoTurnError, match="no folder"):
        record.backup(workshop, tmp_path / "no" / "b.zip")
    assert (tmp_path / "b.zip").read_text() == "mine"


def test_restore_asks_before_it_sets_a_record_aside(workshop: Shop, number: str, tmp_path: Path) -> None:
    record.backup(workshop, tmp_path / "b.zip")
    here = workshop.place.folder
    with pytest.raises(Conflict, match=r"a record in .* already; nothing was changed"):
        record.restore(tmp_path / "b.zip", here)
    workshop.close()
    done = record.restore(tmp_path / "b.zip", here, replace=True)
    assert done.set_aside is not None
    assert (done.set_aside / "twoturn.sqlite").is_file()
    assert done.verified.whole
    with open_shop(here) as again:
        assert record.verify(again, {1: number}).problems == ()


def test_restore_refuses_while_a_bench_runs(workshop: Shop, number: str, tmp_path: Path) -> None:
    record.backup(workshop, tmp_path / "b.zip")
    with one_bench(workshop.place, "http://127.0.0.1:1"), pytest.raises(BenchRuns, match=r"127\.0\.0\.1:1"):
        record.restore(tmp_path / "b.zip", workshop.place.folder, replace=True)


def test_a_backup_is_made_and_looked_through_while_a_bench_runs(workshop: Shop, number: str, tmp_path: Path) -> None:
    with one_bench(workshop.place, "http://127.0.0.1:1"):
        status, answer = said("backup", tmp_path / "b.zip", "--data", workshop.place.folder)
        assert (status, answer["rows"]["entry"]) == (0, 22)
        status, answer = said("verify", "--data", workshop.place.folder)
        assert (status, answer["whole"]) == (0, True)


@pytest.mark.skipif(os.name == "nt", reason="rights of files are kept otherwise there")
def test_a_backup_is_for_its_owner_alone(workshop: Shop, number: str, tmp_path: Path) -> None:
    done = record.backup(workshop, tmp_path / "b.zip")
    assert done.path.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("damage", ["no database", "taken away"])
def test_a_database_that_cannot_be_opened_is_found_by_verify(workshop: Shop, tmp_path: Path, damage: str) -> None:
    workshop.close()
    path = workshop.place.database
    path.write_bytes(b"no database " * 999) if damage == "no database" else path.unlink()
    status, answer = said("verify", "--data", workshop.place.folder)
    assert (status, answer["whole"]) == (4, False)
    assert [one["kind"] for one in answer["problems"]] == ["database"]


def test_no_record_is_begun_by_looking(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no record"):
        record.open_record(tmp_path / "none")
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("text", ["12", "x=1-2", "12=", "=3-a", "12=ab-1"])
def test_what_is_no_sheet_is_refused(text: str) -> None:
    with pytest.raises(TwoTurnError, match="is no sheet"):
        record.papers_of([text])
    assert record.papers_of(["1=22-ABcd-0000 1111-2222", " 2 = 3-a"]) == {1: "22-abcd-0000-1111-2222", 2: "3-a"}


def test_the_commands_do_what_the_acts_do(workshop: Shop, number: str, tmp_path: Path) -> None:
    data, file, other = workshop.place.folder, tmp_path / "b.zip", tmp_path / "other"
    workshop.close()
    status, answer = said("backup", file, "--data", data)
    assert (status, answer["files"], answer["rows"]["entry"], answer["same_disk"]) == (0, 2, 22, True)
    status, answer = said("restore", file, "--data", other)
    assert (status, answer["whole"], answer["set_aside"]) == (0, True, None)
    status, answer = said("verify", "--data", other, "--sheet", f"1={number}")
    assert (status, answer["whole"], answer["jobs"], answer["entries"]) == (0, True, 1, 22)
    status, answer = said("export", 1, tmp_path / "out", "--data", other)
    assert (status, answer["checkpoint"]["record_number"]) == (0, number)
    status, answer = said("import", tmp_path / "out", "--data", other)
    assert status == 2
    assert "job 1" in answer["error"]
    status, answer = said("verify", "--data", other, "--sheet", f"1={number[:-1]}x")
    assert (status, answer["whole"], answer["problems"][0]["kind"]) == (4, False, "paper")


def test_the_commands_speak_plainly(workshop: Shop, number: str, tmp_path: Path) -> None:
    data = str(workshop.place.folder)
    workshop.close()
    status, text = twoturn(["backup", str(tmp_path / "b.zip"), "--data", data])
    assert (status, text.splitlines()[1]) == (0, "It was read again and is whole.")
    assert "one job, 22 entries, two evidence files" in text
    assert twoturn(["verify", "--data", data])[1].splitlines() == [
        "Looked through one job, 22 entries, no sheets, two evidence files.",
        "Everything is as it was written.",
    ]
    for path in (workshop.place.evidence).rglob("*"):
        if path.is_file():
            path.unlink()
    status, text = twoturn(["verify", "--data", data])
    assert status == 4
    assert "Something is not as it was written." in text
    status, text = twoturn(["backup", str(tmp_path / "c.zip"), "--data", data])
    assert (status, "two evidence files not in it, because they are missing" in text) == (0, True)
    status, text = twoturn(["export", "1", str(tmp_path / "out"), "--data", data])
    assert (status, text.count("not in it")) == (0, 1)
    status, text = twoturn(["verify", "--data", str(tmp_path / "none")])
    assert (status, text.count("\n")) == (2, 1)


@pytest.mark.parametrize("first", ["sqlite", "postgresql"])
def test_a_record_moves_between_the_databases_with_its_jobs(tmp_path: Path, first: str) -> None:
    """A job taken in on one database, backed up, restored into the other, and written out there."""
    url = new_database()
    try:
        here, there = (url, None) if first == "postgresql" else (None, url)
        write_job(JOBS[0], tmp_path / "job")
        with open_shop(tmp_path / "here", here) as shop:
            number = import_here(shop, tmp_path / "job", "Ida Brook").checkpoint.short
            record.backup(shop, tmp_path / "b.zip")
            assert record.last_backup(shop) is not None
            assert not (here and record.on_the_same_disk(shop, tmp_path / "b.zip"))
        done = record.restore(tmp_path / "b.zip", tmp_path / "there", there)
        assert done.verified.problems == ()
        with pytest.raises(Conflict, match="already"):
            record.restore(tmp_path / "b.zip", tmp_path / "there", there)
        assert record.verify_at(tmp_path / "there", there, [f"1={number}"]).problems == ()
        with record.open_record(tmp_path / "there", there) as shop:
            assert export_numbered(shop, 1, tmp_path / "out").checkpoint.short == number
    finally:
        drop_database(url)
