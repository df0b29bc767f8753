"""Filling readings that are missing: recordings named in a job are read; a reading that is there is never replaced."""

from __future__ import annotations

import difflib
import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from twoturn.acts.job_files import JobFiles
from twoturn.acts.job_folder import Job
from twoturn.capture.cams import Cam
from twoturn.capture.decode import Decoded
from twoturn.capture.shift.compare import regime_of
from twoturn.capture.shift.match import alike_cam
from twoturn.capture.turning.wave import compression_wave
from twoturn.drive.toml_lines import LineMap
from twoturn.errors import Fault, FileFaults, TwoTurnError
from twoturn.job.checks.base import Unread
from twoturn.job.checks.unread import RECORD_AGAIN
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.found import Photo
from twoturn.job.entries.recordings import Capture, CaptureReading, EdgeReading, Pluck, PluckReading, WaveReading
from twoturn.pluck.result import PluckResult
from twoturn.quantity.reading import Reading
from twoturn.quantity.show import show
from twoturn.words.numbers import count_words
from twoturn.words.terms import span_id

READER = "twoturn 1"
MOST_NAME = 60
_ENTER = re.compile(r"[:;] enter\b")
ENTER_IT = "Enter that in this entry of job.toml; the recording itself is good."

Progress = Callable[[float], None]
Read = tuple[PluckReading | CaptureReading | None, str]
"""A reading, None where there is none, and what was read or why nothing."""
Reader = Callable[[Job, Pluck | Capture, Path], Read]


@dataclass(frozen=True)
class Filled:
    """The entries of a job with every missing reading filled in.

    Attributes
    ----------
    entries
        The entries, in order.
    read
        What was read now, by number of the entry, counted from 1.
    warnings
        Sentences: recordings that are not there, files that changed.
    unread
        Why a recording gave no reading, by number of the entry.
    digests
        SHA-256 of every file whose entry holds none, by number of the entry.
    """

    entries: tuple[EntryBase, ...]
    read: dict[int, str]
    warnings: tuple[str, ...]
    unread: dict[int, Unread] = field(default_factory=dict)
    digests: dict[int, str] = field(default_factory=dict)


def read_recording(job: Job, entry: Pluck | Capture, path: Path) -> Read:
    """The reading of an entry from its recording."""
    return _pluck(job, entry, path) if isinstance(entry, Pluck) else _capture(job, entry, path)


def fill_readings(
    job: Job, progress: Progress | None = None, before: Filled | None = None, reader: Reader = read_recording
) -> Filled:  # fmt: skip
    """Read every recording whose entry holds no reading yet.

    Parameters
    ----------
    job
        The job.
    progress
        Called with the share done [-], for long work.
    before
        The same job with fewer entries, filled already: only what came after is read.
    reader
        Reads one recording.

    Raises
    ------
    FileFaults
        A recording's name leads out of the job folder.
    """
    before = before or Filled((), {}, ())
    entries = list(before.entries)
    found = Filled((), dict(before.read), (), dict(before.unread), dict(before.digests))
    warnings = list(before.warnings)
    for index, entry in enumerate(job.file.entries[len(entries) :], len(entries)):
        filled: EntryBase = entry
        if isinstance(entry, Pluck | Capture | Photo):
            digest = _digest(job, index, entry)
            if isinstance(digest, Unread):
                warnings.append(digest.why)
                found.unread[index + 1] = digest
            else:
                if entry.sha256 is None:
                    found.digests[index + 1] = digest
                if isinstance(entry, Pluck | Capture) and entry.reading is None:
                    filled, words = _read(job, index, entry, digest, reader)
                    found.read[index + 1] = words
                    if filled is entry:
                        found.unread[index + 1] = Unread(words, ENTER_IT if _ENTER.search(words) else RECORD_AGAIN)
        entries.append(filled)
        if progress is not None:
            progress((index + 1) / len(job.file.entries))
    return replace(found, entries=tuple(entries), warnings=tuple(warnings))


def _digest(job: Job, index: int, entry: Pluck | Capture | Photo) -> str | Unread:
    """SHA-256 of an entry's file, or why it cannot be read."""
    if not job.files.may_name(entry.file):
        line = LineMap(job.file.text).line(("entry", index, "file"))
        expected = "the name of a file in the job folder"
        raise FileFaults([Fault(job.file.name, line, f"entry[{index + 1}].file", f'"{entry.file}"', expected)])
    path = job.find(entry.file)
    if path is None:
        near = _near(job.files, entry.file)
        there = f"; {near} is there" if near else ""
        why = f"Entry {index + 1}: {entry.file} is not in {job.files.where}{there}."
        return Unread(why, f"Put the file into {job.files.where}, or correct its name in the entry.")
    try:
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        return Unread(f"Entry {index + 1}: {entry.file} cannot be read ({reason}).", "Make the file readable.")
    if entry.sha256 is not None and entry.sha256 != digest:
        why = f"Entry {index + 1}: {entry.file} is not the file that was entered (its SHA-256 differs)."
        return Unread(why, "Put the file back that was entered, or correct the entry.")
    return digest


