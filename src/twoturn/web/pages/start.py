"""The first page: a new job, the open ones by what each waits for, and what is due."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.forms.numbers import number_of
from twoturn.web.forms.read import texts
from twoturn.web.page import Page
from twoturn.web.refused import status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread

if TYPE_CHECKING:
    from twoturn.acts.shop.new_job import NewJob


async def start(request: Request) -> Response:
    """The open jobs, and what each waits for."""
    return await _start(request)


async def _start(request: Request, error: TwoTurnError | None = None, typed: str = "") -> Response:
    from twoturn.acts.shop.due import due_soon
    from twoturn.acts.shop.job_view import finished_jobs, list_jobs
    from twoturn.acts.shop.people import may

    visit = request.state.visit
    lines = await in_thread(list_jobs, visit.shop)
    finished = await in_thread(finished_jobs, visit.shop, 8)
    due = await in_thread(due_soon, visit.shop)
    status = 200 if error is None else status_of(error)
    return show(
        request, "start/start.html", status, lines=lines, finished=finished, due=due, error=error, typed=typed,
        may_enter=may(visit.actor, "enter"),
    )  # fmt: skip


async def new_job(request: Request) -> Response:
    """The vehicle of a registration, or the few things to know of a new one, and the drive to choose."""
    from twoturn.acts.shop.new_job import look_up

    asked = request.query_params
    number = number_of(asked.get("vehicle"))
    registration = asked.get("registration", "").strip()
    if not registration and number is None:
        return RedirectResponse("/", 303)
    try:
        found = await in_thread(look_up, request.state.visit.shop, registration, number)
    except TwoTurnError as error:
        if status_of(error) != 422:
            raise
        return await _start(request, error, registration)
    return _new_job(request, found)


async def begin_job(request: Request) -> Response:
    """Begin the job, and go to its page, or to its plan to be printed."""
    from twoturn.acts.shop.new_job import begin, look_up
    from twoturn.acts.shop.settings import units_here

    visit, form = request.state.visit, await texts(request)
    try:
        job = await in_thread(begin, visit.shop, visit.actor, form, units_here(visit.shop, visit.units))
    except TwoTurnError as error:
        if status_of(error) != 422:
            raise
        number = number_of(form.get("vehicle"))
        found = await in_thread(look_up, visit.shop, form.get("registration", ""), number)
        return _new_job(request, found, error, form)
    return RedirectResponse(f"/jobs/{job.id}{'/plan.pdf' if form.get('then') == 'plan' else ''}", 303)


def _new_job(
    request: Request, found: NewJob, error: TwoTurnError | None = None, typed: Mapping[str, str] | None = None
) -> Response:
    from twoturn.acts.shop.settings import units_here
    from twoturn.acts.shop.vehicles import odometer_wanted

    visit, status = request.state.visit, 200 if error is None else status_of(error)
    wanted = odometer_wanted(units_here(visit.shop, visit.units))
    return show(request, "start/new_job.html", status, found=found, error=error, typed=typed or {}, wanted=wanted)


PAGES = (
    Page("/", start, "viewer"),
    Page("/jobs/new", new_job, "trainee"),
    Page("/jobs/new", begin_job, "trainee", ("POST",)),
)
