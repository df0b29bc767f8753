"""A drive made or changed: its text beside the drawing with every fault as it is typed, or a list drive by taps."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from twoturn.errors import FileFaults, TwoTurnError
from twoturn.web.forms.read import long_text, texts
from twoturn.web.page import KILOBYTE, Page
from twoturn.web.refused import Refused, status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread

LONGEST_PLATE = 20


def editor_page(
    request: Request, status: int = 200, text: str = "", error: TwoTurnError | None = None, **drive: Any
) -> Response:
    """The editor over a text; ``row`` and ``number`` name the drive and the version that is changed."""
    values = {"row": None, "number": None} | drive
    return show(request, "drives/editor.html", status, text=text, error=error, unsaved=status != 200, **values)


async def new_drive(request: Request) -> Response:
    """The editor with a text to begin with."""
    from twoturn.acts.shop.drive_page import STARTING_TEXT

    return editor_page(request, text=STARTING_TEXT)


async def keep_new_drive(request: Request) -> Response:
    """Keep a new drive; what cannot be kept stays in the editor."""
    from twoturn.acts.shop.drives import add_drive

    visit, text = request.state.visit, await long_text(request, "text")
    try:
        made = await in_thread(add_drive, visit.shop, visit.actor, text)
    except TwoTurnError as error:
        return editor_page(request, status_of(error), text, None if isinstance(error, FileFaults) else error)
    registration = (await texts(request)).get("registration", "")[:LONGEST_PLATE]
    onward = f"?registration={quote(registration)}" if registration else ""
    return RedirectResponse(f"/drives/{made.drive_id}{onward}", 303)


async def edit_drive(request: Request) -> Response:
    """The editor with the newest version of a drive."""
    from twoturn.acts.shop.drives import drive_row, versions

    shop, drive_id = request.state.visit.shop, request.path_params["drive"]
    row, newest = await in_thread(drive_row, shop, drive_id), (await in_thread(versions, shop, drive_id))[0]
    return editor_page(request, text=newest.text, row=row, number=newest.number)


async def keep_changed_drive(request: Request) -> Response:
    """Keep the changed text as the next version; what cannot be kept stays in the editor."""
    from twoturn.acts.shop.drives import change_drive, drive_row

    visit, text = request.state.visit, await long_text(request, "text")
    drive_id, after = request.path_params["drive"], (await texts(request)).get("after", "")
    number = int(after) if after.isdecimal() and len(after) < 7 else None
    try:
        await in_thread(change_drive, visit.shop, visit.actor, drive_id, text, number)
    except TwoTurnError as error:
        row = await in_thread(drive_row, visit.shop, drive_id)
        told = None if isinstance(error, FileFaults) else error
        return editor_page(request, status_of(error), text, told, row=row, number=number)
    return RedirectResponse(f"/drives/{drive_id}", 303)


async def list_by_taps(request: Request) -> Response:
    """The page that makes a list drive by taps; the ``registration`` of a job that waits for it is carried along."""
    from twoturn.acts.list_offered import offered

    registration = request.query_params.get("registration", "")[:LONGEST_PLATE]
    return show(request, "drives/taps.html", offered=offered(), registration=registration)


async def look_at_text(request: Request) -> Response:
    """Every fault of a text as it is typed, and the drive to be moved."""
    from twoturn.acts.drive_faults import look_at

    asked = await _asked(request)
    text = asked.get("text")
    looked = await in_thread(look_at, text if isinstance(text, str) else "")
    return JSONResponse(looked.as_json(), headers={"cache-control": "no-store"})


async def look_at_answers(request: Request) -> Response:
    """What the answers of a list drive make so far."""
    from twoturn.acts.list_drive import list_drive

    made = await in_thread(list_drive, await _asked(request))
    return JSONResponse(made.as_json(), headers={"cache-control": "no-store"})


async def _asked(request: Request) -> dict[str, Any]:
    try:
        asked = json.loads(await request.body())
    except (ValueError, RecursionError):
        asked = None
    if not isinstance(asked, dict):
        raise Refused(422, "the page sent what is no question", next_step="load the page anew")
    return asked


PAGES = (
    Page("/drives/new", new_drive, "trainee"),
    Page("/drives/new", keep_new_drive, "trainee", ("POST",), 800 * KILOBYTE),
    Page("/drives/new/taps", list_by_taps, "trainee"),
    Page("/drives/look", look_at_text, "viewer", ("POST",), 800 * KILOBYTE),
    Page("/drives/look/taps", look_at_answers, "viewer", ("POST",)),
    Page("/drives/{drive:int}/edit", edit_drive, "trainee"),
    Page("/drives/{drive:int}/edit", keep_changed_drive, "trainee", ("POST",), 800 * KILOBYTE),
)
