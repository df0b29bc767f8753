"""Jobs by the API: the list, a new one, one as it stands, closed and opened again."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from twoturn.acts.shop import job_view, jobs
from twoturn.store.records.jobs import Job
from twoturn.web.api.bounds import Asked, Id, Lines, Query
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.told_job import ClosedTold, JobLineTold, JobTold
from twoturn.web.api.told_plan import PlanTold


class NewJob(Asked):
    """A job to begin."""

    vehicle_id: Id
    version_id: Annotated[Id, Field(description="the version of the drive that the job keeps")]
    note: Lines | None = None


class Note(Asked):
    """Anything worth saying of a job in the list of jobs."""

    note: Lines | None


class Most(Query):
    """How many are told at most."""

    most: Annotated[int, Field(ge=1, le=500)] = 100


@endpoint("GET", "/api/jobs", "viewer", answer=list[JobLineTold])
def list_jobs(call: Call) -> list[dict[str, Any]]:
    """Every open job with what it waits for."""
    return [line.as_json() for line in job_view.list_jobs(call.shop)]


@endpoint("GET", "/api/jobs/closed", "viewer", answer=list[ClosedTold])
def list_closed_jobs(call: Call, query: Most) -> list[dict[str, Any]]:
    """Closed jobs, those closed last first."""
    return [head.as_json() for head, _ in job_view.finished_jobs(call.shop, query.most)]


@endpoint("POST", "/api/jobs", "trainee", status=201)
def begin_job(call: Call, body: NewJob) -> Job:
    """Begin a job on a vehicle by a version of a drive."""
    return jobs.start_job(call.shop, call.actor, body.vehicle_id, body.version_id, body.note)


@endpoint("GET", "/api/jobs/{job:int}", "viewer", answer=JobTold)
def show_job(call: Call) -> dict[str, Any]:
    """A job as it stands: what to do now, what is proven, its entries, its record number."""
    return job_view.job_view(call.shop, call.number("job")).as_json()


@endpoint("GET", "/api/jobs/{job:int}/plan", "viewer", answer=PlanTold)
def show_plan(call: Call) -> dict[str, Any]:
    """The steps of a job for its vehicle, as twoturn plan prints them."""
    return job_view.job_view(call.shop, call.number("job")).plan.as_json()


@endpoint("POST", "/api/jobs/{job:int}/close", "technician")
def close_job(call: Call) -> Job:
    """Close a job; whatever is entered later opens it again."""
    return jobs.close_job(call.shop, call.actor, call.number("job"))


@endpoint("POST", "/api/jobs/{job:int}/reopen", "trainee")
def reopen_job(call: Call) -> Job:
    """Open a closed job again."""
    return jobs.reopen_job(call.shop, call.actor, call.number("job"))


@endpoint("PUT", "/api/jobs/{job:int}/note", "trainee")
def note_job(call: Call, body: Note) -> Job:
    """Keep a note on a job for the list of jobs; no part of its record."""
    return jobs.note_job(call.shop, call.actor, call.number("job"), body.note)


ENDPOINTS = (list_jobs, list_closed_jobs, begin_job, show_job, show_plan, close_job, reopen_job, note_job)
