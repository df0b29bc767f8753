"""Entries by the API: read as the record keeps them, and added once for each key."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from twoturn.acts.shop import entries as acts
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import held_job
from twoturn.store.records.entries import Entry
from twoturn.web.api.bounds import Anything, Asked
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.read import key_of
from twoturn.web.api.told_job import AddedTold
from twoturn.web.page import MEGABYTE
from twoturn.web.security.numbers import MOST_ID

MOST_WAIT_S = 366 * 86400.0
"""The longest wait that is believed [s]."""


class NewEntries(Asked):
    """Entries to add, all of them or none."""

    entries: Annotated[
        list[Anything],
        Field(min_length=1, max_length=acts.MOST_ROWS, description="each as docs/job.schema.json tells an entry"),
    ]
    after: Annotated[
        int | None, Field(ge=0, le=MOST_ID, description="number of the last entry that the sender knows")
    ] = None
    waited_s: Annotated[
        float,
        Field(ge=0, le=MOST_WAIT_S, description="how long they have waited on the device before they were sent [s]"),
    ] = 0.0


@endpoint("GET", "/api/jobs/{job:int}/entries", "viewer")
def list_entries(call: Call) -> tuple[Entry, ...]:
    """The entries of a job as the record keeps them, with their hashes."""
    return held_job(call.shop, call.number("job")).entries


@endpoint(
    "POST",
    "/api/jobs/{job:int}/entries",
    "trainee",
    answer=AddedTold,
    key=True,
    refuses=(400, 409),
    limit_bytes=2 * MEGABYTE,
)
def add_entries(call: Call, body: NewEntries) -> dict[str, Any]:
    """Add entries to a job, exactly once for each key; the answer tells how the job stands now."""
    number = call.number("job")
    key = key_of(call.request)
    added = acts.add_entries(call.shop, call.actor, number, body.entries, key, body.after, waited_s=body.waited_s)
    return added.as_json() | {"view": job_view(call.shop, number).as_json()}


ENDPOINTS = (list_entries, add_entries)
