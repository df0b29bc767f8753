"""What the bench refuses, in one shape: a status, a sentence, what to do next."""

from __future__ import annotations

from http import HTTPStatus

from twoturn.errors import TwoTurnError


class Refused(TwoTurnError):  # noqa: N818 - it is what the bench says, not a slip of the program
    """A request that the bench refuses.

    Attributes
    ----------
    status
        HTTP status.
    """

    def __init__(self, status: int, message: str, *, allowed: str = "", next_step: str = "") -> None:
        self.status = status
        super().__init__(message, allowed=allowed, next_step=next_step)


class SignInNeeded(Refused):
    """Nobody is signed in, or no longer; what was typed is kept."""

    def __init__(self) -> None:
        super().__init__(401, "nobody is signed in here, or the sign-in has ended", next_step="sign in again")


STATUS_BY_ERROR = {
    "NotAllowed": HTTPStatus.FORBIDDEN,
    "WrongPin": HTTPStatus.UNPROCESSABLE_ENTITY,
    "LockedOut": HTTPStatus.TOO_MANY_REQUESTS,
    "NotFound": HTTPStatus.NOT_FOUND,
    "KeyInFlight": HTTPStatus.CONFLICT,
    "OthersFirst": HTTPStatus.CONFLICT,
    "KeyReused": HTTPStatus.UNPROCESSABLE_ENTITY,
    "KeyMissing": HTTPStatus.BAD_REQUEST,
    "TooLarge": HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    "StoreError": HTTPStatus.SERVICE_UNAVAILABLE,
}
"""Which status an error of the acts is told with; the first class up its family that is named here counts."""


def status_of(error: TwoTurnError) -> int:
    """HTTP status for an error: its own, or by its family, or 422 for what a person can correct."""
    if isinstance(error, Refused):
        return error.status
    for family in type(error).__mro__:
        if family.__name__ in STATUS_BY_ERROR:
            return int(STATUS_BY_ERROR[family.__name__])
    return int(HTTPStatus.UNPROCESSABLE_ENTITY)
