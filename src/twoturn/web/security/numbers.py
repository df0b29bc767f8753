"""Numbers in addresses: one that no row of the record can have is refused before anything looks for it."""

from __future__ import annotations

from starlette.requests import HTTPConnection

from twoturn.web.refused import Refused

MOST_ID = 2**31 - 1
"""The largest number that a row of the record can have."""


def check_numbers(connection: HTTPConnection) -> None:
    """Refuse an address with a number that is too large.

    Raises
    ------
    Refused
        404.
    """
    for name, value in connection.path_params.items():
        if isinstance(value, int) and value > MOST_ID:
            raise Refused(404, f"there is no {name} of that number", next_step="go to the shop's page")
