"""The library of drives: the list, one drive that can be moved, copies, and files read in."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from twoturn.errors import FileFaults, TwoTurnError
from twoturn.web.forms.read import file_of, texts
from twoturn.web.page import KILOBYTE, MEGABYTE, Page
from twoturn.web.pages.drive_editor import LONGEST_PLATE, editor_page
from twoturn.web.refused import Refused, status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread

MOST_SHOWN = 60
"""Drives on the list at once [-]."""


async def drives(request: Request) -> Response:
    """The list of drives, by words where some are looked for."""
    from twoturn.acts.shop.drives import library

    words, every = request.query_params.get("words", "")[:200], "every" in request.query_params
    lines = await in_thread(library, request.state.visit.shop, words, every=every)
    return show(request, "drives/drives.html", lines=lines, most=MOST_SHOWN, words=words, every=every)


async def drive(request: Request) -> Response:
    """One drive: to be moved, what it says, its versions."""
    return await _drive(request)


async def _drive(request: Request, status: int = 200, copy_fault: str = "", copy_name: str = "") -> Response:
    from twoturn.acts.shop.drive_page import drive_page

    number = request.query_params.get("version", "")
    wanted = int(number) if number.isdecimal() and len(number) < 7 else None
    seen = await in_thread(drive_page, request.state.visit.shop, request.path_params["drive"], wanted)
    registration = request.query_params.get("registration", "")[:LONGEST_PLATE]
    values = {"copy_fault": copy_fault, "copy_name": copy_name, "registration": registration}
    return show(request, "drives/drive.html", status, seen=seen, **values)


async def drive_text(request: Request) -> Response:
    """The text of a version, as a file."""
    from twoturn.acts.shop.drives import drive_of

    loaded = await in_thread(drive_of, request.state.visit.shop, request.path_params["version"])
    name = f"drive-{loaded.version.drive_id}-version-{loaded.version.number}.toml"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(loaded.version.text, media_type="application/toml; charset=utf-8", headers=headers)


async def copy_drive(request: Request) -> Response:
    """A copy under another name, opened in the editor."""
    from twoturn.acts.shop.drives import copy_drive as copy

    visit, form = request.state.visit, await texts(request)
    number = form.get("version_id", "")
    try:
        version_id = int(number) if number.isdecimal() and len(number) < 10 else 0
        made = await in_thread(copy, visit.shop, visit.actor, version_id, form.get("name", ""))
    except TwoTurnError as error:
        return await _drive(request, status_of(error), error.sentence, form.get("name", ""))
    return RedirectResponse(f"/drives/{made.drive_id}/edit", 303)


async def offer_drive(request: Request) -> Response:
    """Offer a drive for jobs, or no longer."""
    from twoturn.acts.shop.drives import set_active

    visit, form = request.state.visit, await texts(request)
    drive_id = request.path_params["drive"]
    await in_thread(set_active, visit.shop, visit.actor, drive_id, form.get("offered") == "yes")
    return RedirectResponse(f"/drives/{drive_id}", 303)


async def read_drive_file(request: Request) -> Response:
    """A drive file read in; where it holds faults, the editor opens with its text and tells them."""
    from twoturn.acts.shop.drives import add_drive, text_of_bytes

    visit, upload = request.state.visit, await file_of(request, "file")
    if upload is None:
        raise Refused(422, "no file was chosen", next_step="go back and choose a drive file")
    text = text_of_bytes(await upload.read(), upload.filename or "the file")
    try:
        made = await in_thread(add_drive, visit.shop, visit.actor, text)
    except FileFaults:
        return editor_page(request, 422, text)
    except TwoTurnError as error:
        return editor_page(request, status_of(error), text, error)
    return RedirectResponse(f"/drives/{made.drive_id}", 303)


PAGES = (
    Page("/drives", drives, "viewer"),
    Page("/drives/file", read_drive_file, "trainee", ("POST",), 2 * MEGABYTE, 1),
    Page("/drives/{drive:int}", drive, "viewer"),
    Page("/drives/{drive:int}/copy", copy_drive, "trainee", ("POST",), 20 * KILOBYTE),
    Page("/drives/{drive:int}/offer", offer_drive, "technician", ("POST",), 20 * KILOBYTE),
    Page("/drives/versions/{version:int}/text", drive_text, "viewer"),
)
