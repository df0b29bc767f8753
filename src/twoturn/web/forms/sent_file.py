"""A recording or photo as a form or the queue sends it, with what is told of it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from twoturn.web.forms.given import given_of_form
from twoturn.web.forms.numbers import number_of, seconds_of
from twoturn.web.refused import Refused

if TYPE_CHECKING:
    from twoturn.acts.shop.evidence import EvidenceKind
    from twoturn.acts.shop.recording_asked import SentFile, Told

MOST_FIELDS = 60
MOST_TEXT = 20_000
KINDS: tuple[EvidenceKind, ...] = ("photo", "sound", "capture", "paper")
CAMS = "cams."
"""What stands before a camshaft in the name of the input for its channel."""


async def form_of(request: Request) -> FormData:
    """The form with its one file; a file waits on the disk, not in memory."""
    return await request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=MOST_TEXT)


async def sent_file(request: Request) -> SentFile:
    """The file of a form, its kind, and what is told of it.

    Raises
    ------
    Refused
        422, without a file or of no kind.
    """
    from twoturn.acts.shop.recording_asked import SentFile

    form = await form_of(request)
    upload = form.get("file")
    if not isinstance(upload, UploadFile) or not upload.filename:
        raise Refused(422, "no file came", next_step="choose a file, or record one")
    kind = next((one for one in KINDS if one == form.get("kind")), None)
    if kind is None:
        raise Refused(422, "it was not said what the file is", allowed=", ".join(KINDS))
    return SentFile(upload.file, upload.filename, kind, text_of(form, "asked") or None, told_of(request, form))


def told_of(request: Request, form: FormData) -> Told:
    """What a person tells of a recording."""
    from twoturn.acts.shop.recorded import recorded_of
    from twoturn.acts.shop.recording_asked import Told
    from twoturn.acts.shop.settings import units_here

    visit = request.state.visit
    pairs = [(name, value) for name, value in form.multi_items() if isinstance(value, str)]
    settings = _settings(text_of(form, "settings"))
    return Told(
        given=given_of_form(pairs),
        units=units_here(visit.shop, visit.units),
        crank=text_of(form, "crank") or None,
        cams={name.removeprefix(CAMS): value for name, value in pairs if name.startswith(CAMS) and value},
        edge=text_of(form, "edge") or None,
        recorded=None if settings is None else recorded_of(settings),
        waited_s=seconds_of(text_of(form, "waited_s")),
        replaces=number_of(text_of(form, "replaces")),
    )


def text_of(form: FormData, name: str) -> str:
    """A text of a form; empty where there is none."""
    value = form.get(name)
    return value.strip() if isinstance(value, str) else ""


def _settings(text: str) -> dict[str, Any] | None:
    """What a browser read back of its recording; None where no page recorded."""
    if not text:
        return None
    try:
        found = json.loads(text)
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}