def _near(files: JobFiles, name: str) -> str:
    """The file of a job whose name comes nearest to ``name``, or the only one of its kind; else empty."""
    names = files.names()
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.7)
    alike = near or [other for other in names if Path(other).suffix.lower() == Path(name).suffix.lower()]
    return alike[0] if len(alike) == 1 else ""


def _read(job: Job, index: int, entry: Pluck | Capture, digest: str, reader: Reader) -> tuple[EntryBase, str]:
    path = job.find(entry.file)
    assert path is not None  # noqa: S101 - told by the caller
    try:
        reading, words = reader(job, entry, path)
    except TwoTurnError as error:
        named = "" if entry.file in error.sentence else f"{entry.file}: "
        return entry, f"Entry {index + 1}: {named}{error.sentence}"
    if reading is None:
        return entry, f"Entry {index + 1}: {words}"
    update = {"reading": reading, "sha256": digest, "reader": READER}
    return entry.model_copy(update=update), f"Entry {index + 1}: {words}"


def _pluck(job: Job, entry: Pluck, path: Path) -> tuple[PluckReading | None, str]:
    from twoturn.acts.pluck_file import sound_of
    from twoturn.pluck.read import read_pluck

    sound = sound_of(path)
    return pluck_reading(job, entry, read_pluck(sound), sound.notes)


def pluck_reading(
    job: Job, entry: Pluck, result: PluckResult, notes: tuple[str, ...]
) -> tuple[PluckReading | None, str]:
    """The reading of an entry from what was heard.

    Parameters
    ----------
    job, entry
        The job, and its entry.
    result, notes
        What was heard, and sentences on the file itself.

    Returns
    -------
    tuple
        The reading, None where there is none, and what was read or why nothing.
    """
    from twoturn.pluck.doubts import other_words

    if result.frequency is None:
        return None, "; ".join([f"{entry.file}: {result.why}", *notes]) + "."
    if result.contested:
        return None, f"{entry.file}: {other_words(result.other_notes, len(result.agreeing))}."
    note = result.frequency
    tension, aside, doubts = _tension(job, entry, result)
    reading = PluckReading(
        frequency_hz=note.value,
        u_hz=note.u,
        dof=_dof(note),
        tension_n=None if tension is None else tension.value,
        u_n=None if tension is None else tension.u,
        tension_dof=None if tension is None else _dof(tension),
        plucks=max(1, len(result.agreeing)),
        doubts=tuple(dict.fromkeys((*result.doubts, *doubts))),
    )
    told = f"{entry.file}: {show(note)}" + (f", {show(tension)}" if tension is not None else "")
    return reading, "; ".join([told, *([aside] if aside else []), *notes])


def _dof(reading: Reading) -> float | None:
    return reading.dof if reading.dof < 1e6 else None


def _tension(job: Job, entry: Pluck, result: PluckResult) -> tuple[Reading | None, str, tuple[str, ...]]:
    """The tension behind a note [N], None where drive or span do not tell it, what to know of it, and doubts."""
    from twoturn.mechanics.belt import belt_at_rest
    from twoturn.mechanics.setting.closing import DOUBT
    from twoturn.pluck.of_drive import MEASURED, expected_notes, length_doubts, span_doubts, span_names, span_of
    from twoturn.pluck.tension import tension_of

    if entry.span is None or result.frequency is None or (job.drive.is_list and entry.length_mm is None):
        return None, "", ()
    name = span_id(entry.span)
    try:
        belts = tuple(belt_at_rest(job.drive, belt) for belt in job.drive.belts)
        mine = [rest for rest in belts if {name, ":".join(reversed(name.split(":")))} & set(span_names(rest.belt))]
        if entry.length_mm is None and any(why.startswith(DOUBT) for rest in mine for why in rest.why):
            return None, f"no newtons, because the drive file contradicts itself: mend it, or {MEASURED}", ()
        doubts = span_doubts(result.frequency, name, expected_notes(job.drive, belts))
        found = tension_of(result.frequency, span_of(belts, name, entry.length_mm), result.second_ratio)
        if found.tension is not None:
            doubts += (*length_doubts(belts, name, entry.length_mm), *found.doubts)
        return found.tension, "", doubts
    except TwoTurnError:
        return None, "", ()


