"""The plan of a job on paper, and its boxes entered at the office."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.answers import wants_json
from twoturn.web.forms.filled import filled_of_form, filled_of_json
from twoturn.web.forms.numbers import number_of
from twoturn.web.forms.once import FIELD, new_key
from twoturn.web.forms.read import MOST_FIELDS, MOST_TEXT
from twoturn.web.job_parts import STAGE_TITLES, at_of
from twoturn.web.page import Page
from twoturn.web.refused import Refused, status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread

if TYPE_CHECKING:
    from twoturn.acts.shop.box_entries import Filled
    from twoturn.acts.shop.boxes import Box

KEY_HEADER = "idempotency-key"


async def plan_of_job(request: Request) -> Response:
    """The plan of the job as PDF, to be printed."""
    from twoturn.acts.shop.plan_sheet import plan_paper

    made = await in_thread(plan_paper, request.state.visit.shop, request.path_params["job"])
    headers = {"content-disposition": f'inline; filename="{made.name}"'}
    return Response(made.content, media_type=made.media_type, headers=headers)


async def boxes_page(request: Request) -> Response:
    """The boxes that are still open, in the printed order."""
    return await _page(request)


async def enter_filled(request: Request) -> Response:
    """Enter what was ticked and typed; on a fault the page comes back with all of it."""
    from twoturn.acts.shop.box_entries import enter_boxes

    visit, job = request.state.visit, request.path_params["job"]
    filled, key, after = await _sent(request)
    try:
        added = await in_thread(enter_boxes, visit.shop, visit.actor, job, filled, key, after)
    except TwoTurnError as error:
        if wants_json(request) or status_of(error) != 422:
            raise
        return await _page(request, filled, error)
    return JSONResponse(added.as_json()) if wants_json(request) else RedirectResponse(f"/jobs/{job}", 303)


async def _sent(request: Request) -> tuple[Filled, str, int | None]:
    """What was ticked and typed, the key of the sending, and the number of the last entry that the page knew."""
    from twoturn.acts.shop.settings import units_here

    visit, key = request.state.visit, request.headers.get(KEY_HEADER, "")
    if not request.headers.get("content-type", "").startswith("application/json"):
        form = await request.form(max_fields=MOST_FIELDS, max_part_size=MOST_TEXT)
        pairs = [(name, value) for name, value in form.multi_items() if isinstance(value, str)]
        filled = filled_of_form(pairs, units_here(visit.shop, visit.units))
        return filled, key or dict(pairs).get(FIELD, ""), None
    sent = _object(await request.body())
    units = units_here(visit.shop, str(sent.get("units") or visit.units))
    return filled_of_json(sent, units), key, number_of(sent.get("after"))


def _object(body: bytes) -> Mapping[str, Any]:
    try:
        sent = json.loads(body)
    except ValueError:
        sent = None
    if not isinstance(sent, dict):
        raise Refused(400, "what was sent is no JSON object", next_step="send it from the page of the boxes")
    return sent


async def _page(request: Request, filled: Filled | None = None, error: TwoTurnError | None = None) -> Response:
    from twoturn.acts.shop.box_entries import Filled
    from twoturn.acts.shop.boxes import boxes
    from twoturn.acts.shop.job_view import job_view
    from twoturn.acts.shop.people import may
    from twoturn.acts.shop.settings import units_here

    visit = request.state.visit
    view = await in_thread(job_view, visit.shop, request.path_params["job"])
    found = boxes(view, may_sign=may(visit.actor, "hand over"))
    return show(
        request, "boxes/boxes.html", 200 if error is None else status_of(error), view=view, parts=list(_parts(found)),
        filled=filled or Filled(), error=error, faults=getattr(error, "fields", {}), key=new_key(), at_of=at_of,
        units=units_here(visit.shop, visit.units), units_name=visit.units or "",
    )  # fmt: skip


def _parts(found: tuple[Box, ...]) -> Iterator[tuple[str, list[Box]]]:
    """The boxes by the headings under which they are printed; one may come twice, as on paper."""
    for heading, group in groupby(found, lambda box: f"{STAGE_TITLES[box.step.stage]}{box.part}"):
        yield heading, list(group)


PAGES = (
    Page("/jobs/{job:int}/plan.pdf", plan_of_job, "viewer"),
    Page("/jobs/{job:int}/boxes", boxes_page, "trainee"),
    Page("/jobs/{job:int}/boxes", enter_filled, "trainee", ("POST",)),
)
