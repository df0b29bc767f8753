"""Evidence files of a job: kept once, photos without location, names that cannot lead anywhere."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import pytest
from PIL import Image

from twoturn.acts.shop.evidence import evidence_file, keep_evidence, plain_name
from twoturn.acts.shop.export_job import export_job
from twoturn.acts.shop.jobs import held_job, start_job
from twoturn.acts.shop.people import Actor, NotAllowed
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.store.faults import NotFound
from twoturn.store.records.vehicles import Vehicle

PLACE = 0x8825


@pytest.fixture
def job_id(workshop: Shop, ida: Actor, car: Vehicle, alder: int) -> int:
    return start_job(workshop, ida, car.id, alder).id


def phone_photo() -> bytes:
    """A photo on its side, with the place where it was taken."""
    picture = Image.new("RGB", (800, 600), "grey")
    exif = picture.getexif()
    exif[0x0112] = 6
    exif.get_ifd(PLACE)[1] = "N"
    exif.get_ifd(PLACE)[2] = (52.0, 30.0, 0.0)
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=exif)
    return out.getvalue()


def test_a_photo_is_upright_and_without_its_place(workshop: Shop, ida: Actor, job_id: int) -> None:
    kept = keep_evidence(workshop, ida, job_id, io.BytesIO(phone_photo()), "../../IMG 0042.JPEG", "photo")
    assert (kept.name, kept.media_type) == ("IMG-0042.jpg", "image/jpeg")
    path = evidence_file(workshop, job_id, kept.name).path
    with Image.open(path) as picture:
        assert picture.size == (600, 800)
        assert not picture.getexif().get_ifd(PLACE)
    assert hashlib.sha256(path.read_bytes()).hexdigest() == kept.sha256
    assert held_job(workshop, job_id).sha256 == {kept.name: kept.sha256}


def test_a_capture_is_kept_as_it_came_and_once(workshop: Shop, ida: Actor, job_id: int) -> None:
    first = keep_evidence(workshop, ida, job_id, io.BytesIO(b"t,a\n0,1\n"), "left.csv", "capture")
    again = keep_evidence(workshop, ida, job_id, io.BytesIO(b"t,a\n0,1\n"), "left.csv", "capture")
    other = keep_evidence(workshop, ida, job_id, io.BytesIO(b"t,a\n0,2\n"), "LEFT.csv", "capture")
    assert first == again
    assert other.name == "LEFT-2.csv"
    assert evidence_file(workshop, job_id, "left.csv").media_type == "text/csv"


def test_what_is_refused(workshop: Shop, ida: Actor, job_id: int) -> None:
    with pytest.raises(TwoTurnError, match="is empty"):
        keep_evidence(workshop, ida, job_id, io.BytesIO(b""), "a.wav", "sound")
    with pytest.raises(TwoTurnError, match="no photo that can be read"):
        keep_evidence(workshop, ida, job_id, io.BytesIO(b"MZ..."), "a.jpg", "photo")
    with pytest.raises(NotAllowed):
        keep_evidence(workshop, Actor(9, "Vera", "viewer"), job_id, io.BytesIO(b"x"), "a.wav", "sound")
    with pytest.raises(NotFound):
        keep_evidence(workshop, ida, 4711, io.BytesIO(b"x"), "a.wav", "sound")
    with pytest.raises(NotFound):
        evidence_file(workshop, job_id, "../../record.sqlite")


def test_a_file_gone_from_the_disk_is_told(workshop: Shop, ida: Actor, job_id: int) -> None:
    kept = keep_evidence(workshop, ida, job_id, io.BytesIO(b"RIFF"), "a.wav", "sound")
    path: Path = evidence_file(workshop, job_id, kept.name).path
    path.unlink()
    with pytest.raises(NotFound, match="not on the disk any more"):
        evidence_file(workshop, job_id, kept.name)


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("..\\..\\evil.exe", "evil.exe"),
        ("a/b/c d e.WAV", "c-d-e.wav"),
        ("\x00\x1f", "sound"),
        (".hidden", "hidden"),
        ("x" * 300 + ".csv", "x" * 68 + ".csv"),
        ("Ölwanne.csv", "lwanne.csv"),
    ],
)
def test_names_are_plain(name: str, plain: str) -> None:
    assert plain_name(name, "sound") == plain


def test_no_file_takes_the_name_of_the_job_file(workshop: Shop, ida: Actor, job_id: int, tmp_path: Path) -> None:
    kept = keep_evidence(workshop, ida, job_id, io.BytesIO(b"t;u\n0;1\n"), "JOB.toml", "capture")
    assert kept.name == "capture-JOB.toml"
    assert export_job(workshop, job_id, tmp_path / "out").files == (kept.name,)
