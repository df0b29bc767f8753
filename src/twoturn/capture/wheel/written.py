"""Crank wheels as the trade writes them, compared: ``60-2``, ``36-2-2-2``, ``12+1``, ``58`` without a gap."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from twoturn.capture.wheel.shape import Wheel
from twoturn.errors import DomainError

MOST_PLACES, MOST_SECTIONS = 400, 8


@dataclass(frozen=True)
class Stated:
    """A crank wheel that a person states.

    Attributes
    ----------
    words
        As written: ``5-1``, ``60-2``, ``36-2-2``, ``12+1``, ``58``.
    places
        Places in one turn [-].
    gaps
        Teeth lacking in each gap [-].
    extra
        Extra teeth [-].
    """

    words: str
    places: int
    gaps: tuple[int, ...] = ()
    extra: int = 0

    @property
    def steps(self) -> tuple[int, ...] | None:
        """Steps of a turn from the first tooth after the gap [places]; None where the words leave the places open."""
        if len(self.gaps) != 1:
            return None
        return (*(1,) * (self.places - self.gaps[0] - 1), self.gaps[0] + 1)

    @property
    def even(self) -> bool:
        """Whether no place is marked."""
        return not self.gaps and not self.extra

    def is_shown_by(self, steps: Sequence[int]) -> bool:
        """Whether a section of these steps [places] makes this wheel, once or several times in a turn."""
        if self.even:
            return len(set(steps)) == 1
        sections = range(1, MOST_SECTIONS + 1)
        return any(same_wheel(self.words, Wheel(tuple(steps), count).text) is True for count in sections)


def stated_wheel(words: str) -> Stated:
    """A crank wheel from its words.

    Parameters
    ----------
    words
        ``60-2``, ``36-2-2-2``, ``12+1`` or ``58`` without a gap.

    Raises
    ------
    DomainError
        Words that are no wheel.
    """
    found = re.fullmatch(r"(\d{1,4})((?:-\d{1,3})*|\+\d{1,2})", words.strip())
    places = int(found[1]) if found else 0
    gaps = tuple(map(int, re.findall(r"-(\d+)", found[2]))) if found else ()
    extra = int(found[2][1:]) if found and found[2].startswith("+") else 0
    if not 2 <= places <= MOST_PLACES or 0 in gaps or sum(gaps) > places // 2 or ("+" in words and extra != 1):
        allowed = "places and the teeth lacking in each gap: 60-2, 36-2-2-2; 12+1; or 58 without a gap"
        raise DomainError(f"“{words.strip()}” is no crank wheel", allowed=allowed)
    return Stated(words.strip(), places, gaps, extra)


def same_wheel(stated: str, seen: str) -> bool | None:
    """Whether two wheels in words are the same, whichever gap is named first.

    Parameters
    ----------
    stated
        The wheel as a drive file states it.
    seen
        The wheel as it was recognised in a recording.

    Returns
    -------
    bool or None
        None where the number of teeth of an even wheel could not be told.
    """
    if "number unknown" in seen:
        return None
    return _parsed(stated) == _parsed(seen)


def _parsed(words: str) -> tuple[int, str, tuple[int, ...]] | str:
    """Places, sign and gaps in order of size; words that are no wheel as they stand."""
    text = re.sub(r" places, no gap$", "", words.strip())
    found = re.fullmatch(r"(\d+)((?:-\d+)*|\+\d+)", text)
    if found is None:
        return words
    gaps = tuple(sorted(int(part) for part in re.findall(r"\d+", found[2])))
    return int(found[1]), found[2][:1], gaps
