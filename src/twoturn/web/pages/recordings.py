"""Recordings of a job: what may be recorded, analyses that go on, their results, and what becomes of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.analyses import accepted, put_aside
from twoturn.web.answers import wants_json
from twoturn.web.forms.numbers import number_of
from twoturn.web.forms.read import texts
from twoturn.web.forms.sent_file import form_of, text_of, told_of
from twoturn.web.page import KILOBYTE, Page
from twoturn.web.refused import Refused, status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread

if TYPE_CHECKING:
    from twoturn.acts.shop.recording_asked import Taken
    from twoturn.web.analyses import Analyses, Analysis

SMALL = 20 * KILOBYTE


async def recordings(request: Request) -> Response:
    """What may be recorded and photographed in a job, and its files; with ``asked`` the page of one question."""
    from twoturn.acts.shop.people import may
    from twoturn.acts.shop.recording_asked import recordings_view

    if asked := request.query_params.get("asked"):
        return await question_page(request, asked, replaces=number_of(request.query_params.get("replaces")))
    visit, job = request.state.visit, request.path_params["job"]
    view = await in_thread(recordings_view, visit.shop, job)
    open_ones = [one for one in _analyses(request).of_job(job) if one.entered is None and one.unentered is None]
    return show(
        request, "recordings/recordings.html", view=view, analyses=open_ones, may_enter=may(visit.actor, "enter")
    )


async def question_page(
    request: Request,
    asked: str,
    error: TwoTurnError | None = None,
    given: Mapping[str, Any] | None = None,
    replaces: int | None = None,
) -> Response:
    """The page that records, or takes a file, for one question, or to correct the entry ``replaces``."""
    from twoturn.acts.shop.job_view import job_view
    from twoturn.acts.shop.recording_asked import FILE_OF, filled_with, question_of, recordings_view
    from twoturn.acts.shop.settings import units_here
    from twoturn.web.job_parts import at_of

    visit = request.state.visit
    view = await in_thread(recordings_view, visit.shop, request.path_params["job"])
    question = view.question(asked)
    if replaces is not None:
        held = await in_thread(job_view, visit.shop, request.path_params["job"])
        question = await in_thread(question_of, held, asked, replaces)
    if question is None:
        raise Refused(404, "this recording or photo is not asked for in this job", next_step="go back to the job")
    return show(
        request, "recordings/asked.html", 200 if error is None else status_of(error), view=view, error=error,
        asked=filled_with(question, given or {}), kind=FILE_OF[question.kind], at=at_of(question.id),
        units=units_here(visit.shop, visit.units), replaces=replaces,
        files=[one for one in view.files if not one.entries],
    )  # fmt: skip


def begin(request: Request, job: int, taken: Taken) -> Analysis | None:
    """Begin the analysis of what was taken in; None where there is nothing to analyse."""
    if taken.recording is None or taken.question is None:
        return None
    question, by = taken.question, request.state.visit.actor.name
    return _analyses(request).begin(job, taken.recording, question.title, question.id, by)


async def analyse_file(request: Request) -> Response:
    """Analyse a file that the job has, for one of its questions."""
    from twoturn.acts.shop.recording_asked import look_again

    visit, job, form = request.state.visit, request.path_params["job"], await form_of(request)
    name, asked, told = text_of(form, "file"), text_of(form, "asked"), told_of(request, form)
    taken = await in_thread(look_again, visit.shop, visit.actor, job, name, asked, told)
    analysis = begin(request, job, taken)
    if analysis is None:
        raise Refused(422, "there is nothing to analyse in this file", next_step="choose a recording")
    if wants_json(request):
        return JSONResponse(analysis.as_json(), status_code=202)
    return RedirectResponse(f"/jobs/{job}/recordings/{analysis.id}", 303)


async def analysis_state(request: Request) -> Response:
    """Where an analysis stands, and what it gave."""
    analyses, one = _analyses(request), _one(request)
    return JSONResponse(one.as_json() | {"before": analyses.before(one)}, headers={"cache-control": "no-store"})


async def picture(request: Request) -> Response:
    """A picture of a result: ``wide``, or ``narrow`` for a phone."""
    found = _one(request).answer
    number, size = request.path_params["number"], request.path_params["size"]
    if found is None or number >= len(found.pictures) or size not in ("wide", "narrow"):
        raise Refused(404, "there is no such picture", next_step="open the recording anew")
    drawn = found.pictures[number]
    svg = drawn.narrow if size == "narrow" and drawn.narrow else drawn.svg
    return Response(svg, media_type="image/svg+xml", headers={"cache-control": "private, max-age=3600"})


async def result(request: Request) -> Response:
    """The result of an analysis: what was read, what it would show, its pictures; accept it or repeat it."""
    return await _result(request)


async def _result(request: Request, error: TwoTurnError | None = None) -> Response:
    from twoturn.acts.shop.people import may
    from twoturn.acts.shop.recording_asked import AGAIN, recordings_view

    one, visit = _one(request), request.state.visit
    view = await in_thread(recordings_view, visit.shop, one.job_id)
    status = 200 if error is None else status_of(error)
    return show(
        request, "recordings/result.html", status, view=view, one=one, answer=one.answer, error=error, again=AGAIN,
        before=_analyses(request).before(one), may_enter=may(visit.actor, "enter"),
        later=view.entries - len(one.recording.rows),
    )  # fmt: skip


async def accept(request: Request) -> Response:
    """Put the reading into the job as an entry; sent twice it is entered once."""
    one, visit = _one(request), request.state.visit
    added = await in_thread(accepted, visit.shop, visit.actor, one)
    if wants_json(request):
        return JSONResponse(added.as_json())
    return RedirectResponse(f"/jobs/{one.job_id}/recordings/{one.id}", 303)


async def repeat(request: Request) -> Response:
    """Make the recording again; of one that gave a reading the reason goes on record."""
    one, visit, form = _one(request), request.state.visit, await texts(request)
    try:
        await in_thread(put_aside, visit.shop, visit.actor, one, form.get("other") or form.get("reason", ""))
    except TwoTurnError as error:
        if wants_json(request) or status_of(error) != 422:
            raise
        return await _result(request, error)
    back = f"?asked={quote(one.asked, safe='')}" if one.asked else ""
    return RedirectResponse(f"/jobs/{one.job_id}/recordings{back}", 303)


def _analyses(request: Request) -> Analyses:
    found: Analyses = request.app.state.analyses
    return found


def _one(request: Request) -> Analysis:
    return _analyses(request).one(request.path_params["job"], request.path_params["analysis"])


PAGES = (
    Page("/jobs/{job:int}/recordings", recordings, "viewer"),
    Page("/jobs/{job:int}/recordings/{analysis:str}", result, "viewer"),
    Page("/jobs/{job:int}/recordings/{analysis:str}/accept", accept, "trainee", ("POST",), limit_bytes=SMALL),
    Page("/jobs/{job:int}/recordings/{analysis:str}/repeat", repeat, "trainee", ("POST",), limit_bytes=SMALL),
    Page("/jobs/{job:int}/analyses", analyse_file, "trainee", ("POST",), limit_bytes=SMALL),
    Page("/jobs/{job:int}/analyses/{analysis:str}", analysis_state, "viewer"),
    Page("/jobs/{job:int}/analyses/{analysis:str}/pictures/{number:int}/{size:str}", picture, "viewer"),
)
