"""Files of a job by the API: sent, listed, fetched."""

from __future__ import annotations

from typing import Any, cast

from starlette.responses import FileResponse, Response

from twoturn.acts.shop import evidence
from twoturn.acts.shop.jobs import held_job
from twoturn.web.api.bounds import Told
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.read import Upload
from twoturn.web.page import MEGABYTE

SHOWN_IN_PLACE = ("image/jpeg", "audio/")
"""Media types that a browser may show; anything else is only ever saved."""


class FileTold(Told):
    """A file that was kept."""

    name: str
    sha256: str
    size: int
    media_type: str
    warnings: list[str]


@endpoint("GET", "/api/jobs/{job:int}/files", "viewer")
def list_files(call: Call) -> dict[str, str]:
    """The files of a job: SHA-256 by the name that its entries give them."""
    return dict(held_job(call.shop, call.number("job")).sha256)


@endpoint(
    "POST",
    "/api/jobs/{job:int}/files",
    "trainee",
    status=201,
    answer=FileTold,
    refuses=(400,),
    limit_bytes=260 * MEGABYTE,
)
def keep_file(call: Call, upload: Upload) -> dict[str, Any]:
    """Send a file of a job: a photo, a sound, a capture or a paper; the same content again gives the same answer."""
    kept = evidence.keep_evidence(
        call.shop,
        call.actor,
        call.number("job"),
        upload.stream,
        upload.name,
        cast(evidence.EvidenceKind, upload.kind),  # what is no kind the act refuses
    )
    return kept.as_json()


@endpoint("GET", "/api/jobs/{job:int}/files/{name:str}", "viewer", media=("application/octet-stream", "image/jpeg"))
def fetch_file(call: Call) -> Response:
    """The file that a job knows by a name."""
    found = evidence.evidence_file(call.shop, call.number("job"), call.request.path_params["name"])
    place = "inline" if found.media_type.startswith(SHOWN_IN_PLACE) else "attachment"
    return FileResponse(found.path, media_type=found.media_type, filename=found.name, content_disposition_type=place)


ENDPOINTS = (list_files, keep_file, fetch_file)
