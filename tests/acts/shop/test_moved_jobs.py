"""A job folder taken in and written out again: the same entries, hashes, files and verdicts."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from twoturn.acts.fill_readings import fill_readings
from twoturn.acts.job_folder import load_job
from twoturn.acts.plan import vehicle_of
from twoturn.acts.prove import judge, prove
from twoturn.acts.shop import drives
from twoturn.acts.shop.export_job import export_job, export_numbered, job_file_text
from twoturn.acts.shop.import_job import import_here, import_job
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import held_job, start_job
from twoturn.acts.shop.people import Actor, NotAllowed
from twoturn.acts.shop.record import verify
from twoturn.acts.shop.shop import Shop
from twoturn.demo.jobs_shipped import JOBS, ShippedJob, write_job
from twoturn.errors import FileFaults, TwoTurnError
from twoturn.job.chain import hashes
from twoturn.store.faults import Conflict, Damaged, NotFound
from twoturn.store.files import path_of
from twoturn.store.records import vehicles


def judged(folder: Path) -> dict[str, Any]:
    """The answer of ``twoturn prove`` without the file's own paths."""
    return prove(folder).as_json()


def judged_in_record(shop: Shop, job_id: int) -> dict[str, Any]:
    job, files = held_job(shop, job_id).lent(shop)
    with files:
        return judge(job, fill_readings(job)).as_json()


@pytest.mark.parametrize("shipped", JOBS, ids=lambda job: job.id)
def test_a_job_goes_in_and_out_with_the_same_verdicts_and_hashes(
    workshop: Shop, ida: Actor, tmp_path: Path, shipped: ShippedJob
) -> None:
    write_job(shipped, tmp_path / "first")
    before = judged(tmp_path / "first")
    taken = import_job(workshop, ida, tmp_path / "first")
    assert taken.warnings == ()
    assert set(taken.files) == set(shipped.recordings)
    assert taken.checkpoint.as_json() == before["checkpoint"]
    assert judged_in_record(workshop, taken.job.id) == before
    written = export_job(workshop, taken.job.id, tmp_path / "second")
    assert judged(tmp_path / "second") == before
    first, second = load_job(tmp_path / "first"), load_job(tmp_path / "second")
    assert hashes(second.file.raw) == hashes(first.file.raw)
    assert written.checkpoint == taken.checkpoint
    for name in shipped.recordings:
        assert (tmp_path / "second" / name).read_bytes() == (tmp_path / "first" / name).read_bytes()
    assert verify(workshop).problems == ()


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
NUMBERS = st.one_of(
    st.integers(-(2**53), 2**53), st.floats(allow_nan=False, allow_infinity=False), st.sampled_from([1e21, 1e-7, 1e16])
)
VALUES = st.recursive(
    st.one_of(st.booleans(), TEXTS, NUMBERS),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(TEXTS, inner, max_size=3)),
    max_leaves=8,
)
ROWS = st.lists(st.dictionaries(TEXTS, VALUES, min_size=1, max_size=5), max_size=4)


@given(ROWS)
@example([{"row": {"a nut": 25, "a bolt": [50, "180°"]}, "kind": "torque"}])
@example([{"": {}, "a": [{"b": 1}, {"c": {}}], "d": [[], [{"e": 2}]], "kind": "x" * 120}])
@example([{"kind": 'two\r\nlines\t"\\\x7f\u2028', "a.b": {"c d": [1, "x"]}}])
def test_any_entry_written_as_a_job_file_keeps_its_hash(rows: list[dict[str, Any]]) -> None:
    """Whatever JSON object without null the record may hold, by the reader of the standard library (TOML 1.0)."""
    found = tomllib.loads(job_file_text(rows, 'a "drive"', ("a remark", "")))
    assert found["drive"] == 'a "drive"'
    assert hashes(found.get("entry", [])) == hashes(rows)


ENTRIES = st.lists(
    st.one_of(
        st.builds(
            lambda text: {"kind": "remark", "text": text}, TEXTS.filter(lambda text: any(map(str.isalnum, text)))
        ),
        st.builds(lambda km: {"kind": "odometer", "km": km}, st.integers(1, 900_000)),
        st.builds(lambda turns: {"kind": "turned", "turns": turns}, st.floats(0, 12).map(lambda x: round(x, 3))),
    ),
    min_size=1,
    max_size=5,
)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ENTRIES, st.integers(0, 10**9))
def test_what_people_type_goes_out_and_in_alike(
    workshop: Shop, ida: Actor, tmp_path: Path, rows: list[dict[str, Any]], number: int
) -> None:
    folder = tmp_path / f"job {number}"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    head = {"kind": "vehicle", "by": "Ada Lund (invented)", "entered": "2026-03-02T08:05:00", "note": f"job {number}"}
    text = job_file_text([head, *rows], "alder-one-cam")
    (folder / "job.toml").write_text(text, encoding="utf-8", newline="\n")
    wanted = hashes(load_job(folder).file.raw)
    try:
        taken = import_job(workshop, ida, folder)
    except Conflict:  # drawn before
        return
    shutil.rmtree(tmp_path / "out", ignore_errors=True)
    export_job(workshop, taken.job.id, tmp_path / "out")
    assert hashes(load_job(tmp_path / "out").file.raw) == wanted


