"""Drives by the API: the library, versions, texts and plans; looked at, kept, changed, copied."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field
from starlette.responses import Response

from twoturn.acts.drive_faults import look_at
from twoturn.acts.shop import drives as acts
from twoturn.plan import make_plan
from twoturn.store.records.drives import DriveVersion
from twoturn.web.api.bounds import Asked, DriveText, Name, Query, Told
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.told_plan import PlanTold
from twoturn.web.page import MEGABYTE
from twoturn.web.security.numbers import MOST_ID

LIMIT = 2 * MEGABYTE
TOML = "application/toml"


class NewDrive(Asked):
    """A drive to keep."""

    text: DriveText


class ChangedDrive(Asked):
    """A changed drive, kept as its next version."""

    text: DriveText
    after: Annotated[int | None, Field(ge=0, le=MOST_ID, description="number of the version that was changed")] = None


class Copy(Asked):
    """A copy of a version, to be changed."""

    name: Name


class Offered(Asked):
    """Whether a drive is offered for new jobs."""

    offered: bool


class Find(Query):
    """Which drives."""

    words: Annotated[str, Field(max_length=200, description="words that name, source or facts must hold")] = ""
    every: Annotated[bool, Field(description="also those that are no longer offered")] = False


class DriveFault(Told):
    """A fault of a drive's text."""

    line: int | None
    key: str
    said: str


@endpoint("GET", "/api/drives", "viewer")
def find_drives(call: Call, query: Find) -> tuple[acts.LibraryLine, ...]:
    """The library: each drive with its newest version."""
    return acts.library(call.shop, query.words, every=query.every)


@endpoint("POST", "/api/drives", "trainee", status=201, limit_bytes=LIMIT)
def keep_drive(call: Call, body: NewDrive) -> DriveVersion:
    """Keep a new drive."""
    return acts.add_drive(call.shop, call.actor, body.text)


@endpoint("POST", "/api/drives/look", "viewer", limit_bytes=LIMIT, answer=list[DriveFault])
def look_at_drive(call: Call, body: NewDrive) -> list[dict[str, Any]]:  # noqa: ARG001 - acts take a call
    """Every fault of a drive's text; nothing is kept."""
    found: list[dict[str, Any]] = look_at(body.text).as_json()["faults"]
    return found


@endpoint("GET", "/api/drives/{drive:int}/versions", "viewer")
def list_versions(call: Call) -> tuple[DriveVersion, ...]:
    """Every version of a drive, the newest first."""
    return acts.versions(call.shop, call.number("drive"))


@endpoint("POST", "/api/drives/{drive:int}/versions", "trainee", status=201, limit_bytes=LIMIT)
def change_drive(call: Call, body: ChangedDrive) -> DriveVersion:
    """Keep a changed text as the next version of a drive; jobs go on with theirs."""
    return acts.change_drive(call.shop, call.actor, call.number("drive"), body.text, body.after)


@endpoint("PUT", "/api/drives/{drive:int}/offered", "technician", status=204)
def offer_drive(call: Call, body: Offered) -> None:
    """Offer a drive for new jobs, or no longer."""
    acts.set_active(call.shop, call.actor, call.number("drive"), body.offered)


@endpoint("GET", "/api/versions/{version:int}", "viewer")
def show_version(call: Call) -> DriveVersion:
    """A version of a drive."""
    return acts.drive_of(call.shop, call.number("version")).version


@endpoint("GET", "/api/versions/{version:int}/text", "viewer", media=(TOML,))
def show_text(call: Call) -> Response:
    """The drive file of a version."""
    version = acts.drive_of(call.shop, call.number("version")).version
    headers = {"content-disposition": f'attachment; filename="drive-{version.id}.toml"'}
    return Response(version.text, media_type=f"{TOML}; charset=utf-8", headers=headers)


@endpoint("GET", "/api/versions/{version:int}/plan", "viewer", answer=PlanTold)
def show_drive_plan(call: Call) -> dict[str, Any]:
    """The steps for a version of a drive on any vehicle, as twoturn plan prints them."""
    return make_plan(acts.drive_of(call.shop, call.number("version")).drive).as_json()


@endpoint("POST", "/api/versions/{version:int}/copies", "trainee", status=201)
def copy_drive(call: Call, body: Copy) -> DriveVersion:
    """Copy a version as a new drive of another name."""
    return acts.copy_drive(call.shop, call.actor, call.number("version"), body.name)


ENDPOINTS = (
    find_drives,
    keep_drive,
    look_at_drive,
    list_versions,
    change_drive,
    offer_drive,
    show_version,
    show_text,
    show_drive_plan,
    copy_drive,
)
