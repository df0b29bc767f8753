"""A recording analysed before it is entered: reading, doubts, picture, and what it would do to the verdicts.

:func:`recording_for` gathers what is needed from the record; :func:`analyse` works with that alone, in a process of its
own, without the record; what a person accepts is the entry that it gives back.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from twoturn.acts.fill_readings import READER, Filled, fill_readings
from twoturn.acts.job_files import KeptFiles
from twoturn.acts.job_folder import Job
from twoturn.acts.prove import judge
from twoturn.acts.shop.entries import understand
from twoturn.acts.shop.evidence import MOST_BYTES as LARGEST
from twoturn.acts.shop.jobs import HeldJob
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.recorded import Recorded
from twoturn.acts.shop.recording_says import Drawn, Lacking, Said, of_sensors, of_sound
from twoturn.acts.shop.recording_verdicts import Preview, previews
from twoturn.acts.shop.shop import Shop
from twoturn.acts.time_limit import MOST_S, no_longer_than
from twoturn.drive.parts import Drive
from twoturn.errors import RecordingError, TwoTurnError
from twoturn.job.entries.recordings import Capture, CaptureReading, Pluck, PluckReading
from twoturn.job.rows import job_of_rows
from twoturn.store.faults import NotFound
from twoturn.store.files import path_of

KINDS = ("pluck", "capture")
MOST_BYTES = {"pluck": LARGEST["sound"], "capture": LARGEST["capture"]}
"""The largest recording of each kind that is analysed [bytes]."""
_TOLD_EVERY_S = 0.1


@dataclass(frozen=True)
class Recording:
    """All that an analysis needs; it travels to a process of its own.

    Attributes
    ----------
    job
        What faults are said to be of.
    drive
        The job's drive.
    rows
        The job's entries so far.
    files
        The job's files by name: SHA-256 and where it is.
    row
        The entry as it would be, without a reading; it says by whom and when.
    recorded
        What the browser did to the sound; None where no page recorded it.
    """

    job: str
    drive: Drive
    rows: tuple[Mapping[str, Any], ...]
    files: Mapping[str, tuple[str, Path]]
    row: Mapping[str, Any]
    recorded: Recorded | None = None


@dataclass(frozen=True)
class Analysed:
    """What an analysis answers.

    Attributes
    ----------
    kind, file
        Kind of the entry, and the name of its file.
    said
        What was read, what is to be expected, doubts and pictures.
    checks
        What the checks would say with this entry.
    value_only
        What would be printed as a value that proves nothing.
    row
        The entry to add when it is accepted; None where there is no reading.
    refused
        Why there is no reading, one sentence; empty where there is one.
    lacking
        What a person may tell so that the recording can be read; None where nothing is lacking.
    seconds
        How long it took [s].
    """

    kind: str
    file: str
    said: Said = field(default_factory=Said)
    checks: tuple[Preview, ...] = ()
    value_only: tuple[str, ...] = ()
    row: Mapping[str, Any] | None = None
    refused: str = ""
    lacking: Lacking | None = None
    seconds: float = 0.0

    @property
    def pictures(self) -> tuple[Drawn, ...]:
        """All pictures: of the recording, and of the checks."""
        return (*self.said.pictures, *(check.picture for check in self.checks if check.picture is not None))

    def as_json(self) -> dict[str, Any]:
        """Everything but the pictures."""
        return {
            "kind": self.kind,
            "file": self.file,
            "read": list(self.said.words),
            "expected": list(self.said.expected),
            "doubts": list(self.said.doubts),
            "checks": [check.as_json() for check in self.checks],
            "value_only": list(self.value_only),
            "pictures": [picture.title for picture in self.pictures],
            "entry": None if self.row is None else dict(self.row),
            "refused": self.refused or None,
        }


def recording_for(
    shop: Shop, actor: Actor, held: HeldJob, row: Mapping[str, Any], recorded: Recorded | None = None
) -> Recording:
    """What an analysis needs, gathered from the record.

    Parameters
    ----------
    shop, actor
        The record, and who would stand for the entry.
    held
        The job.
    row
        The entry without reading: ``kind`` ("pluck" or "capture"), ``file`` (of the job), and what else is known.
    recorded
        What the browser did to the sound, where a page recorded it.

    Raises
    ------
    NotFound
        The job has no such file.
    FileFaults
        The entry could not be added: a span that the drive does not have, a number that cannot be.
    """
    allow(actor, "enter")
    if row.get("kind") not in KINDS:
        raise TwoTurnError(f'"{row.get("kind")}" is no recording', allowed=" or ".join(KINDS))
    name = str(row.get("file", ""))
    if name not in held.sha256:
        raise NotFound(f'job {held.row.number} has no file "{name[:80]}"', next_step="send the recording first")
    whole = {**row, "by": actor.name, "entered": shop.local_text(), "sha256": held.sha256[name]}
    if recorded is not None:
        whole["note"] = " ".join(part for part in (whole.get("note", ""), recorded.words) if part)
    understand(held, [whole])
    files = {one: (digest, path_of(shop.place, digest)) for one, digest in held.sha256.items()}
    return Recording(f"job {held.row.number}", held.drive, tuple(held.file.raw), files, whole, recorded)


def analyse(recording: Recording, share_file: str | None = None) -> Analysed:
    """Analyse a recording; meant for a worker process, and never called while the record is written.

    Parameters
    ----------
    recording
        As :func:`recording_for` gives it.
    share_file
        Where the share done [-] is written from time to time; None for nowhere.

    Returns
    -------
    Analysed
        What was read; where nothing can be, one sentence that says why.
    """
    began = time.monotonic()
    kind, file = str(recording.row["kind"]), str(recording.row["file"])
    tell = _teller(share_file)
    try:
        with no_longer_than(MOST_S, f"the analysis of {file}", "cut out the part that matters and send that"):
            found = _analysed(recording, tell)
    except TwoTurnError as error:
        found = Analysed(kind, file, refused=_told(error, file))
    except MemoryError:
        found = Analysed(kind, file, refused=f"{file} needs more memory than there is: cut out the part that matters.")
    return replace(found, seconds=time.monotonic() - began)


def _analysed(recording: Recording, tell: Callable[[float], None]) -> Analysed:
    paths = dict(recording.files.values())
    names = {name: digest for name, (digest, _) in recording.files.items()}
    kind, name = str(recording.row["kind"]), str(recording.row["file"])
    with KeptFiles(names, lambda digest: paths[digest]) as files:
        before = Job(files, job_of_rows(recording.rows, recording.job, recording.drive.name), recording.drive)
        job = replace(before, file=job_of_rows([recording.row], recording.job, "", before=before.file))
        entry, path = job.file.entries[-1], files.find(name)
        if path is None:
            raise RecordingError(f"{name} is not on the disk any more", next_step="send it again")
        _check_size(kind, path, name)
        reading: PluckReading | CaptureReading | None
        if isinstance(entry, Pluck):
            said, reading, lacking = of_sound(job, entry, path, lambda share: tell(0.9 * share))
        else:
            assert isinstance(entry, Capture)  # noqa: S101 - one of KINDS
            said, reading, lacking = of_sensors(job, entry, path, tell)
        if reading is None:
            return Analysed(kind, name, said, refused=said.refused, lacking=lacking)
        doubts = recording.recorded.doubts if recording.recorded is not None else ()
        said = replace(said, doubts=(*said.doubts, *doubts))
        plain = reading.model_dump(mode="json", exclude_none=True) | {"doubts": list(said.doubts)}
        row = {**recording.row, "reading": plain, "reader": READER}
        checks, values = _judged(before, replace(job, file=job_of_rows([row], recording.job, "", before=before.file)))
        tell(1.0)
        offered = {key: value for key, value in row.items() if key not in ("by", "entered")}
        return Analysed(kind, name, said, checks, values, offered, lacking=lacking)


def _judged(before: Job, after: Job) -> tuple[tuple[Preview, ...], tuple[str, ...]]:
    """What the checks say with the new entry, and the values of it that prove nothing."""
    filled: Filled = fill_readings(before)
    old = judge(before, filled).assessment
    new = judge(after, fill_readings(after, before=filled)).assessment
    number = len(after.file.entries)
    values = tuple(f"{one.title}: {one.reading}" for one in new.value_only if one.entry == number)
    return previews(old, new, number), values


def _told(error: TwoTurnError, file: str) -> str:
    """The sentence of an error, in the words of a page; the name of a file stays as it is written."""
    if "twoturn capture" in error.next_step:
        error = RecordingError(error.message, next_step="analyse it as a sensor recording")
    sentence = error.sentence
    return sentence if sentence.startswith(file) else f"{sentence[:1].upper()}{sentence[1:]}"


def _check_size(kind: str, path: Path, name: str) -> None:
    size, most = path.stat().st_size, MOST_BYTES[kind]
    if size > most:
        raise RecordingError(
            f"{name} is too large to analyse ({size / 1e6:.0f} MB)",
            allowed=f"at most {most / 1e6:.0f} MB",
            next_step="cut out the part that matters and send that",
        )


def _teller(share_file: str | None) -> Callable[[float], None]:
    """Writes the share done, not too often."""
    last = [-1.0]

    def tell(share: float) -> None:
        now = time.monotonic()
        if share_file is not None and (share >= 1 or now - last[0] >= _TOLD_EVERY_S):
            last[0] = now
            with suppress(OSError):
                Path(share_file).write_text(f"{share:.3f}", encoding="ascii")

    return tell
