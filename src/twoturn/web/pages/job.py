"""A job in one page, and what is entered there: as plain forms, and as the queue sends it."""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.answers import wants_json
from twoturn.web.forms.given import given_of_form, given_of_json
from twoturn.web.forms.numbers import number_of, seconds_of
from twoturn.web.forms.read import texts
from twoturn.web.page import MEGABYTE, Page
from twoturn.web.refused import Refused, status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread

if TYPE_CHECKING:
    from twoturn.acts.shop.answers import Answer
    from twoturn.acts.shop.entries import Added
    from twoturn.acts.shop.job_view import JobView

KEY_HEADER = "idempotency-key"
UPLOADS = ("photo", "sound", "capture")
MOST_TEXT = 200_000


async def job_page(request: Request) -> Response:
    """The whole job."""
    return await _page(request)


async def _page(request: Request, status: int = 200, error: TwoTurnError | None = None, told: str = "") -> Response:
    from twoturn.acts.shop.job_view import job_view
    from twoturn.acts.shop.people import may
    from twoturn.acts.shop.settings import units_here
    from twoturn.web.job_parts import filled_in, parts_of

    visit = request.state.visit
    view = await in_thread(job_view, visit.shop, request.path_params["job"])
    units = units_here(visit.shop, visit.units)
    parts = await in_thread(parts_of, visit.shop, view, units)
    page_key = secrets.token_hex(16)
    return show(
        request, "job/job.html", status, view=view, parts=parts, error=error, told=told, page_key=page_key,
        units_name=visit.units or "", may_enter=may(visit.actor, "enter"), may_lead=may(visit.actor, "lead"),
        part=lambda name: Markup(filled_in(parts.all[name].html, visit.csrf, page_key)),  # noqa: S704 - escaped when made
    )  # fmt: skip


async def job_parts(request: Request) -> Response:
    """The parts of the page that are not as the asker has them (``have=name:digest,...``), and the count of entries."""
    from twoturn.acts.shop.job_view import job_view
    from twoturn.acts.shop.settings import units_here
    from twoturn.web.job_parts import filled_in, parts_of

    visit = request.state.visit
    view = await in_thread(job_view, visit.shop, request.path_params["job"])
    if request.query_params.get("count") == str(len(view.lines)):
        return JSONResponse({"count": len(view.lines), "parts": {}, "order": None})
    parts = await in_thread(parts_of, visit.shop, view, units_here(visit.shop, visit.units))
    pairs = (text.rpartition(":") for text in request.query_params.get("have", "").split(","))
    changed = parts.changed({name: digest for name, _, digest in pairs})
    key = secrets.token_hex(16)
    return JSONResponse(
        {
            "count": len(view.lines),
            "parts": {name: filled_in(part.html, visit.csrf, key) for name, part in changed.items()},
            "order": [[stage, [part.name for part in held]] for stage, _, held in parts.stages],
        },
        headers={"cache-control": "no-store"},
    )


async def answers(request: Request) -> Response:
    """An answer as the queue sends it: JSON with ``asked``, ``given`` or ``quick``, and ``after``."""
    from twoturn.acts.shop.answers import answer

    visit = request.state.visit
    sent = await _json(request)
    added = await in_thread(
        answer, visit.shop, visit.actor, request.path_params["job"], _answer_of_json(request, sent),
        request.headers.get(KEY_HEADER, ""), number_of(sent.get("after")),
    )  # fmt: skip
    return JSONResponse(added.as_json())


async def enter(request: Request) -> Response:
    """An answer as a plain form sends it; on a fault the question comes back with what was typed."""
    from twoturn.acts.shop.answers import answer

    visit, job = request.state.visit, request.path_params["job"]
    form = await texts(request)
    said = await _answer_of_form(request, form)
    try:
        await in_thread(answer, visit.shop, visit.actor, job, said, form.get("key", ""))
    except TwoTurnError as error:
        if status_of(error) != 422:
            raise
        return await _question_page(request, form.get("asked", ""), said, error)
    return RedirectResponse(f"/jobs/{job}#{form.get('at', '')}", 303)


async def entry_page(request: Request) -> Response:
    """One entry, to correct it, to strike it out or to leave its reading out."""
    from twoturn.acts.shop.answers import correction_of
    from twoturn.acts.shop.job_view import job_view
    from twoturn.acts.shop.settings import units_here
    from twoturn.job.asked.typed import in_units

    visit, number = request.state.visit, request.path_params["number"]
    view = await in_thread(job_view, visit.shop, request.path_params["job"])
    if not 0 < number <= len(view.lines):
        raise Refused(404, f"this job has no entry {number}", next_step="go back to the job")
    asked = await in_thread(correction_of, view, number)
    if asked is not None:
        asked = in_units(asked, units_here(visit.shop, visit.units))
    return _shown_question(request, view, asked, None, number=number)


