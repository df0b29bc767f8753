"""The vehicle identification number: its signs, its check digit, and where it was given.

The check digit is mandatory in North America and in China; ISO 3779 does not ask for it, so that most European numbers
fail it legitimately: there it is a hint and nothing more.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

from twoturn.errors import TwoTurnError

LENGTH: Final = 17
CHECK_PLACE: Final = 8
"""Place of the check digit, counted from 0: the ninth sign."""

VALUES: Final[dict[str, int]] = {
    **{digit: int(digit) for digit in "0123456789"},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7,
    "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}
"""What each sign counts (49 CFR 565, ISO 3779); I, O and Q are not among them."""

WEIGHTS: Final = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
"""What each place weighs (49 CFR 565)."""

REGIONS: Final[tuple[tuple[str, str], ...]] = (
    ("12345", "North America"),
    ("L", "China"),
    ("ABCDEFGH", "Africa"),
    ("JKMNPR", "Asia"),
    ("STUVWXYZ", "Europe"),
    ("67", "Oceania"),
    ("890", "South America"),
)
"""Where a number was given, by its first sign (ISO 3780)."""

MANDATORY: Final = frozenset({"North America", "China"})
CONFUSED: Final[dict[str, str]] = {"I": "1", "O": "0", "Q": "0 or 9"}
_APART = re.compile(r"[\s\-\u2010-\u2015\u2212.·*]+")


class VinError(TwoTurnError):
    """A vehicle identification number that cannot be one."""


@dataclass(frozen=True)
class Vin:
    """A vehicle identification number that can be one.

    Attributes
    ----------
    number
        Its 17 signs, upper case, nothing in between.
    region
        Where it was given, such as ``"Europe"``.
    check_digit
        The check digit its other signs give.
    hint
        A sentence where the check digit does not fit and need not; empty when there is nothing to say.
    """

    number: str
    region: str
    check_digit: str
    hint: str = ""

    @property
    def fits(self) -> bool:
        """Whether the check digit fits."""
        return self.number[CHECK_PLACE] == self.check_digit

    @property
    def shown(self) -> str:
        """As printed: maker, description and the vehicle's own part apart, ``1M8 GDM9AX KP042788``."""
        return f"{self.number[:3]} {self.number[3:9]} {self.number[9:]}"


def normal_vin(text: str) -> str:
    """What was typed in upper case without blanks, hyphens, dots and the stars of a stamped number; nothing judged."""
    return _APART.sub("", unicodedata.normalize("NFKC", text)).upper()


def read_vin(text: str) -> Vin:
    """Understand a vehicle identification number.

    Parameters
    ----------
    text
        What was typed: upper or lower case, blanks and hyphens as one likes.

    Returns
    -------
    Vin
        The number, with a hint where its check digit does not fit and need not.

    Raises
    ------
    VinError
        It has not 17 signs, holds a sign no such number holds, or its check digit is wrong where one is mandatory.

    References
    ----------
    ISO 3779; 49 CFR 565.15 (check digit).
    """
    number = normal_vin(text)
    _check_signs(number)
    region = region_of(number)
    wanted = check_digit(number)
    if number[CHECK_PLACE] == wanted:
        return Vin(number, region, wanted)
    said = f"the ninth sign of {number} is {number[CHECK_PLACE]}, and by the other signs it would be {wanted}"
    if region in MANDATORY:
        raise VinError(
            f"{said}; numbers given in {region} carry a check digit there, so that a sign is misread",
            next_step="compare it with the plate sign by sign",
        )
    hint = f"{said[0].upper()}{said[1:]}: that means nothing where no check digit is used, as is usual in {region}; "
    return Vin(number, region, wanted, hint + "look at the plate once more.")


def region_of(number: str) -> str:
    """Where a number was given, by its first sign."""
    return next(name for signs, name in REGIONS if number[0] in signs)


def check_digit(number: str) -> str:
    """The check digit that belongs to 17 signs: the weighted sum modulo 11, with X for ten.

    Parameters
    ----------
    number
        The 17 signs, upper case; the ninth does not count.

    References
    ----------
    49 CFR 565.15, tables III to V.
    """
    rest = sum(VALUES[sign] * weight for sign, weight in zip(number, WEIGHTS, strict=True)) % 11
    return "X" if rest == 10 else str(rest)


def _check_signs(number: str) -> None:
    """Refuse signs and lengths that no such number has."""
    wrong = sorted({sign for sign in number if sign not in VALUES})
    meant = [f"{CONFUSED[sign]} instead of {sign}" for sign in wrong if sign in CONFUSED]
    if meant:
        raise VinError(
            f"{number[:40]} holds {', '.join(sign for sign in wrong if sign in CONFUSED)}, which no vehicle "
            "identification number holds",
            allowed="digits and letters but I, O and Q",
            next_step=f"look at the plate again, perhaps {', '.join(meant)}",
        )
    if wrong:
        raise VinError(
            f'"{number[:40]}" holds {" ".join(wrong[:5])}, which no vehicle identification number holds',
            allowed="digits and letters but I, O and Q",
            next_step="type it as the plate or the papers show it",
        )
    if len(number) != LENGTH:
        raise VinError(
            f"{number[:40] or 'nothing'} has {len(number)} signs",
            allowed=f"the {LENGTH} signs of a vehicle identification number",
            next_step="read it again; the chassis number of an older vehicle goes into the note",
        )