def _capture(job: Job, entry: Capture, path: Path) -> tuple[CaptureReading | None, str]:
    from twoturn.acts.capture_request import decode_entry

    return capture_reading(job, entry, decode_entry(path, entry, job.drive))


def capture_reading(job: Job, entry: Capture, decoded: Decoded) -> tuple[CaptureReading | None, str]:
    """The reading of an entry from a decoded sensor recording, None where there is none, and what was read or why not.

    Parameters
    ----------
    job, entry, decoded
        The job, its entry, and the recording as :func:`~twoturn.acts.capture_request.decode_entry` gives it.
    """
    from twoturn.acts.capture_edges import is_bare
    from twoturn.capture.formats.channels import is_idle

    if decoded.crank is None or not decoded.cams:
        why = decoded.why[0] if decoded.why else "no cam edges were found"
        return None, f"{entry.file}: {why}."
    if lacking := _edge_words(job, decoded):
        return None, f"{lacking[:1].upper()}{lacking[1:]}."
    edges: list[EdgeReading] = []
    named = _named(job, entry, decoded.cams)
    for shaft, cam in named.items():
        edges.extend(
            EdgeReading(shaft=shaft, edge=edge.edge, angle_deg=edge.angle_deg, u_deg=edge.u)  # type: ignore[arg-type]
            for edge in cam.edges
            if edge.edge in ("rising", "falling")
        )
    if not edges:
        return None, f"{entry.file}: {_untold(job, decoded.cams)}"
    rpm = None if decoded.rpm is None else decoded.rpm[1]
    wheel = decoded.crank.wheel
    reading = CaptureReading(
        edges=tuple(edges),
        rpm=rpm,
        zeros=decoded.crank.zeros,
        wheel=wheel.text[:MOST_NAME],
        place_deg=360.0 / wheel.places * wheel.normal_step,
        wave=_wave(job, decoded),
        bare=all(is_bare(cam) for cam in named.values()) or None,
        doubts=tuple(doubt for doubt in decoded.doubts if not is_idle(doubt)),
    )
    return reading, "; ".join([f"{entry.file}: {count_words(len(edges), 'cam edge')}", *reading.doubts])


def _edge_words(job: Job, decoded: Decoded) -> str:
    """Why bare edge times cannot be judged, and what to enter; empty where their edges are told."""
    from twoturn.acts.capture_edges import bare_words, maker_edge, other_edge_words

    if bare := bare_words(decoded):
        return f'{bare}: enter edge = "falling" or edge = "rising" in this entry'
    crank = decoded.crank
    if crank is None or crank.sensor != "edge times" or not job.drive.file.timing.cam_edges:
        return ""
    other = other_edge_words(decoded, maker_edge(job.drive, decoded))
    return f"{other}; state crank_edge in the drive file if it counts from these" if other else ""


def _wave(job: Job, decoded: Decoded) -> WaveReading | None:
    """The compression wave of a recording made with the starter; None where there is none."""
    if decoded.angle is None or not regime_of(decoded).cranked:
        return None
    wave = compression_wave(decoded.angle, job.drive.file.engine.cylinders)
    if wave is None:
        return None
    return WaveReading(per_cycle=wave.per_cycle, slowest_deg=wave.slowest_deg, u_deg=wave.u)


def _untold(job: Job, cams: tuple[Cam, ...]) -> str:
    """Which camshafts have no channel, and how to say which channel is theirs."""
    shaft = next((shaft.id for shaft in job.drive.shafts if shaft.role == "camshaft"), "camshaft")
    there = ", ".join(f'"{cam.channel}"' for cam in cams)
    key = shaft if re.fullmatch(r"[A-Za-z0-9_-]+", shaft) else f'"{shaft}"'
    example = f'cams = {{ {key} = "{cams[0].channel}" }}'
    return f"which channel is which camshaft is not told. Cam edges are on {there}; enter, say, {example}."


def _named(job: Job, entry: Capture, cams: tuple[Cam, ...]) -> dict[str, Cam]:
    """Cam channels by shaft: as the entry says, else by like names, else the only one."""
    by_channel = {cam.channel: cam for cam in cams}
    if entry.cams:
        return {shaft: by_channel[name] for shaft, name in entry.cams.items() if name in by_channel}
    shafts = [shaft.id for shaft in job.drive.shafts if shaft.role == "camshaft"]
    found = {shaft: cam for shaft in shafts for cam in cams if alike_cam(shaft, cam.channel)}
    if not found and len(shafts) == 1 and len(cams) == 1:
        return {shafts[0]: cams[0]}
    return found
