"""The registration: one form to find a vehicle by, however it was typed, and the form it is shown in."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

from twoturn.errors import TwoTurnError

LONGEST: Final = 20
_APART = re.compile(r"[\s\-\u2010-\u2015\u2212.·•:/']+")
_ALIKE = str.maketrans(
    "АВЕКМНОРСТУХІЈЅ" + "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ",
    "ABEKMHOPCTYXIJS" + "ABEZHIKMNOPTYX",
)
"""Letters of other alphabets that plates carry because they look like Latin ones."""


class RegistrationError(TwoTurnError):
    """A registration that cannot be one."""


@dataclass(frozen=True)
class Registration:
    """A registration.

    Attributes
    ----------
    shown
        As it was typed, in upper case, with single blanks.
    key
        What a vehicle is found by: upper case, no blanks, hyphens or dots, letters that look alike as one.
    """

    shown: str
    key: str


def registration_key(text: str) -> str:
    """What a vehicle is found by; nothing is judged, so that a part of a registration can be looked for too."""
    upper = unicodedata.normalize("NFKC", text).upper()
    return _APART.sub("", upper).translate(_ALIKE)


def read_registration(text: str) -> Registration:
    """Understand a registration.

    Parameters
    ----------
    text
        What was typed: upper or lower case, blanks and hyphens as one likes.

    Returns
    -------
    Registration
        The form it is shown in and the form it is found by.

    Raises
    ------
    RegistrationError
        Nothing typed, longer than any plate, or a sign no plate carries.
    """
    shown = " ".join(unicodedata.normalize("NFKC", text).upper().split())
    key = registration_key(text)
    if not key:
        raise RegistrationError("no registration was typed", next_step="type it as the plate shows it")
    wrong = sorted({sign for sign in key if not sign.isalnum() and not unicodedata.category(sign).startswith("M")})
    if wrong:
        raise RegistrationError(
            f'the registration "{shown[:40]}" holds {" ".join(map(_sign_words, wrong[:5]))}',
            allowed="letters, digits, blanks, hyphens and dots",
        )
    if len(key) > LONGEST:
        raise RegistrationError(
            f'the registration "{shown[:40]}…" has {len(key)} signs', allowed=f"at most {LONGEST}, as on the plate"
        )
    return Registration(shown, key)


def _sign_words(sign: str) -> str:
    return sign if sign.isprintable() else f"a sign that cannot be seen (U+{ord(sign):04X})"