async def mend(request: Request) -> Response:
    """Strike an entry out, or leave its reading out."""
    from twoturn.acts.shop.answers import leave_out, strike_out

    visit, form = request.state.visit, await texts(request)
    acts = {"strike": strike_out, "leave": leave_out}
    if form.get("act") not in acts:
        raise Refused(422, "it was not said what becomes of the entry", allowed="strike or leave")
    job, number = request.path_params["job"], request.path_params["number"]
    key = request.headers.get(KEY_HEADER) or form.get("key", "")
    added = await in_thread(acts[form["act"]], visit.shop, visit.actor, job, number, form.get("reason", ""), key)
    return _done(request, added, "entries")


async def back(request: Request) -> Response:
    """Go back to an earlier step: what comes after it is asked anew."""
    from twoturn.acts.shop.answers import go_back

    visit, form, job = request.state.visit, await texts(request), request.path_params["job"]
    key = request.headers.get(KEY_HEADER) or form.get("key", "")
    step = form.get("step", "")
    added = await in_thread(go_back, visit.shop, visit.actor, job, step, form.get("reason", ""), key)
    return _done(request, added, f"step-{step}")


def _done(request: Request, added: Added, at: str) -> Response:
    if wants_json(request):
        return JSONResponse(added.as_json())
    return RedirectResponse(f"/jobs/{request.path_params['job']}#{at}", 303)


async def _json(request: Request) -> Mapping[str, Any]:
    try:
        sent = json.loads(await request.body())
    except ValueError:
        sent = None
    if not isinstance(sent, dict):
        raise Refused(400, "what was sent is no JSON object", next_step="send it from the job's page")
    return sent


def _answer_of_json(request: Request, sent: Mapping[str, Any]) -> Answer:
    from twoturn.acts.shop.answers import Answer
    from twoturn.acts.shop.settings import units_here

    given = sent.get("given")
    visit = request.state.visit
    return Answer(
        asked=str(sent.get("asked", "")),
        given=given_of_json(given) if isinstance(given, dict) else {},
        quick=sent.get("quick") is True,
        units=units_here(visit.shop, str(sent.get("units") or visit.units)),
        replaces=number_of(sent.get("replaces")),
        waited_s=seconds_of(sent.get("waited_s")),
    )


async def _answer_of_form(request: Request, form: Mapping[str, str]) -> Answer:
    from starlette.datastructures import UploadFile

    from twoturn.acts.shop.answers import Answer, Sent
    from twoturn.acts.shop.settings import units_here

    visit = request.state.visit
    held = await request.form(max_fields=2000, max_part_size=MOST_TEXT)
    pairs = [(name, value) for name, value in held.multi_items() if isinstance(value, str)]
    files = tuple(
        Sent(name.removeprefix("g."), value.file, value.filename)
        for name, value in held.multi_items()
        if isinstance(value, UploadFile) and value.filename
    )
    return Answer(
        asked=form.get("asked", ""),
        given=given_of_form(pairs),
        quick=bool(form.get("quick")),
        units=units_here(visit.shop, visit.units),
        replaces=number_of(form.get("replaces")),
        files=files,
    )


async def _question_page(request: Request, asked_id: str, said: Answer, error: TwoTurnError) -> Response:
    """The question once more, with what was typed and what is wrong with it."""
    from twoturn.acts.shop.job_view import job_view

    view = await in_thread(job_view, request.state.visit.shop, request.path_params["job"])
    asked = next((one for found in view.asked.values() for one in found if one.id == asked_id), None)
    if asked is None:
        return await _page(request, status_of(error), error)
    typed = [replace(one, value=said.given.get(one.key), from_where="") for one in asked.fields]
    more = [replace(one, value=said.given.get(one.key), from_where="") for one in asked.more]
    asked = replace(asked, fields=tuple(typed), more=tuple(more))
    return _shown_question(request, view, asked, error, number=said.replaces)


def _shown_question(
    request: Request, view: JobView, asked: Any, error: TwoTurnError | None, *, number: int | None
) -> Response:
    from twoturn.acts.shop.settings import units_here
    from twoturn.web.job_parts import Question, at_of

    visit = request.state.visit
    return show(
        request, "job/entry.html", 200 if error is None else status_of(error),
        job=view.head.id, line=view.lines[number - 1] if number else None, error=error, page_key=secrets.token_hex(16),
        question=Question(asked, at_of(asked.id), ()) if asked else None, units=units_here(visit.shop, visit.units),
    )  # fmt: skip


PAGES = (
    Page("/jobs/{job:int}", job_page, "viewer"),
    Page("/jobs/{job:int}/parts", job_parts, "viewer"),
    Page("/jobs/{job:int}/answers", answers, "trainee", ("POST",)),
    Page("/jobs/{job:int}/entries", enter, "trainee", ("POST",), limit_bytes=60 * MEGABYTE, max_files=4),
    Page("/jobs/{job:int}/entries/{number:int}", entry_page, "trainee"),
    Page("/jobs/{job:int}/entries/{number:int}", mend, "trainee", ("POST",)),
    Page("/jobs/{job:int}/back", back, "trainee", ("POST",)),
)
