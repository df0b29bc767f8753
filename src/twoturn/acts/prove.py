"""The act of proving: read a job, fill in readings that are missing, judge it, and write its proof sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from twoturn.acts.fill_readings import Filled, Progress, fill_readings
from twoturn.acts.job_folder import Job, load_job
from twoturn.acts.outputs import check_output, write_output
from twoturn.job.assess import Assessment, assess
from twoturn.job.chain import Checkpoint, checkpoint
from twoturn.job.rounds import forgotten_rounds


@dataclass(frozen=True)
class Proof:
    """A job judged.

    Attributes
    ----------
    job
        The job.
    filled
        Its entries with missing readings filled in.
    assessment
        What they prove.
    checkpoint
        The record number: number of entries and last hash.
    proof_sheet
        Path of the proof sheet that was written; None where none was asked for.
    """

    job: Job
    filled: Filled
    assessment: Assessment
    checkpoint: Checkpoint
    proof_sheet: Path | None = None

    def as_json(self) -> dict[str, Any]:
        """The answer with the keys of ``twoturn prove --json``."""
        found = self.assessment
        return {
            "verdict": found.verdict.value,
            "checks": [check.as_json() for check in found.checks],
            "not_shown": list(found.not_shown),
            "not_met": list(found.not_met),
            "value_only": [value.as_json() for value in found.value_only],
            "overrides": [override.as_json() for override in found.overrides],
            "left_out": [{"entry": one.entry, "reason": one.reason} for one in found.left_out],
            "corrections": [{"entry": old, "by_entry": new} for old, new in sorted(found.corrections.items())],
            "read_now": [
                {"entry": number, "words": words, "sha256": self.filled.digests.get(number)}
                for number, words in sorted(self.filled.read.items())
            ],
            "to_add": [{"entry": number, "sha256": digest} for number, digest in sorted(self.filled.digests.items())],
            "warnings": list(self.filled.warnings),
            "checkpoint": self.checkpoint.as_json(),
            "drive": self.job.drive.name,
            "proof_sheet": None if self.proof_sheet is None else str(self.proof_sheet),
        }


def prove(folder: str | Path, sheet: Path | None = None, progress: Progress | None = None) -> Proof:
    """Judge the job in a folder; nothing in the folder is changed.

    Parameters
    ----------
    folder
        The job folder, or its ``job.toml``.
    sheet
        Where to write the proof sheet; None for none.
    progress
        Called with what is being done, for long work.

    Returns
    -------
    Proof
        The job judged.

    Raises
    ------
    FileFaults
        A job or drive file with faults, or a recording's name that leads out of the folder.
    """
    if sheet is not None:
        check_output(sheet, ".pdf", "the proof sheet")
    job = load_job(folder)
    proof = judge(job, fill_readings(job, progress))
    return proof if sheet is None else write_sheet(proof, sheet)


def judge(job: Job, filled: Filled, known: Checkpoint | None = None) -> Proof:
    """Judge a job, of a folder or of the record, whose missing readings are filled in.

    Parameters
    ----------
    job
        The job.
    filled
        Its entries, as :func:`~twoturn.acts.fill_readings.fill_readings` gives them.
    known
        Its checkpoint where the record holds it already; worked out from the entries when None.
    """
    filled = replace(filled, warnings=(*filled.warnings, *forgotten_rounds(job.drive, filled.entries)))
    found = assess(job.drive, filled.entries, filled.unread)
    filled = replace(filled, warnings=(*filled.warnings, *found.override_warnings))
    return Proof(job, filled, found, known or checkpoint(job.file.raw))


def write_sheet(proof: Proof, path: Path) -> Proof:
    """Write the proof sheet of a job that was judged.

    Parameters
    ----------
    proof
        The job judged.
    path
        Where to write it.

    Returns
    -------
    Proof
        The same, with the path of its sheet.

    Raises
    ------
    TwoTurnError
        The file cannot be written, or would destroy a file of another kind.
    """
    from twoturn.acts.proof_sheet import proof_sheet

    sheet = proof_sheet(proof.job, proof.filled, proof.assessment, proof.checkpoint)
    write_output(path, sheet, ".pdf", "the proof sheet")
    return replace(proof, proof_sheet=path)
