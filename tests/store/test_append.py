"""Entries are only added, in order, each sending exactly once, whoever writes at the same time."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import text
from tests.store.databases import Record, later
from tests.store.made import WHO, new_job, rows, send

from twoturn.job.chain import START, hashes
from twoturn.store.faults import Conflict, KeyInFlight, KeyReused, NotFound, OnlyAdded
from twoturn.store.in_flight import InFlight
from twoturn.store.records import entries, jobs
from twoturn.store.verify import verify


def test_entries_are_numbered_and_chained_as_a_job_file_is(record: Record) -> None:
    """The hashes are those of ``job/chain.py`` for the same raw entries."""
    with record.write() as connection:
        job = new_job(connection)
        first = send(connection, job.id, rows(2), "a")
        second = send(connection, job.id, rows(1, 3), "b", 5)
    assert [entry.number for entry in first.entries + second.entries] == [1, 2, 3]
    assert [entry.hash for entry in first.entries + second.entries] == list(hashes(rows(3)))
    assert first.entries[0].previous_hash == START
    with record.read() as connection:
        found = entries.entries(connection, job.id)
        held = jobs.job(connection, job.id)
    assert found == first.entries + second.entries
    assert [entry.content for entry in found] == rows(3)
    assert (held.entries, held.last_hash) == (3, found[-1].hash)
    assert found[0].entered is not None
    assert entries.Entry(1, 1, {}, "", "", WHO, later(0), False).entered is None


def test_what_came_in_between_is_told_and_never_refused(record: Record) -> None:
    with record.write() as connection:
        job = new_job(connection)
        send(connection, job.id, rows(1), "mine 1")
        send(connection, job.id, rows(2, 2), "theirs")
        answer = entries.append(connection, job.id, rows(1, 4), "mine 2", WHO, later(9), after=1)
        again = entries.append(connection, job.id, rows(1, 4), "mine 2", WHO, later(12), after=1)
    assert [entry.number for entry in answer.others] == [2, 3]
    assert [entry.number for entry in answer.entries] == [4]
    assert again.repeated
    assert (again.entries, again.others) == (answer.entries, answer.others)


def test_the_same_key_is_written_once_and_answered_alike(record: Record) -> None:
    with record.write() as connection:
        job = new_job(connection)
        first = send(connection, job.id, rows(2), "key")
    for seconds in (1, 100):
        with record.write() as connection:
            again = send(connection, job.id, rows(2), "key", seconds)
        assert again.repeated
        assert not first.repeated
        assert again.entries == first.entries


@pytest.mark.parametrize("change", ["content", "order", "number", "job", "person"])
def test_the_same_key_with_anything_else_is_refused(record: Record, change: str) -> None:
    with record.write() as connection:
        job, other = new_job(connection), new_job(connection)
        send(connection, job.id, rows(2), "key")
    contents = {"content": rows(2, 2), "order": rows(2)[::-1], "number": rows(1)}.get(change, rows(2))
    where = other.id if change == "job" else job.id
    who = "Bo Sample (invented)" if change == "person" else WHO
    with pytest.raises(KeyReused, match="used before for something else"), record.write() as connection:
        entries.append(connection, where, contents, "key", who, later(1))
    with record.read() as connection:
        assert len(entries.entries(connection, job.id)) == 2
        assert entries.entries(connection, other.id) == ()


def test_a_key_under_way_is_told() -> None:
    keys = InFlight()
    with keys.claim("a"):
        with pytest.raises(KeyInFlight), keys.claim("a"):
            pass
        with keys.claim("b"):
            pass
    with keys.claim("a"):
        pass


def test_a_sending_that_fails_half_way_leaves_nothing_and_its_key_is_free(record: Record) -> None:
    with record.write() as connection:
        job = new_job(connection)

    def fail() -> None:
        with record.write() as connection:
            send(connection, job.id, rows(3), "key")
            raise RuntimeError("after it")

    with pytest.raises(RuntimeError, match="after it"):
        fail()
    with record.write() as connection:
        assert entries.entries(connection, job.id) == ()
        assert not send(connection, job.id, rows(2), "key").repeated


def test_an_unknown_job_is_told(record: Record) -> None:
    with pytest.raises(NotFound, match="job number 77"), record.write() as connection:
        send(connection, 77, rows(1), "key")


WAYS = {
    "change the content": "UPDATE entry SET content = '{}' WHERE number = 1",
    "change the hash": "UPDATE entry SET hash = 'x' WHERE number = 1",
    "take one away": "DELETE FROM entry WHERE number = 2",
    "take all away": "DELETE FROM entry",
    "take a key away": "DELETE FROM sent",
    "change a drive's text": "UPDATE drive_version SET text = 'x'",
}


@pytest.mark.parametrize("way", WAYS)
def test_the_database_itself_refuses_changes(record: Record, way: str) -> None:
    with record.write() as connection:
        send(connection, new_job(connection).id, rows(3), "key")
    with pytest.raises(OnlyAdded, match="only ever added to"), record.write() as connection:
        connection.execute(text(WAYS[way]))
    assert verify(record.place, record.engine).problems == ()


def test_replacing_and_emptying_are_refused_too(record: Record) -> None:
    """SQLite's INSERT OR REPLACE would take a row away past a trigger on DELETE; PostgreSQL's TRUNCATE as well."""
    with record.write() as connection:
        send(connection, new_job(connection).id, rows(3), "key")
    way = "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE number = 2"
    with pytest.raises(OnlyAdded), record.write() as connection:
        connection.execute(text(way if record.kind == "sqlite" else "TRUNCATE entry"))
    assert verify(record.place, record.engine).problems == ()


def test_a_number_taken_twice_is_refused_by_the_database(record: Record) -> None:
    with record.write() as connection:
        send(connection, new_job(connection).id, rows(1), "key")
    with pytest.raises(Conflict), record.write() as connection:
        connection.execute(text("INSERT INTO entry SELECT * FROM entry"))


def test_a_clock_set_back_is_marked_and_nothing_lost(record: Record) -> None:
    with record.write() as connection:
        job, other = new_job(connection), new_job(connection)
        send(connection, job.id, rows(1), "a", 7200)
        back = send(connection, job.id, rows(2, 2), "b", 0)
        onward = send(connection, job.id, rows(1, 4), "c", 60)
        elsewhere = send(connection, other.id, rows(1), "d", -7200)
        near = send(connection, other.id, rows(1), "e", -7220)
    assert [entry.clock_back for entry in back.entries] == [True, False]
    assert not onward.entries[0].clock_back
    assert elsewhere.entries[0].clock_back  # of the whole record, not of this job alone
    assert not near.entries[0].clock_back  # two clocks never quite agree
    with record.read() as connection:
        assert [entry.content for entry in entries.entries(connection, job.id)] == rows(4)
    assert verify(record.place, record.engine).problems == ()


def test_twenty_people_at_once_lose_nothing(record: Record) -> None:
    """Threads on two jobs; every sending is sent twice, the second time whatever became of the first."""
    with record.write() as connection:
        made = [new_job(connection).id for _ in range(2)]
    start = threading.Barrier(20)
    told: list[str] = []

    def person(number: int) -> None:
        start.wait()
        for index in range(4):
            for _ in range(2):
                try:
                    with record.write() as connection:
                        send(connection, made[number % 2], rows(2, 100 * number + 2 * index), f"{number}-{index}")
                except KeyInFlight:
                    told.append("in flight")

    with ThreadPoolExecutor(20) as pool:
        list(pool.map(person, range(20)))
    for index, job_id in enumerate(made):
        with record.read() as connection:
            found = [entry.content["text"] for entry in entries.entries(connection, job_id)]
        wanted = [row["text"] for number in range(index, 20, 2) for row in rows(8, 100 * number)]
        assert sorted(found) == sorted(wanted)
    assert verify(record.place, record.engine).problems == ()


def test_two_at_once_with_one_key_are_written_once(record: Record) -> None:
    with record.write() as connection:
        job_id = new_job(connection).id
    start = threading.Barrier(8)

    def once(_: int) -> str:
        start.wait()
        try:
            with record.write() as connection:
                return "repeated" if send(connection, job_id, rows(3), "one key").repeated else "first"
        except KeyInFlight:
            return "in flight"

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(once, range(8)))
    assert answers.count("first") == 1
    assert set(answers) <= {"first", "repeated", "in flight"}
    with record.read() as connection:
        assert len(entries.entries(connection, job_id)) == 3
