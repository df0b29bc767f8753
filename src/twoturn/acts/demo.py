"""The act of showing the main job on invented jobs: write them, judge them, write their proof sheets."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from twoturn.acts.plan import plan_job, write_plan
from twoturn.acts.prove import Proof, prove
from twoturn.demo.jobs_shipped import JOBS, ShippedJob, write_job
from twoturn.errors import TwoTurnError


@dataclass(frozen=True)
class Shown:
    """One invented job judged.

    Attributes
    ----------
    job, folder
        The job, and where it was written.
    proof
        What it proves, with the path of its proof sheet.
    """

    job: ShippedJob
    folder: Path
    proof: Proof


def show_jobs(folder: Path, told: Callable[[str], None] | None = None) -> Iterator[Shown]:
    """Write, judge and print every invented job, the main one first.

    Parameters
    ----------
    folder
        Where the job folders go; made when it is not there.
    told
        Called with the id of the job that is being worked on.

    Raises
    ------
    TwoTurnError
        The folder cannot be written.
    """
    for job in JOBS:
        if told is not None:
            told(job.id)
        place = folder / job.id
        try:
            write_job(job, place)
        except OSError as error:
            reason = (error.strerror or "it cannot be opened").lower()
            raise TwoTurnError(
                f"the invented jobs cannot be written to {folder}: {reason}",
                next_step="name another folder with --into",
            ) from error
        yield Shown(job, place, prove(place, place / "proof-sheet.pdf"))


def demo_plan(folder: Path, shown: Shown) -> Path:
    """Write the drive file and the plan of a judged job beside it, for the main job's picture of the work."""
    from twoturn.acts.drive_files import shipped_drives

    name = shown.proof.job.file.drive
    drive = folder / f"{name}.toml"
    drive.write_text(shipped_drives()[name], encoding="utf-8")
    output = shown.folder / "plan.pdf"
    write_plan(plan_job(drive, shown.folder), drive, output)
    return output
