"""From a request of the API to values: what is sent as JSON, asked behind the question mark, or sent as a file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import IO, TypeVar

from pydantic import BaseModel, ValidationError
from starlette.datastructures import UploadFile
from starlette.requests import Request

from twoturn.drive.faults import shown
from twoturn.web.refused import Refused

M = TypeVar("M", bound=BaseModel)
KEY_HEADER = "idempotency-key"


class BodyRefused(Refused):
    """What was sent is not what is wanted; ``fields`` says it key by key."""

    def __init__(self, error: ValidationError, what: str) -> None:
        found = error.errors(include_url=False, include_context=False)
        self.fields = {_place(fault["loc"]): f"{fault['msg']}." for fault in found}
        first = found[0]
        place = _place(first["loc"])
        more = "" if len(found) == 1 else f" (and {len(found) - 1} more)"
        message = f"{what} cannot be used: {place or 'it'} is {shown(first.get('input'))}{more}"
        super().__init__(422, message, allowed=first["msg"], next_step="/api/openapi.json says what is wanted")


@dataclass(frozen=True)
class Upload:
    """A file that was sent: the open file, its name there, and what it is."""

    stream: IO[bytes]
    name: str
    kind: str


async def body_of(request: Request, model: type[M]) -> M:
    """The body as ``model``.

    Raises
    ------
    Refused
        415 where it does not say that it is JSON, 422 where it is none or is not what is wanted.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise Refused(415, f"what was sent says that it is {kind[:80]!r}", allowed="application/json")
    try:
        return model.model_validate_json(await request.body())
    except ValidationError as error:
        raise BodyRefused(error, "what was sent") from None


def query_of(request: Request, model: type[M]) -> M:
    """What stands behind the question mark, as ``model``; of several of one name the last.

    Raises
    ------
    Refused
        422 where it is not what is wanted.
    """
    try:
        return model.model_validate(dict(request.query_params))
    except ValidationError as error:
        raise BodyRefused(error, "what is asked") from None


async def upload_of(request: Request) -> Upload:
    """The form's file, its name and kind; the name is the file's own where the form says none.

    Raises
    ------
    Refused
        422 where there is no file.
    """
    form = await request.form(max_files=1, max_fields=10, max_part_size=10_000)
    file = form.get("file")
    if not isinstance(file, UploadFile):
        raise Refused(422, "no file came", allowed="a form with the fields file, kind and name")
    name, kind = form.get("name"), form.get("kind")
    named = name if isinstance(name, str) and name.strip() else file.filename
    return Upload(file.file, named or "file", kind if isinstance(kind, str) else "")


def key_of(request: Request) -> str:
    """The key that the sender gave this sending; empty where it gave none."""
    return request.headers.get(KEY_HEADER, "")


def _place(path: tuple[int | str, ...]) -> str:
    """Where in the body a fault is, as ``entries[3].km``."""
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in path)
    return text.removeprefix(".")
