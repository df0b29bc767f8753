"""The least role of a page, and whether the one who asks has it."""

from __future__ import annotations

from twoturn.web.page import ANYONE
from twoturn.web.refused import Refused, SignInNeeded
from twoturn.web.security.sessions import Visit

RANKS = {"viewer": 1, "trainee": 2, "technician": 3, "lead": 4}


def check_role(visit: Visit, least: str) -> None:
    """Refuse a person whose role is too low for a page.

    Raises
    ------
    SignInNeeded
        Nobody is signed in.
    Refused
        403, with the role that is needed.
    """
    if least == ANYONE:
        return
    if visit.actor is None:
        raise SignInNeeded
    if RANKS[visit.actor.role] < RANKS[least]:
        raise Refused(
            403,
            f"{visit.actor.name} is here as {visit.actor.role}; this needs a {least}",
            next_step=f"ask a {least} to do it, or a lead to change the role",
        )
