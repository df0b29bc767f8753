"""Handing a job over: what is proven, what is not, who may, and the papers."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from twoturn.acts.shop.forms import FormRefused
from twoturn.errors import TwoTurnError
from twoturn.web.forms.once import FIELD, new_key
from twoturn.web.forms.read import texts
from twoturn.web.page import KILOBYTE, Page
from twoturn.web.refused import status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread


async def hand_over_page(request: Request) -> Response:
    """What can be handed over of a job, or the papers of one that was."""
    return await _page(request)


async def hand_over_job(request: Request) -> Response:
    """Hand the job over."""
    from twoturn.acts.shop.hand_over import hand_over

    visit, form, job_id = request.state.visit, await texts(request), request.path_params["job"]
    try:
        await in_thread(hand_over, visit.shop, visit.actor, job_id, form, form.get(FIELD, ""))
    except TwoTurnError as error:
        return await _page(request, form, error)
    return RedirectResponse(f"/jobs/{job_id}/hand-over", 303)


async def last_question(request: Request) -> Response:
    """Keep the answer to the last question."""
    from twoturn.acts.shop.hand_over import answer_last

    visit, form, job_id = request.state.visit, await texts(request), request.path_params["job"]
    try:
        await in_thread(answer_last, visit.shop, visit.actor, job_id, form, form.get(FIELD, ""))
    except TwoTurnError as error:
        return await _page(request, form, error)
    return RedirectResponse(f"/jobs/{job_id}/hand-over", 303)


async def job_paper(request: Request) -> Response:
    """One of the papers, as a file."""
    from twoturn.acts.shop.papers import paper

    job_id, kind = request.path_params["job"], request.path_params["kind"]
    made = await in_thread(paper, request.state.visit.shop, job_id, kind)
    return Response(made.content, media_type=made.media_type, headers=_attached(made.name))


async def job_sheet(request: Request) -> Response:
    """A proof sheet as it was handed out, as a file."""
    from twoturn.acts.shop.papers import sheet_file

    job_id, sheet_id = request.path_params["job"], request.path_params["sheet"]
    found = await in_thread(sheet_file, request.state.visit.shop, job_id, sheet_id)
    return FileResponse(found.path, media_type="application/pdf", headers=_attached(found.name))


async def _page(
    request: Request, typed: Mapping[str, str] | None = None, error: TwoTurnError | None = None
) -> Response:
    from twoturn.acts.shop.papers import hand_over_view

    visit = request.state.visit
    view = await in_thread(hand_over_view, visit.shop, visit.actor, request.path_params["job"])
    return show(
        request,
        "hand_over/hand_over.html",
        200 if error is None else status_of(error),
        view=view,
        seen=view.seen,
        typed=typed or {},
        error=error,
        faults=error.fields if isinstance(error, FormRefused) else {},
        key=new_key(),
    )


def _attached(name: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{name}"'}


PAGES = (
    Page("/jobs/{job:int}/hand-over", hand_over_page, "viewer"),
    Page("/jobs/{job:int}/hand-over", hand_over_job, "technician", ("POST",), 100 * KILOBYTE),
    Page("/jobs/{job:int}/hand-over/last-question", last_question, "trainee", ("POST",), 20 * KILOBYTE),
    Page("/jobs/{job:int}/papers/{kind:str}", job_paper, "viewer"),
    Page("/jobs/{job:int}/sheets/{sheet:int}", job_sheet, "viewer"),
)
