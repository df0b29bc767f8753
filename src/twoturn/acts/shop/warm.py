"""Warming up: what the first person to ask would have to wait for is worked out while nobody does."""

from __future__ import annotations

from contextlib import suppress

from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError


def warm_up(shop: Shop) -> None:
    """Work out the list of open jobs, the library of drives and what is due, so that modules and answers are there.

    A fault in the record is left to the page that shows it.
    """
    from twoturn.acts.shop.drives import library
    from twoturn.acts.shop.due import due_soon
    from twoturn.acts.shop.job_view import list_jobs

    with suppress(TwoTurnError):
        list_jobs(shop)
    with suppress(TwoTurnError):
        library(shop)
    with suppress(TwoTurnError):
        due_soon(shop)
