"""Files of a job: photos, sounds, sensor recordings taken in and given back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.answers import wants_json
from twoturn.web.forms.sent_file import sent_file
from twoturn.web.page import MEGABYTE, Page
from twoturn.web.pages.recordings import begin, question_page
from twoturn.web.refused import status_of
from twoturn.web.workers import in_thread

if TYPE_CHECKING:
    from twoturn.acts.shop.recording_asked import SentFile, Taken

LIMIT = 201 * MEGABYTE
"""Most that may be sent with one file [bytes]; each kind of file has its own limit below it."""
SHOWN = ("image/jpeg", "audio/")
"""Media types that a page shows: photos that were made anew, and sounds, in which nothing can be run."""


async def send_file(request: Request) -> Response:
    """Keep a file; a recording that answers a question is analysed at once, a photo that does is entered."""
    from twoturn.acts.shop.recording_asked import take_in

    visit, job, sent = request.state.visit, request.path_params["job"], await sent_file(request)
    key = request.headers.get("idempotency-key") or (await request.form()).get("key") or ""
    try:
        taken = await in_thread(take_in, visit.shop, visit.actor, job, sent, str(key))
    except TwoTurnError as error:
        if wants_json(request) or sent.asked is None or status_of(error) != 422:
            raise
        return await question_page(request, sent.asked, error, sent.told.given, sent.told.replaces)
    return _answered(request, job, sent, taken)


def _answered(request: Request, job: int, sent: SentFile, taken: Taken) -> Response:
    analysis = begin(request, job, taken)
    if not wants_json(request):
        return RedirectResponse(f"/jobs/{job}/recordings" + (f"/{analysis.id}" if analysis else ""), 303)
    said = taken.kept.as_json() if taken.kept is not None else {"name": sent.name}
    more = {
        "analysis": None if analysis is None else analysis.as_json(),
        "added": None if taken.added is None else taken.added.as_json(),
    }
    return JSONResponse(said | more)


async def give_file(request: Request) -> Response:
    """A file of the job: photos and sounds to be shown, anything else to be saved."""
    from twoturn.acts.shop.evidence import evidence_file

    parameters = request.path_params
    found = await in_thread(evidence_file, request.state.visit.shop, parameters["job"], parameters["name"])
    shown = found.media_type.startswith(SHOWN)
    return FileResponse(
        found.path,
        media_type=found.media_type if shown else "application/octet-stream",
        filename=found.name,
        content_disposition_type="inline" if shown else "attachment",
    )


PAGES = (
    Page("/jobs/{job:int}/files", send_file, "trainee", ("POST",), limit_bytes=LIMIT, max_files=1),
    Page("/jobs/{job:int}/files/{name:str}", give_file, "viewer"),
)