def taken_in(shop: Shop, actor: Actor, folder: Path, shipped: ShippedJob = JOBS[0]) -> int:
    """Number of the row of a shipped job that was taken in."""
    write_job(shipped, folder)
    return import_job(shop, actor, folder).job.id


def test_the_same_folder_is_not_taken_in_twice(workshop: Shop, ida: Actor, tmp_path: Path) -> None:
    taken_in(workshop, ida, tmp_path / "a")
    with pytest.raises(Conflict, match="it is job 1, with the same 22 entries"):
        import_job(workshop, ida, tmp_path / "a" / "job.toml")


def test_who_may_not_hand_over_takes_nothing_in(workshop: Shop, trainee: Actor, tmp_path: Path) -> None:
    write_job(JOBS[1], tmp_path / "a")
    with pytest.raises(NotAllowed, match="technician"):
        import_job(workshop, trainee, tmp_path / "a")


def test_who_sits_at_the_machine_takes_it_in(workshop: Shop, tmp_path: Path) -> None:
    write_job(JOBS[1], tmp_path / "a")
    with pytest.raises(TwoTurnError, match="--by NAME"):
        import_here(workshop, tmp_path / "a")
    assert import_here(workshop, tmp_path / "a", "Ida Brook").job.number == 1
    write_job(JOBS[2], tmp_path / "b")
    with pytest.raises(TwoTurnError, match=r'nobody named "Bo".*Ida Brook'):
        import_here(workshop, tmp_path / "b", "Bo")
    assert import_here(workshop, tmp_path / "b").job.opened_by == "Ida Brook"
    write_job(JOBS[3], tmp_path / "c")
    assert import_here(workshop, tmp_path / "c", "ida brook").job.opened_by == "Ida Brook"


def test_a_file_that_is_not_there_is_told_and_the_verdict_is_the_folders(
    workshop: Shop, ida: Actor, tmp_path: Path
) -> None:
    write_job(JOBS[0], tmp_path / "a")
    (tmp_path / "a" / "as-left.csv").unlink()
    (tmp_path / "a" / "shopping list.txt").write_text("milk")
    taken = import_job(workshop, ida, tmp_path / "a")
    assert taken.files == ("after-turns.wav",)
    assert "as-left.csv is not in the folder." in taken.warnings
    assert "Not taken in, because no entry names it: shopping list.txt." in taken.warnings
    assert judged_in_record(workshop, taken.job.id)["verdict"] == judged(tmp_path / "a")["verdict"]


def test_a_folder_with_faults_makes_no_job(workshop: Shop, ida: Actor, tmp_path: Path) -> None:
    write_job(JOBS[0], tmp_path / "a")
    file = tmp_path / "a" / "job.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("km = 118420", 'km = "far"'), encoding="utf-8")
    with pytest.raises(FileFaults, match="km"):
        import_job(workshop, ida, tmp_path / "a")
    with pytest.raises(FileFaults, match="no such folder"):
        import_job(workshop, ida, tmp_path / "nowhere")
    with workshop.reading() as connection:
        assert vehicles.search(connection, "") == ()


def test_names_that_differ_in_case_only_are_refused(workshop: Shop, ida: Actor, tmp_path: Path) -> None:
    write_job(JOBS[0], tmp_path / "a")
    file = tmp_path / "a" / "job.toml"
    shutil.copy(tmp_path / "a" / "after-turns.wav", tmp_path / "a" / "After-turns.wav")
    more = '\n[[entry]]\nkind = "photo"\nfile = "After-turns.wav"\n'
    file.write_text(file.read_text(encoding="utf-8") + more, encoding="utf-8")
    with pytest.raises(TwoTurnError, match="capital letters only"):
        import_job(workshop, ida, tmp_path / "a")


