"""A recording analysed before it is entered: reading, picture, and what it would do to the verdicts.

Truth comes from the generators of :mod:`tests.recording.made`; requirement and angles are those of the drive file.
"""

from __future__ import annotations

import io
import pickle
import signal
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar
from xml.etree import ElementTree

import pytest
from tests.recording.made import TOOTH_DEG, plucked_wav, sensors_csv

from twoturn.acts.fill_readings import fill_readings
from twoturn.acts.prove import judge
from twoturn.acts.shop import recordings
from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.evidence import EvidenceKind, keep_evidence
from twoturn.acts.shop.jobs import held_job, start_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.recorded import recorded_of
from twoturn.acts.shop.recordings import Analysed, analyse, recording_for
from twoturn.acts.shop.shop import Shop
from twoturn.acts.time_limit import no_longer_than
from twoturn.errors import TwoTurnError
from twoturn.store.faults import NotFound
from twoturn.store.records.vehicles import Vehicle

T = TypeVar("T")
NOTE = "note-of-the-slack-span"
PHASE = "phase-camshaft"
SPAN = {"kind": "pluck", "span": "roller:camshaft", "done": "prove-setting"}
BEFORE: tuple[dict[str, Any], ...] = (
    {"kind": "belt fitted", "teeth": 109, "arrow": "with travel"},
    {"kind": "temperature", "temperature_c": 20},
    {"kind": "turned", "turns": 2},
)


def travelled(value: T) -> T:
    """As it comes out of another process."""
    there: T = pickle.loads(pickle.dumps(value))  # noqa: S301 - our own
    return there


@pytest.fixture
def job_id(workshop: Shop, ida: Actor, car: Vehicle, alder: int) -> int:
    """A job whose belt is on and turned."""
    found = start_job(workshop, ida, car.id, alder).id
    add_entries(workshop, ida, found, BEFORE, "before")
    return found


@pytest.fixture
def analysed(workshop: Shop, ida: Actor, job_id: int) -> Any:
    """Keep a file, and analyse it for an entry; everything travels as to another process."""

    def made(content: bytes, name: str, row: dict[str, Any], settings: dict[str, Any] | None = None) -> Analysed:
        kind: EvidenceKind = "capture" if row["kind"] == "capture" else "sound"
        kept = keep_evidence(workshop, ida, job_id, io.BytesIO(content), name, kind)
        recorded = None if settings is None else recorded_of(settings)
        asked = recording_for(workshop, ida, held_job(workshop, job_id), {**row, "file": kept.name}, recorded)
        return travelled(analyse(travelled(asked)))

    return made


def test_a_plucked_span_is_read_held_against_its_limits_and_drawn(analysed: Any) -> None:
    found = analysed(plucked_wav(144.3), "note.wav", SPAN)
    assert found.refused == ""
    assert found.row["reading"]["frequency_hz"] == pytest.approx(144.3, rel=0.003)
    assert found.said.words[0].startswith("Note: 144")
    assert "(19 of 20 times), from 5 plucks" in found.said.words[0]
    assert "not what is required" in found.said.expected[0]
    (check,) = [check for check in found.checks if check.id == NOTE]
    assert (check.before, check.verdict) == ("not shown", "proven")
    assert "inside" in check.picture.alt
    for drawn in (*found.said.pictures, check.picture):
        for svg in (drawn.svg, drawn.narrow):
            assert ElementTree.fromstring(svg).tag.endswith("svg")  # noqa: S314 - our own


def test_what_is_accepted_is_the_entry_and_gives_the_verdict_shown_before(
    analysed: Any, workshop: Shop, ida: Actor, job_id: int
) -> None:
    found = analysed(plucked_wav(144.3), "note.wav", SPAN)
    add_entries(workshop, ida, job_id, [found.row], "accepted")
    held = held_job(workshop, job_id)
    job, files = held.lent(workshop)
    with files:
        proof = judge(job, fill_readings(job))
    assert proof.assessment.check(NOTE).verdict == "proven"
    assert proof.filled.read == {}, "the reading is in the entry: the file is not read again"
    assert held.file.raw[-1]["sha256"] == held.sha256["note.wav"]


def test_a_slack_span_would_not_be_met(analysed: Any) -> None:
    found = analysed(plucked_wav(120.0), "slack.wav", SPAN)
    (check,) = [check for check in found.checks if check.id == NOTE]
    assert check.verdict == "not met"
    assert "outside" in check.picture.alt


def test_a_cam_a_tooth_late_is_seen_before_it_is_entered(analysed: Any) -> None:
    row = {"kind": "capture", "done": "crank-injection-off", "regime": {"cranking": True}}
    right = analysed(sensors_csv(0.3), "right.csv", row)
    late = analysed(sensors_csv(TOOTH_DEG), "late.csv", row)
    assert {check.verdict for check in right.checks if check.id == PHASE} == {"proven"}
    (phase,) = [check for check in late.checks if check.id == PHASE]
    assert phase.verdict == "not met"
    assert "late" in phase.reading
    assert late.row["reading"]["wheel"] == "60-2"
    assert late.lacking.channels == ("crank", "camshaft")
    assert late.lacking.crank == "crank"


