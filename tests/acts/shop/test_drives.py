"""The library of drives: versions kept, names that stay apart, faults collected, the shipped drives marked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import drives
from twoturn.acts.shop.people import Actor, NotAllowed, work_alone
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.drive.load import read_drive
from twoturn.drive.rename import renamed
from twoturn.errors import DomainError, FileFaults
from twoturn.store.faults import NotFound
from twoturn.store.records import jobs, vehicles

NOW = datetime(2026, 3, 2, 17, 40, tzinfo=UTC)
ALDER = shipped_drives()["alder-one-cam"]
OWN = renamed(ALDER, "Quill 8").replace("invented workshop sheet Alder 8, edition 2", "sheet of the maker")


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    with open_shop(tmp_path / "data", clock=lambda: NOW) as opened:
        yield opened


@pytest.fixture
def lead(shop: Shop) -> Actor:
    return work_alone(shop, "Jo Quillfeather")


def test_a_drive_is_kept_and_found_by_its_words(shop: Shop, lead: Actor) -> None:
    version = drives.add_drive(shop, lead, OWN)
    assert (version.number, version.text, version.by, version.at) == (1, OWN, "Jo Quillfeather", NOW)
    (line,) = drives.library(shop)
    assert (line.name, line.source, line.number, line.jobs) == ("Quill 8", "sheet of the maker", 1, 0)
    assert line.facts == "109 teeth; fixed roller, set by hand; 1 camshaft"
    assert not line.is_list
    assert not line.invented
    assert drives.library(shop, "quill 109") == (line,)
    assert drives.library(shop, "quill 141") == ()


def test_the_drive_of_a_version_is_understood_once(shop: Shop, lead: Actor) -> None:
    version = drives.add_drive(shop, lead, OWN)
    loaded = drives.drive_of(shop, version.id)
    assert loaded.version == version
    assert loaded.drive == read_drive(OWN, f"drive version {version.id}")
    assert drives.drive_of(shop, version.id) is loaded
    with pytest.raises(NotFound, match="drive version number 99"):
        drives.drive_of(shop, 99)


def test_every_fault_of_a_text_is_told_and_nothing_is_kept(shop: Shop, lead: Actor) -> None:
    broken = OWN.replace("teeth = 109", "teeth = -3").replace('crank_turns = "clockwise"', 'crank_turns = "left"')
    with pytest.raises(FileFaults) as caught:
        drives.add_drive(shop, lead, broken)
    assert {fault.key for fault in caught.value.faults} >= {"drive.crank_turns", "belt[1].teeth"}
    assert drives.library(shop) == ()


def test_a_change_is_a_new_version_and_the_old_one_stays(shop: Shop, lead: Actor) -> None:
    first = drives.add_drive(shop, lead, OWN)
    changed = OWN.replace("back_mm = 1.5", "back_mm = 1.6")
    second = drives.change_drive(shop, lead, first.drive_id, changed, after=1)
    assert (second.drive_id, second.number) == (first.drive_id, 2)
    assert drives.change_drive(shop, lead, first.drive_id, changed, after=1) == second
    assert [version.number for version in drives.versions(shop, first.drive_id)] == [2, 1]
    assert drives.drive_of(shop, first.id).version.text == OWN
    assert drives.newest(shop, first.drive_id).version == second


def test_two_who_change_one_drive_are_told(shop: Shop, lead: Actor) -> None:
    first = drives.add_drive(shop, lead, OWN)
    drives.change_drive(shop, lead, first.drive_id, OWN.replace("back_mm = 1.5", "back_mm = 1.6"), after=1)
    with pytest.raises(DomainError, match="Jo Quillfeather kept version 2 of this drive meanwhile"):
        drives.change_drive(shop, lead, first.drive_id, OWN.replace("back_mm = 1.5", "back_mm = 1.7"), after=1)


def test_names_stay_apart(shop: Shop, lead: Actor) -> None:
    first = drives.add_drive(shop, lead, OWN)
    with pytest.raises(DomainError, match='there is a drive named "Quill 8"'):
        drives.add_drive(shop, lead, renamed(OWN, "QUILL 8"))
    other = drives.add_drive(shop, lead, renamed(OWN, "Quill-8"))
    assert other.drive_id != first.drive_id
    with pytest.raises(DomainError, match='there is a drive named "Quill 8"'):
        drives.change_drive(shop, lead, other.drive_id, OWN)
    drives.change_drive(shop, lead, first.drive_id, renamed(OWN, "Quill 9"))
    assert [line.name for line in drives.library(shop)] == ["Quill 9", "Quill-8"]


def test_a_copy_is_a_drive_of_its_own(shop: Shop, lead: Actor) -> None:
    first = drives.add_drive(shop, lead, OWN)
    copy = drives.copy_drive(shop, lead, first.id, '  Quill 10 "long"  ')
    assert drives.drive_of(shop, copy.id).drive.name == 'Quill 10 "long"'
    assert copy.drive_id != first.drive_id
    assert copy.text.splitlines()[5:] == OWN.splitlines()[5:]
    with pytest.raises(DomainError, match="no name was given"):
        drives.copy_drive(shop, lead, first.id, "  ")


def test_kept_under_a_short_name_the_same_text_is_the_same_version(shop: Shop, lead: Actor) -> None:
    first = drives.keep_drive(shop, lead, OWN)
    assert drives.drive_row(shop, first.drive_id).slug == "quill-8"
    assert drives.keep_drive(shop, lead, OWN, "quill-8") == first
    assert drives.keep_drive(shop, lead, OWN.replace("back_mm = 1.5", "back_mm = 1.6"), "quill-8").number == 2


def test_the_shipped_drives_are_there_and_marked_as_invented(shop: Shop, lead: Actor) -> None:
    drives.ensure_shipped(shop)
    lines = drives.library(shop)
    assert {line.name for line in lines} == {read_drive(text, slug).name for slug, text in shipped_drives().items()}
    assert all(line.invented and line.number == 1 and line.by == drives.SHIPPED_BY for line in lines)
    drives.ensure_shipped(shop)
    assert drives.library(shop) == lines
    own = drives.add_drive(shop, lead, OWN)
    assert drives.library(shop)[0].version_id == own.id


def test_a_copy_of_an_invented_drive_stays_invented(shop: Shop, lead: Actor) -> None:
    drives.ensure_shipped(shop)
    (alder,) = drives.library(shop, "alder")
    copy = drives.copy_drive(shop, lead, alder.version_id, "Quill 8")
    assert next(line for line in drives.library(shop) if line.version_id == copy.id).invented


def test_what_somebody_changed_or_withdrew_is_left_alone(shop: Shop, lead: Actor) -> None:
    drives.ensure_shipped(shop)
    (alder,) = drives.library(shop, "alder")
    (birch,) = drives.library(shop, "birch")
    mine = drives.change_drive(shop, lead, alder.drive_id, ALDER.replace("back_mm = 1.5", "back_mm = 1.6"))
    drives.set_active(shop, lead, birch.drive_id, False)
    drives.ensure_shipped(shop)
    assert drives.newest(shop, alder.drive_id).version == mine
    assert drives.library(shop, "birch") == ()
    assert [line.active for line in drives.library(shop, "birch", every=True)] == [False]


def test_a_viewer_keeps_nothing_and_a_trainee_withdraws_nothing(shop: Shop, lead: Actor) -> None:
    first = drives.add_drive(shop, lead, OWN)
    viewer, trainee = Actor(8, "Vi Eyebright", "viewer"), Actor(9, "Tam Burdock", "trainee")
    for act in (
        lambda: drives.add_drive(shop, viewer, renamed(OWN, "Quill 9")),
        lambda: drives.keep_drive(shop, viewer, OWN),
        lambda: drives.change_drive(shop, viewer, first.drive_id, OWN),
        lambda: drives.copy_drive(shop, viewer, first.id, "Quill 9"),
        lambda: drives.set_active(shop, trainee, first.drive_id, False),
    ):
        with pytest.raises(NotAllowed):
            act()
    assert drives.add_drive(shop, trainee, renamed(OWN, "Quill 9")).number == 1


def test_the_library_counts_the_jobs_of_every_version(shop: Shop, lead: Actor) -> None:
    first = drives.add_drive(shop, lead, OWN)
    second = drives.change_drive(shop, lead, first.drive_id, OWN.replace("back_mm = 1.5", "back_mm = 1.6"))
    with shop.writing() as connection:
        vehicle = vehicles.add(connection, vehicles.Vehicle(0, "QU1"))
        for version in (first, second):
            jobs.add(connection, vehicle.id, version.id, NOW, "Jo Quillfeather")
    assert [line.jobs for line in drives.library(shop)] == [2]


def test_a_text_that_this_program_does_not_understand_stays_in_the_list(shop: Shop, lead: Actor) -> None:
    from twoturn.store.records import drives as rows

    drives.add_drive(shop, lead, OWN)
    with shop.writing() as connection:
        rows.keep(connection, "old", "Old drive", "[drive]\n", "Jo Quillfeather", NOW)
    old = next(line for line in drives.library(shop) if line.name == "Old drive")
    assert old.facts.startswith("Not understood by this version of the program: ")
    with pytest.raises(FileFaults):
        drives.newest(shop, old.drive_id)


def test_only_the_name_of_the_drive_table_is_changed() -> None:
    text = '# name = "x"\n[drive]\nsource = "s"\n"name" = \'Old\'  # remark\n[[belt]]\nname = "other"\n'
    assert renamed(text, "New \\ one") == text.replace("'Old'", '"New \\\\ one"')
    with pytest.raises(DomainError, match="change the name in the editor"):
        renamed('drive = { name = "x" }\n', "New")
