"""The findings a technician can enter, read from ``findings.toml`` beside this file."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cache
from importlib.resources import files
from typing import Final

from twoturn.errors import TwoTurnError

PLACES: Final[tuple[str, ...]] = (
    "belt teeth",
    "belt back",
    "belt edges",
    "belt cords",
    "whole belt",
    "sprocket",
    "roller",
    "tensioner",
    "pump",
    "seals",
    "fasteners",
    "alignment",
    "surroundings",
    "engine",
)


class UnknownFinding(TwoTurnError):  # noqa: N818 - reads as a sentence where it is raised
    """A finding that the catalogue does not hold; the nearest known ones are in ``near``."""

    def __init__(self, asked: str, near: list[Finding]) -> None:
        self.asked = asked
        self.near = near
        offered = ", ".join(f'"{item.id}" ({item.words})' for item in near)
        super().__init__(
            f'no finding is called "{asked}"',
            allowed=f"nearest are {offered}" if offered else "the ids of the findings catalogue",
            next_step="take the one that fits, or enter a remark",
        )


@dataclass(frozen=True)
class Finding:
    """One finding.

    Attributes
    ----------
    id
        Slug, kept for ever.
    words
        What a person sees, as printed.
    where
        What was looked at, one of ``PLACES``.
    look
        How it is seen or felt.
    severe
        True: cure first; it binds the verdict until a signed "cured by …" names it.
    cured_by
        What may answer it.
    in_oil
        False: says nothing on a belt that runs in oil.
    basis
        A source, "common practice" or "judgement".
    """

    id: str
    words: str
    where: str
    look: str
    basis: str
    severe: bool = False
    cured_by: tuple[str, ...] = ()
    in_oil: bool = True


@cache
def catalogue() -> dict[str, Finding]:
    """All findings by id, in the order of the file; read once."""
    text = files("twoturn.findings").joinpath("findings.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["finding"]
    return {row["id"]: Finding(**{**row, "cured_by": tuple(row.get("cured_by", ()))}) for row in rows}


def finding(finding_id: str) -> Finding:
    """The finding of that id.

    Raises
    ------
    UnknownFinding
        There is none; the error names the nearest known ones.
    """
    known = catalogue().get(finding_id)
    if known is None:
        raise UnknownFinding(finding_id, nearest(finding_id))
    return known


def nearest(asked: str, count: int = 3) -> list[Finding]:
    """The known findings nearest to an id or to words, best first; none when nothing comes near.

    Words shared with the id, the printed words, the place and the way to look count most, likeness of spelling next.
    """
    wanted = _words(asked)
    scored = [(_likeness(asked, wanted, item), item) for item in catalogue().values()]
    near = sorted((pair for pair in scored if pair[0] >= 0.45), key=lambda pair: -pair[0])
    return [item for _, item in near[:count]]


def _words(text: str) -> set[str]:
    """Its words in lower case, without endings that only mark the plural or a participle."""
    found = re.findall(r"[a-z]{3,}", text.lower())
    return {re.sub(r"(ing|ed|es|s)$", "", word) for word in found} - {"the", "and", "with", "for", "out"}


def _likeness(asked: str, wanted: set[str], item: Finding) -> float:
    names = _words(f"{item.id} {item.words}")
    around = _words(f"{item.where} {item.look}")
    shared = sum(1.0 if word in names else 0.4 if word in around else 0.0 for word in wanted)
    by_word = shared / len(wanted) if wanted else 0.0
    by_letter = max(SequenceMatcher(None, asked.lower(), text).ratio() for text in (item.id, item.words))
    return max(by_word, by_letter) + 0.05 * min(by_word, by_letter)
