"""What a form holds, as texts and files."""

from __future__ import annotations

from starlette.datastructures import UploadFile
from starlette.requests import Request

MOST_FIELDS = 2000
MOST_TEXT = 200_000


async def texts(request: Request) -> dict[str, str]:
    """The form's texts by name, blanks around them taken off; of several of one name the last."""
    form = await request.form(max_fields=MOST_FIELDS, max_part_size=MOST_TEXT)
    return {name: value.strip() for name, value in form.multi_items() if isinstance(value, str)}


async def long_text(request: Request, name: str) -> str:
    """A text of many lines as it was typed, with plain line ends; empty where there is none."""
    form = await request.form(max_fields=MOST_FIELDS, max_part_size=MOST_TEXT)
    value = form.get(name)
    return value.replace("\r\n", "\n") if isinstance(value, str) else ""


async def file_of(request: Request, name: str) -> UploadFile | None:
    """The file of that field; None when none was chosen."""
    form = await request.form()
    value = form.get(name)
    return value if isinstance(value, UploadFile) and value.filename else None


def optional(value: str | None) -> str | None:
    """The text, or None where nothing was typed."""
    return value or None
