"""Recordings by the API: a file that was sent is analysed, looked at, and accepted or put aside."""

from __future__ import annotations

from typing import Annotated, Any

import anyio.from_thread
from pydantic import Field
from starlette.responses import Response

from twoturn.acts.shop.jobs import held_job
from twoturn.acts.shop.recordings import recording_for
from twoturn.web.analyses import Analyses, Analysis, accepted, put_aside
from twoturn.web.api.bounds import Anything, Asked, Lines, Told
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.told_job import AddedPlainTold
from twoturn.web.refused import Refused


class ToAnalyse(Asked):
    """A recording to be analysed."""

    entry: Annotated[
        Anything,
        Field(description="of kind pluck or capture as docs/job.schema.json tells it, without reading, by and entered; "
              "file is the name of a file of the job"),
    ]  # fmt: skip


class Why(Asked):
    """Why a recording that gave a reading is made again."""

    reason: Annotated[Lines, Field(min_length=1)]


class AnalysisTold(Told):
    """Where an analysis stands; once it is done, what it gave."""

    id: str
    job: int
    file: str
    title: str
    url: Annotated[str, Field(description="its page")]
    state: Annotated[str, Field(description="going on, done or broken")]
    share: Annotated[float, Field(description="the share done [-]")]
    broken: Annotated[str | None, Field(description="why it broke off")]
    answer: Annotated[Anything | None, Field(description="what was read, doubts, what the checks would say, the entry")]
    entry: Annotated[int | None, Field(description="number of its entry once it is accepted")]


@endpoint("GET", "/api/jobs/{job:int}/analyses", "viewer", answer=list[AnalysisTold])
def list_analyses(call: Call) -> list[dict[str, Any]]:
    """The analyses of a job since the bench was started, the newest first."""
    held_job(call.shop, call.number("job"))
    return [one.as_json() for one in _analyses(call).of_job(call.number("job"))]


@endpoint("POST", "/api/jobs/{job:int}/analyses", "trainee", status=202, answer=AnalysisTold)
def begin_analysis(call: Call, body: ToAnalyse) -> dict[str, Any]:
    """Analyse a recording that the job has as a file; nothing is entered before it is accepted."""
    number = call.number("job")
    recording = recording_for(call.shop, call.actor, held_job(call.shop, number), body.entry)
    title = f"{recording.row['kind']}: {recording.row['file']}"
    begun: Analysis = anyio.from_thread.run_sync(
        _analyses(call).begin, number, recording, title, "", call.actor.name
    )  # it goes on in the bench's own loop
    return begun.as_json()


@endpoint("GET", "/api/jobs/{job:int}/analyses/{analysis:str}", "viewer", answer=AnalysisTold)
def show_analysis(call: Call) -> dict[str, Any]:
    """Where an analysis stands, and what it gave."""
    return _one(call).as_json()


@endpoint(
    "GET", "/api/jobs/{job:int}/analyses/{analysis:str}/pictures/{number:int}", "viewer", media=("image/svg+xml",)
)
def fetch_picture(call: Call) -> Response:
    """A picture of what an analysis gave, in the order of its answer's pictures, from 0."""
    found, number = _one(call).answer, call.number("number")
    if found is None or number >= len(found.pictures):
        raise Refused(404, "there is no such picture", next_step="look at the analysis again")
    return Response(found.pictures[number].svg, media_type="image/svg+xml")


@endpoint("POST", "/api/jobs/{job:int}/analyses/{analysis:str}/accept", "trainee", answer=AddedPlainTold)
def accept_analysis(call: Call) -> dict[str, Any]:
    """Put the reading into the job as an entry; sent twice it is entered once."""
    return accepted(call.shop, call.actor, _one(call)).as_json()


@endpoint("POST", "/api/jobs/{job:int}/analyses/{analysis:str}/put-aside", "trainee", status=204)
def put_analysis_aside(call: Call, body: Why) -> None:
    """Put on record that a recording that gave a reading was not entered, and why."""
    put_aside(call.shop, call.actor, _one(call), body.reason)


def _analyses(call: Call) -> Analyses:
    found: Analyses = call.request.app.state.analyses
    return found


def _one(call: Call) -> Analysis:
    return _analyses(call).one(call.number("job"), call.request.path_params["analysis"])


ENDPOINTS = (list_analyses, begin_analysis, show_analysis, fetch_picture, accept_analysis, put_analysis_aside)
