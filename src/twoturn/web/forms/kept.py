"""What somebody asked for or typed when the sign-in was lost: carried through it, sent only when confirmed."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass

from starlette.datastructures import UploadFile
from starlette.requests import Request

from twoturn.web.security.csrf import FIELD

_OURS = re.compile(r"/(?![/\\])[^\\\s]*")
_MOST = 200_000


@dataclass(frozen=True)
class Kept:
    """A request to go on with after signing in.

    Attributes
    ----------
    path
        Path and query, on this bench.
    fields
        What was typed, by name, in order; None when the page was only asked for.
    lost_files
        Names of files that were chosen: a page cannot hold those.
    """

    path: str
    fields: tuple[tuple[str, str], ...] | None = None
    lost_files: tuple[str, ...] = ()

    @property
    def shown(self) -> tuple[tuple[str, str], ...]:
        """The fields a person typed: without keys of the bench itself."""
        return tuple(field for field in self.fields or () if field[0] != "key" and field[1])

    @property
    def as_text(self) -> str:
        """As one hidden field holds it."""
        return json.dumps({"path": self.path, "fields": self.fields, "lost_files": self.lost_files})


async def kept_of_request(request: Request) -> Kept:
    """What is kept of a request that came without a sign-in."""
    path = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    length = request.headers.get("content-length", "")
    if request.method != "POST" or not length.isdigit() or int(length) > _MOST:
        return Kept(path)  # a large file is not taken in for somebody nobody knows
    form = await request.form(max_fields=2000, max_part_size=_MOST)
    items = form.multi_items()
    fields = tuple((name, value) for name, value in items if isinstance(value, str) and name != FIELD)
    files = tuple(value.filename for _, value in items if isinstance(value, UploadFile) and value.filename)
    return Kept(path, fields, files)


def kept_of_form(form: Mapping[str, str]) -> Kept | None:
    """What the sign-in's form carries in its field ``kept``; None for nothing, or for what no page of ours wrote."""
    try:
        held = json.loads(form.get("kept", ""))
        fields = held["fields"]
        kept = Kept(
            str(held["path"]),
            None if fields is None else tuple((str(name), str(value)) for name, value in fields),
            tuple(str(name) for name in held["lost_files"]),
        )
    except (ValueError, KeyError, TypeError):
        return None
    return kept if _OURS.fullmatch(kept.path) else None
