"""Numbers that a page's script sends along: whatever comes in their place, a number that can be used or none."""

from __future__ import annotations

import math
from contextlib import suppress

MOST_S = 1e9
"""The longest time that counts [s]; how far back an entry may be dated is for the acts to say."""
MOST_NUMBER = 999_999_999
"""The largest number that anything in a record has [-]."""


def seconds_of(value: object) -> float:
    """A time that a script measured [s], as number or text: between 0 and a lifetime, 0 where it is none."""
    if isinstance(value, int):
        return float(min(max(value, 0), int(MOST_S)))
    found = math.nan
    if isinstance(value, float | str):
        with suppress(ValueError):
            found = float(value)
    return 0.0 if math.isnan(found) else min(max(found, 0.0), MOST_S)


def number_of(value: object) -> int | None:
    """The number of an entry, a vehicle or the like, as number or text [-]; None where it can be none."""
    if isinstance(value, str):
        plain = value.strip()
        if not (plain.isascii() and plain.isdecimal() and len(plain) <= len(str(MOST_NUMBER))):
            return None
        value = int(plain)
    if isinstance(value, bool) or not isinstance(value, int):
        return None
    return value if 0 <= value <= MOST_NUMBER else None
