"""The record as a whole by the API: looked through, and a backup to take along."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from twoturn.acts.shop import record as acts
from twoturn.web.api.bounds import Told
from twoturn.web.api.endpoint import Call, endpoint

ZIP = "application/zip"


class ProblemTold(Told):
    """Something that is not as it was written."""

    kind: str
    where: str
    sentence: str


class VerifiedTold(Told):
    """What was looked through, and what was found."""

    whole: bool
    problems: list[ProblemTold]
    jobs: int
    entries: int
    sheets: int
    files: int


@endpoint("GET", "/api/record", "lead", answer=VerifiedTold)
def verify_record(call: Call) -> dict[str, Any]:
    """Look through the whole record: is all of it as it was written."""
    found = acts.verify(call.shop)
    problems = [{"kind": one.kind, "where": one.where, "sentence": one.sentence} for one in found.problems]
    counts = {name: getattr(found, name) for name in ("jobs", "entries", "sheets", "files")}
    return {"whole": found.whole, "problems": problems} | counts


@endpoint("POST", "/api/backup", "lead", media=(ZIP,))
def fetch_backup(call: Call) -> Response:
    """The whole record as one file, for twoturn restore; it is read again before it is given."""
    folder = tempfile.TemporaryDirectory(prefix="twoturn-")
    name = f"twoturn-{call.shop.now():%Y-%m-%d-%H%M%S}.zip"
    try:
        done = acts.backup(call.shop, Path(folder.name) / name, f"{name}, fetched by {call.actor.name}")
    except BaseException:
        folder.cleanup()
        raise
    gone = BackgroundTask(folder.cleanup)
    return FileResponse(done.path, media_type=ZIP, filename=name, background=gone)


ENDPOINTS = (verify_record, fetch_backup)