def test_another_drive_of_the_same_name_changes_nothing_in_the_library(
    workshop: Shop, ida: Actor, alder: int, tmp_path: Path
) -> None:
    """The job keeps its own text, byte for byte; new jobs are offered the library's."""
    write_job(JOBS[0], tmp_path / "a")
    with workshop.reading() as connection:
        text = drives.kept.drive_version(connection, alder).text
    own = text + "# measured again\r\n"
    (tmp_path / "a" / "alder-one-cam.toml").write_text(own, encoding="utf-8", newline="")
    job = tmp_path / "a" / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").replace('"alder-one-cam"', '"alder-one-cam.toml"'), encoding="utf-8")
    offered = drives.library(workshop)
    taken = import_job(workshop, ida, tmp_path / "a")
    assert taken.warnings[-1].startswith("The library holds another")
    assert drives.library(workshop) == offered
    with workshop.reading() as connection:
        assert drives.kept.drive_version(connection, taken.job.drive_version_id).text == own
    export_job(workshop, taken.job.id, tmp_path / "b")
    assert (tmp_path / "b" / "alder-one-cam.toml").read_bytes() == own.encode()


def test_a_known_drive_and_vehicle_are_found_again(
    workshop: Shop, ida: Actor, alder: int, car: vehicles.Vehicle, tmp_path: Path
) -> None:
    write_job(JOBS[0], tmp_path / "a")
    taken = import_job(workshop, ida, tmp_path / "a")
    assert (taken.job.vehicle_id, taken.job.drive_version_id) == (car.id, alder)


def test_a_vehicle_that_was_struck_out_is_not_the_job_s(workshop: Shop, ida: Actor, tmp_path: Path) -> None:
    folder = tmp_path / "a"
    write_job(JOBS[0], folder)
    text = (folder / "job.toml").read_text(encoding="utf-8")
    more = [
        'kind = "vehicle"\nregistration = "ZZ 99 WRONG"\nhybrid = true\nid = "slip"',
        'kind = "struck out"\nreplaces = "slip"\nreason = "another car\'s paper"',
    ]
    (folder / "job.toml").write_text(text + "".join(f"\n[[entry]]\n{one}\n" for one in more), encoding="utf-8")
    taken = import_job(workshop, ida, folder)
    view = job_view(workshop, taken.job.id)
    assert view.head.registration.replace(" ", "") == "QX10DEMO"
    assert vehicle_of(view.proof.job.file).hybrid is not True


def test_an_empty_job_goes_out(workshop: Shop, ida: Actor, alder: int, car: vehicles.Vehicle, tmp_path: Path) -> None:
    job = start_job(workshop, ida, car.id, alder)
    (tmp_path / "out").mkdir()
    done = export_numbered(workshop, job.number, tmp_path / "out")
    assert done.as_json() == {
        "folder": str(tmp_path / "out"),
        "job": 1,
        "checkpoint": {"entries": 0, "last_hash": "0" * 64, "record_number": "0-0000-0000-0000-0000"},
        "files": [],
        "missing": [],
    }
    assert import_job(workshop, ida, tmp_path / "out").job.entries == 0


def test_nothing_is_written_over_and_nothing_half(workshop: Shop, ida: Actor, tmp_path: Path) -> None:
    job_id = taken_in(workshop, ida, tmp_path / "a")
    before = sorted(path.name for path in tmp_path.iterdir())
    for place in (tmp_path / "a", tmp_path / "a" / "job.toml"):
        with pytest.raises(TwoTurnError, match="something at"):
            export_job(workshop, job_id, place)
    with pytest.raises(TwoTurnError, match="no folder"):
        export_job(workshop, job_id, tmp_path / "no" / "where")
    with pytest.raises(NotFound, match="no job 7"):
        export_numbered(workshop, 7, tmp_path / "out")
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_a_file_lost_or_altered_in_the_record_is_told_and_left_out(workshop: Shop, ida: Actor, tmp_path: Path) -> None:
    job_id = taken_in(workshop, ida, tmp_path / "a")
    kept = held_job(workshop, job_id).sha256
    path_of(workshop.place, kept["after-turns.wav"]).unlink()
    path = path_of(workshop.place, kept["as-left.csv"])
    path.chmod(0o600)
    path.write_bytes(path.read_bytes()[:-1] + b"?")
    done = export_job(workshop, job_id, tmp_path / "out")
    assert done.missing == ("after-turns.wav", "as-left.csv")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["alder-one-cam.toml", "job.toml"]


def test_a_record_that_was_changed_gives_no_folder(workshop: Shop, ida: Actor, tmp_path: Path) -> None:
    job_id = taken_in(workshop, ida, tmp_path / "a")
    with workshop.writing() as connection:
        connection.exec_driver_sql("DROP TRIGGER entry_no_update")
        connection.exec_driver_sql("UPDATE entry SET content = replace(content, '118420', '18420')")
    with pytest.raises(Damaged, match="not what was once written"):
        export_job(workshop, job_id, tmp_path / "out")
    assert not (tmp_path / "out").exists()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []
