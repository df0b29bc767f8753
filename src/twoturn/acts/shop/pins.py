"""PINs: what one must be, its hash, and how long signing in is held back after failures. Pure, no clock."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from twoturn.errors import TwoTurnError

if TYPE_CHECKING:
    from argon2 import PasswordHasher

LEAST_DIGITS, MOST_DIGITS = 4, 32
FREE_FAILURES = 4
"""Failures one after the other before signing in is held back [-]."""
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(hours=12)
REMEMBERED = timedelta(hours=24)
"""How long failures count."""


class PinRefused(TwoTurnError):  # noqa: N818 - it says what is the matter
    """A PIN that nobody may have."""


def check_pin(pin: str) -> str:
    """The PIN as it is hashed; blanks do not count.

    Raises
    ------
    PinRefused
        Not digits alone, too few, too many, or the same digit throughout.
    """
    digits = "".join(pin.split())
    if not re.fullmatch(r"[0-9]+", digits) or not LEAST_DIGITS <= len(digits) <= MOST_DIGITS:
        raise PinRefused(
            "this cannot be a PIN", allowed=f"{LEAST_DIGITS} to {MOST_DIGITS} digits", next_step="choose another one"
        )
    if len(set(digits)) == 1:
        raise PinRefused("a PIN of one digit over and over is guessed first", next_step="choose another one")
    return digits


def hash_pin(pin: str) -> str:
    """The PIN as argon2id hash; slow on purpose, so call it in a thread.

    Raises
    ------
    PinRefused
        The text cannot be a PIN.

    References
    ----------
    RFC 9106, section 4, the recommendation for little memory.
    """
    return _hasher().hash(check_pin(pin))


def pin_fits(pin: str, kept: str | None) -> bool:
    """Whether a PIN is the one whose hash is kept; as slow for somebody who has none."""
    from argon2.exceptions import InvalidHashError, VerificationError

    try:
        fits = _hasher().verify(kept or _nobodys(), "".join(pin.split()))
    except (VerificationError, InvalidHashError):
        return False
    return fits and kept is not None


@lru_cache(maxsize=1)
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher
    from argon2.profiles import RFC_9106_LOW_MEMORY

    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


@lru_cache(maxsize=1)
def _nobodys() -> str:
    import secrets

    return _hasher().hash(secrets.token_hex(16))


def held_back_until(failures: Sequence[datetime], now: datetime) -> datetime | None:
    """Until when signing in is held back after these failures; None where it is free.

    Four failures are free; from the fifth on each doubles the wait, from 30 s to 12 h. A failure that seems to lie in
    the future (the clock was set back) counts as one of this moment.
    """
    extra = len(failures) - FREE_FAILURES
    if extra <= 0:
        return None
    wait = min(FIRST_WAIT * 2 ** min(extra - 1, 20), LONGEST_WAIT)
    until = min(failures[-1], now) + wait
    return until if until > now else None
