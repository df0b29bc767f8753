"""The act of writing a proof sheet: pictures of the drive and of the recordings, then the PDF."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from twoturn.acts.capture import tdc_of
from twoturn.acts.capture_picture import capture_picture, for_job
from twoturn.acts.capture_request import decode_entry
from twoturn.acts.capture_turning import evenness_of, firing_of
from twoturn.acts.fill_readings import Filled
from twoturn.acts.job_folder import Job
from twoturn.acts.plan import vehicle_of
from twoturn.acts.recording_words import allowed_note, sensor_words
from twoturn.drive.parts import Drive
from twoturn.errors import TwoTurnError
from twoturn.job.asked.no_entry import steps_with_no_entry
from twoturn.job.assess import Assessment
from twoturn.job.chain import Checkpoint
from twoturn.job.checks.base import Check, sentence
from twoturn.job.entries.recordings import Capture, Pluck
from twoturn.job.put_right import put_right
from twoturn.mechanics.belt import belt_at_rest
from twoturn.picture.band import band_svg
from twoturn.picture.drawing import DrawOptions, drive_svg
from twoturn.picture.plots import Partial, spectrum_svg
from twoturn.plan import Plan, make_plan
from twoturn.pluck.read import read_pluck
from twoturn.quantity.show import show
from twoturn.recording.sound import load_sound
from twoturn.report.proof_pdf import Picture, ProofRecord, proof_pdf


def proof_sheet(
    job: Job,
    filled: Filled,
    assessment: Assessment,
    checkpoint: Checkpoint,
    moment: datetime | None = None,
    told: tuple[tuple[str, str], ...] = (),
    *,
    plan: Plan | None = None,
) -> bytes:
    """The proof sheet of a job that was judged, as a PDF.

    Parameters
    ----------
    job, filled, assessment, checkpoint
        The job, its entries with readings filled in, what they prove, and the record number.
    moment
        The time the sheet carries; now when None.
    told
        What stands beside the record: pairs of name and value, such as the workshop's.
    plan
        The plan of the job; made of its drive and entries when None.
    """
    undrawn: list[str] = []
    plan = plan or _plan(job, undrawn)
    no_entry = () if plan is None else steps_with_no_entry(job.drive, plan, filled.entries)
    drawings, plots = _drawings(job.drive, undrawn), _recordings(job, filled, undrawn)
    record = ProofRecord(
        drive=job.drive,
        assessment=assessment,
        checkpoint=checkpoint,
        entries=filled.entries,
        said=(*filled.read.values(), *filled.warnings, *undrawn),
        drawings=drawings,
        plots=(*plots, *_bands(assessment.checks)),
        told=told,
        put_right=tuple(one.words for one in put_right(job.drive, filled.entries, assessment, filled.unread)),
        no_entry=tuple(step.title for step in no_entry),
        steps={} if plan is None else {step.id: step.title for step in plan.steps},
    )
    return proof_pdf(record, moment or datetime.now(UTC))


def _plan(job: Job, undrawn: list[str]) -> Plan | None:
    """The plan by the entries alone; None, and why, where the drive file's own steps do not fit in."""
    try:
        return make_plan(job.drive, vehicle_of(job.file))
    except TwoTurnError as error:
        undrawn.append(f"The steps of the plan are not looked through: {error.sentence}")
        return None


def _drawings(drive: Drive, undrawn: list[str]) -> tuple[Picture, ...]:
    """A drawing of each belt; where a drive cannot be drawn, why: the proof needs no drawing."""
    try:
        belts = tuple(belt_at_rest(drive, belt) for belt in drive.belts)
        return tuple(
            Picture(
                title="The belt drive" if len(belts) == 1 else f"The belt drive: {rest.belt.id}",
                alt=f"Belt {rest.belt.id} of {drive.name}, seen facing the belt end: wheels, belt and marks.",
                svg=drive_svg(drive, belts, DrawOptions(belt=rest.belt.id)),
            )
            for rest in belts
        )
    except TwoTurnError as error:
        undrawn.append(f"The belt drive is not drawn: {error.sentence}")
        return ()


def _recordings(job: Job, filled: Filled, undrawn: list[str]) -> tuple[Picture, ...]:
    """A plot of each recording that is there and can be read; of the others, why there is none."""
    found: list[Picture] = []
    for number, entry in enumerate(filled.entries, 1):
        if not isinstance(entry, Pluck | Capture):
            continue
        path = job.find(entry.file)
        if path is None:
            continue
        try:
            found += (
                _pluck(number, entry, path, job) if isinstance(entry, Pluck) else _capture(number, entry, path, job)
            )
        except TwoTurnError as error:
            undrawn.append(f"Entry {number}: {entry.file} is not drawn: {error.sentence}")
    return tuple(found)


def _pluck(number: int, entry: Pluck, path: Path, job: Job) -> list[Picture]:
    result = read_pluck(load_sound(path))
    if result.spectrum is None:
        return []
    partials = [Partial(hertz, f"partial {n}") for n, hertz in result.spectrum.partials]
    where = f", span {entry.span}" if entry.span else ""
    title = f"Note of the plucked span{_when(entry)} (entry {number}{where})"
    words = [f"{len(result.agreeing)} plucks agree."] if len(result.agreeing) > 1 else []
    if result.frequency is not None:
        words.insert(0, f"First partial {show(result.frequency, confidence=True)}.")
    alt = f"Spectrum of {entry.file}. " + " ".join(words)
    allowed = allowed_note(entry, job.drive)
    svg = spectrum_svg(result.spectrum.hertz, result.spectrum.level_db, partials, "", allowed=allowed)
    doubts = entry.reading.doubts if entry.reading is not None else result.doubts
    return [Picture(title, alt, svg, (*words, *(f"Doubt: {sentence(doubt)}" for doubt in doubts)))]


def _when(entry: Pluck | Capture) -> str:
    """That a recording was made before the work; empty for one after it."""
    return ", as found, before the work" if entry.as_found else ""


def _capture(number: int, entry: Capture, path: Path, job: Job) -> list[Picture]:
    decoded = decode_entry(path, entry, job.drive)
    if not decoded.cams:
        return []
    decoded, comparison = for_job(decoded, entry, job)
    tdc = tdc_of(job.drive, comparison)
    cylinders = evenness_of(decoded, tdc, job.drive)
    when = "as found: " if entry.as_found else ""
    svg = capture_picture(decoded, comparison, tdc, cylinders, firing_of(tdc, job.drive), when=when)
    title = f"Sensor recording{_when(entry)} (entry {number}): cam edges over two crank turns"
    words = sensor_words(decoded, cylinders)
    words += [f"Doubt: {sentence(doubt)}" for doubt in (entry.reading.doubts if entry.reading else decoded.doubts)]
    return [Picture(title, f"Cam edges of {entry.file} on a strip over two crank turns.", svg, tuple(words), wide=True)]


def _bands(checks: Sequence[Check]) -> list[Picture]:
    """A band for every number that was measured against numbers."""
    found = []
    for check in checks:
        if check.value is None or check.limits is None or check.method != "measured":
            continue
        limits = (check.limits.low, check.limits.high)
        svg = band_svg((check.value.value, check.value.expanded), limits, check.limits.unit, check.verdict.value)
        found.append(Picture(check.title, f"{check.title}: {check.reading}, required {check.requirement}.", svg))
    return found
