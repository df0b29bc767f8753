"""Handing a job over by the API: what binds, the last question, the sheet, and the papers."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field
from starlette.responses import FileResponse, Response

from twoturn.acts.shop import hand_over as acts
from twoturn.acts.shop import papers
from twoturn.store.records.sheets import Sheet
from twoturn.web.api.bounds import Asked, Line, Lines, Told
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.read import key_of


class NoEntryTold(Told):
    """A step of the plan that no entry speaks of."""

    id: str
    title: str


class HandOverTold(Told):
    """What can be handed over of a job, and what binds."""

    verdict: str
    bind: Annotated[list[str], Field(description="checks not met, and severe findings not cured, by their ids")]
    unanswered: Annotated[list[str], Field(description="those of them for which a lead has yet to say why")]
    open: Annotated[list[str], Field(description="checks not shown; the sheet lists them, they bind nobody")]
    proven: list[str]
    asks_last: Annotated[bool, Field(description="whether the last question is to be answered")]
    sheets: Annotated[list[int], Field(description="sheets handed out before, oldest first")]
    current: Annotated[int | None, Field(description="the sheet of the record as it is now")]
    may: Annotated[bool, Field(description="whether who asks may hand the job over as it is")]
    due: Annotated[str, Field(description="when the belt is due again, in words")]
    invoice: Annotated[str, Field(description="the invoice text; empty while the job is not handed over as it stands")]
    no_entry: list[NoEntryTold]
    record_number: str


class HandingOver(Asked):
    """How a job is handed over."""

    reasons: Annotated[
        dict[Line, Lines],
        Field(
            default_factory=dict,
            max_length=200,
            description="a lead's reason for each check of ``unanswered``, by its id",
        ),
    ]


class LastQuestion(Asked):
    """After the last turns: was anything moved, or the crankshaft turned back?"""

    moved: bool
    what: Annotated[str | None, Field(max_length=acts.LONGEST_REASON, description="what was moved")] = None


@endpoint("GET", "/api/jobs/{job:int}/hand-over", "viewer", answer=HandOverTold)
def show_hand_over(call: Call) -> dict[str, Any]:
    """What can be handed over of a job, what binds, and who may."""
    view = papers.hand_over_view(call.shop, call.actor, call.number("job"))
    current = view.seen.current
    return view.seen.as_json() | {
        "current": None if current is None else current.id,
        "may": view.may,
        "due": view.due,
        "invoice": view.invoice,
        "no_entry": [{"id": step, "title": title} for step, title in view.no_entry],
        "record_number": view.record_number,
    }


@endpoint("POST", "/api/jobs/{job:int}/hand-over", "technician", status=201, key=True, refuses=(400, 409))
def hand_over_job(call: Call, body: HandingOver) -> Sheet:
    """Hand a job over: reasons and signature are entered, the proof sheet is made and kept, the job is closed."""
    reasons = {f"reason-{check}": text for check, text in body.reasons.items()}
    return acts.hand_over(call.shop, call.actor, call.number("job"), reasons, key_of(call.request))


@endpoint("POST", "/api/jobs/{job:int}/hand-over/last-question", "trainee", status=204, key=True, refuses=(400, 409))
def answer_last_question(call: Call, body: LastQuestion) -> None:
    """Answer the last question before a job is handed over."""
    texts = {"moved": "yes" if body.moved else "no", "what": body.what or ""}
    acts.answer_last(call.shop, call.actor, call.number("job"), texts, key_of(call.request))


@endpoint(
    "GET",
    "/api/jobs/{job:int}/papers/{kind:str}",
    "viewer",
    media=("application/pdf", "text/plain", "text/calendar"),
)
def fetch_paper(call: Call) -> Response:
    """A paper of a job that was handed over: label, customer, invoice or calendar."""
    made = papers.paper(call.shop, call.number("job"), call.request.path_params["kind"])
    return Response(made.content, media_type=made.media_type, headers=_attached(made.name))


@endpoint("GET", "/api/jobs/{job:int}/sheets/{sheet:int}", "viewer", media=("application/pdf",))
def fetch_sheet(call: Call) -> Response:
    """A proof sheet as it was handed out."""
    found = papers.sheet_file(call.shop, call.number("job"), call.number("sheet"))
    return FileResponse(found.path, media_type="application/pdf", headers=_attached(found.name))


def _attached(name: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{name}"'}


ENDPOINTS = (show_hand_over, hand_over_job, answer_last_question, fetch_paper, fetch_sheet)
