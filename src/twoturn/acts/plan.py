"""The act of planning a job: the steps for a drive file and what is known of the vehicle, as data and as a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from twoturn.acts.drive import solve_text
from twoturn.acts.drive_files import drive_text
from twoturn.acts.job_files import JOB_FILE
from twoturn.acts.outputs import check_output, write_output
from twoturn.drive.faults import FaultList
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.drive.toml_text import read_text
from twoturn.errors import TwoTurnError
from twoturn.job.entries.found import FindingEntry
from twoturn.job.entries.vehicle import Vehicle
from twoturn.job.file import JobFile, read_job
from twoturn.job.order import Timeline
from twoturn.picture.drawing import DrawOptions, drive_svg
from twoturn.plan import Plan, VehicleFacts, make_plan
from twoturn.plan.assemble import own_step_faults
from twoturn.report.plan_pdf import plan_pdf

BROKEN = ("belt-broken-clean", "belt-broken-ragged", "belt-torn-slanting", "belt-jumped")


def plan_job(
    path: str | Path, job_folder: str | Path | None = None, shop_times_min: Sequence[float] | None = None
) -> Plan:
    """The plan for a drive file.

    Parameters
    ----------
    path
        The drive file.
    job_folder
        The folder of a job, whose entries say what vehicle it is; None where there is no job yet.
    shop_times_min
        Working times of this shop's earlier jobs of the kind [min].

    Returns
    -------
    Plan
        Steps and lists.

    Raises
    ------
    FileFaults
        The drive file or the job file holds faults, or a ``[[step]]`` follows no step of the plan.
    """
    text = drive_text(path)
    drive = read_drive(text, str(path))
    check_own_steps(drive, text, str(path))
    vehicle = VehicleFacts() if job_folder is None else vehicle_of(_job_in(Path(job_folder)))
    return make_plan(drive, vehicle, shop_times_min, str(path))


def check_own_steps(drive: Drive, text: str, name: str) -> None:
    """Refuse a ``[[step]]`` of the drive file ``text`` called ``name`` that follows no step of the plan.

    Raises
    ------
    FileFaults
        Every such step.
    """
    faults = FaultList(name, text)
    for fault in own_step_faults(drive):
        faults.add(("step", fault.index, fault.key), fault.found, fault.expected)
    faults.raise_if_any()


def _job_in(folder: Path) -> JobFile:
    file = folder if folder.is_file() else folder / JOB_FILE
    return read_job(read_text(file), str(file))


def vehicle_of(job: JobFile) -> VehicleFacts:
    """What a job's entries that stand say of the vehicle; a later entry counts more than an earlier one.

    A finding that the belt broke or jumped tells how the engine arrived.
    """
    facts: dict[str, bool | str | None] = {}
    for entry in (act.entry for act in Timeline(job.entries, {}).acts):
        if isinstance(entry, Vehicle):
            said = {key: getattr(entry, key) for key in ("hybrid", "stop_start", "fuel", "registration")}
            facts.update({key: value for key, value in said.items() if value is not None})
        if isinstance(entry, FindingEntry) and any(name in BROKEN for name in entry.finding):
            facts["belt_broken"] = True
    return VehicleFacts(**facts)  # type: ignore[arg-type]


def write_plan(plan: Plan, path: str | Path, output: str | Path) -> None:
    """Write the plan of the drive file at ``path`` as a PDF to ``output``.

    Raises
    ------
    TwoTurnError
        The file cannot be written, or would destroy a file of another kind.
    """
    check_output(Path(output), ".pdf", "the plan")
    write_output(Path(output), plan_sheet(plan, path), ".pdf", "the plan")


def plan_sheet(plan: Plan, path: str | Path, moment: datetime | None = None) -> bytes:
    """The plan as a PDF, with a drawing of the drive where it can be drawn.

    Parameters
    ----------
    plan
        The plan.
    path
        Its drive file.
    moment
        The time the sheet carries; now when None.
    """
    return sheet_of_text(plan, drive_text(path), str(path), moment)


def sheet_of_text(plan: Plan, text: str, name: str, moment: datetime | None = None) -> bytes:
    """The plan as a PDF, of the drive file ``text`` called ``name``; as :func:`plan_sheet`."""
    return plan_pdf(plan, moment or datetime.now(UTC), _drawings(text, name))


def _drawings(text: str, name: str) -> dict[str, str]:
    """Each belt's drawing as SVG, by the belt's id; none where a drive cannot be drawn: the plan needs no drawing."""
    try:
        solved = solve_text(text, name)
        return {
            rest.belt.id: drive_svg(solved.drive, solved.belts, DrawOptions(belt=rest.belt.id)) for rest in solved.belts
        }
    except TwoTurnError:
        return {}