def test_a_channel_that_nobody_named_is_asked_for_and_told(analysed: Any, workshop: Shop) -> None:
    two = sensors_csv().decode().splitlines()
    two = [line + ("," + line.split(",")[-1]) for line in two]
    two[0] = "Time [s],crank,CH2,CH3"
    content = "\n".join(two).encode()
    row = {"kind": "capture", "regime": {"cranking": True}}
    asked = analysed(content, "two.csv", row)
    assert asked.row is None
    assert "Which channel is which camshaft" in asked.refused
    assert asked.lacking.shafts == ("camshaft",)
    told = analysed(content, "two.csv", {**row, "cams": {"camshaft": "CH2"}})
    assert told.row is not None
    assert told.row["cams"] == {"camshaft": "CH2"}


@pytest.mark.parametrize(
    ("content", "name", "told"),
    [
        (b"not a sound\n", "note.wav", "is text, not a sound"),
        (plucked_wav()[:50], "cut.wav", "cut.wav"),
        (sensors_csv(), "left.csv", "a table of numbers, not a sound; analyse it as a sensor recording."),
        (b"\x00" * 5000, "zeros.m4a", "zeros.m4a"),
        (plucked_wav(plucks=1)[:20000], "silence.wav", "pluck the span"),
    ],
    ids=("text", "cut", "table", "zeros", "silence"),
)
def test_what_cannot_be_read_is_told_in_one_sentence(content: bytes, name: str, told: str, analysed: Any) -> None:
    found = analysed(content, name, SPAN)
    assert found.row is None
    assert told in found.refused
    assert found.refused.endswith(".")
    assert "Traceback" not in found.refused


def test_a_recording_that_is_too_large_is_not_looked_at(analysed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(recordings.MOST_BYTES, "pluck", 1000)
    assert "too large" in analysed(plucked_wav(), "note.wav", SPAN).refused


def test_an_analysis_that_takes_too_long_is_ended(analysed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(recordings, "MOST_S", 0.02)
    assert "took longer than 0.02 s" in analysed(plucked_wav(), "note.wav", SPAN).refused
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


def test_an_analysis_that_needs_too_much_memory_is_told(analysed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr(recordings, "of_sound", full)
    assert "note.wav needs more memory" in analysed(plucked_wav(), "note.wav", SPAN).refused


def test_the_end_of_a_block_is_told_with_what_to_do() -> None:
    def for_ever() -> None:
        with no_longer_than(0.05, "it", "cut it"):
            while True:
                pass

    with pytest.raises(TwoTurnError, match=r"it took longer than 0\.05 s; cut it"):
        for_ever()


def test_what_the_browser_did_stands_in_the_entry_and_unknown_stays_unknown(analysed: Any) -> None:
    off = {"echoCancellation": False, "noiseSuppression": False, "autoGainControl": False, "sampleRate": 48000}
    clean = analysed(plucked_wav(), "note.wav", SPAN, off)
    assert "echo cancelling off" in clean.row["note"]
    assert "48000 samples a second" in clean.row["note"]
    assert clean.said.doubts == ()
    altered = analysed(plucked_wav(), "note.wav", SPAN, {"echoCancellation": True, "autoGainControl": "unknown"})
    assert "echo cancelling on, noise suppression unknown, gain control unknown" in altered.row["note"]
    assert any("echo cancelling was on" in doubt for doubt in altered.row["reading"]["doubts"])
    assert any("may have been on" in doubt for doubt in altered.row["reading"]["doubts"])


@pytest.mark.parametrize("rate", [True, "48000", float("nan"), 0, -1, 1e12, None, [1]])
def test_a_rate_that_is_none_stays_unknown(rate: object) -> None:
    assert recorded_of({"sampleRate": rate}).rate_hz is None
    assert "samples a second unknown" in recorded_of({"sampleRate": rate}).words


def test_progress_is_written_while_it_goes_on(workshop: Shop, ida: Actor, job_id: int, tmp_path: Path) -> None:
    kept = keep_evidence(workshop, ida, job_id, io.BytesIO(plucked_wav()), "note.wav", "sound")
    asked = recording_for(workshop, ida, held_job(workshop, job_id), {**SPAN, "file": kept.name})
    analyse(asked, str(tmp_path / "share"))
    assert float((tmp_path / "share").read_text()) == 1.0
    assert analyse(asked, str(tmp_path / "nowhere" / "share")).refused == "", "a share that cannot be told is no fault"


def test_what_cannot_be_asked_is_refused_before_anything_is_read(workshop: Shop, ida: Actor, job_id: int) -> None:
    held = held_job(workshop, job_id)
    with pytest.raises(NotFound, match=r"has no file .*passwd"):
        recording_for(workshop, ida, held, {**SPAN, "file": "../../etc/passwd"})
    keep_evidence(workshop, ida, job_id, io.BytesIO(plucked_wav()), "note.wav", "sound")
    held = held_job(workshop, job_id)
    with pytest.raises(TwoTurnError, match="span"):
        recording_for(workshop, ida, held, {"kind": "pluck", "span": "moon:sun", "file": "note.wav"})
    with pytest.raises(TwoTurnError, match="no recording"):
        recording_for(workshop, ida, held, {"kind": "remark", "file": "note.wav"})


def test_a_file_that_left_the_disk_is_told(workshop: Shop, ida: Actor, job_id: int) -> None:
    keep_evidence(workshop, ida, job_id, io.BytesIO(plucked_wav()), "note.wav", "sound")
    asked = recording_for(workshop, ida, held_job(workshop, job_id), {**SPAN, "file": "note.wav"})
    gone = {name: (digest, Path("nowhere")) for name, (digest, _) in asked.files.items()}
    assert "not on the disk any more" in analyse(replace(asked, files=gone)).refused
