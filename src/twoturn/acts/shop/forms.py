"""What a form's texts mean: each field read by itself, so that one answer says everything that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TypeVar

from twoturn.errors import TwoTurnError

T = TypeVar("T")


class FormRefused(TwoTurnError):  # noqa: N818 - it holds what is wrong, field by field
    """A form with fields that cannot be.

    Attributes
    ----------
    fields
        A sentence for each field at fault, by its name.
    """

    def __init__(self, fields: Mapping[str, str]) -> None:
        self.fields = dict(fields)
        first = next(iter(self.fields.values())).rstrip(".")
        more = "" if len(self.fields) == 1 else f" (and {len(self.fields) - 1} more)"
        super().__init__(f"{first[0].lower() if first[:2].istitle() else first[0]}{first[1:]}{more}")


class FormReader:
    """Reads fields one by one and keeps what is wrong with each.

    Parameters
    ----------
    texts
        What was typed, by field.
    """

    def __init__(self, texts: Mapping[str, str]) -> None:
        self._texts = texts
        self._faults: dict[str, str] = {}

    def read(self, name: str, reader: Callable[[str], T]) -> T | None:
        """What ``reader`` makes of a field; None where nothing was typed or it was refused."""
        text = self._texts.get(name, "").strip()
        if not text:
            return None
        try:
            return reader(text)
        except TwoTurnError as error:
            self.refuse(name, error.sentence)
            return None

    def text(self, name: str, longest: int = 200) -> str | None:
        """One line of text with single blanks, None where nothing was typed."""
        return self.read(name, lambda text: _short(" ".join(text.split()), longest))

    def lines(self, name: str, longest: int = 2000) -> str | None:
        """Text of several lines, None where nothing was typed."""
        return self.read(name, lambda text: _short("\n".join(line.rstrip() for line in text.splitlines()), longest))

    def needed(self, name: str, sentence: str) -> None:
        """Refuse a field in which nothing was typed."""
        if not self._texts.get(name, "").strip():
            self.refuse(name, sentence)

    def refuse(self, name: str, sentence: str) -> None:
        """Say what is wrong with a field; the first sentence stays."""
        self._faults.setdefault(name, sentence[0].upper() + sentence[1:])

    def settle(self) -> None:
        """Refuse the form where a field is at fault.

        Raises
        ------
        FormRefused
            With every fault.
        """
        if self._faults:
            raise FormRefused(self._faults)


def read_day(text: str) -> date:
    """A day as ``2016-05-30`` or ``30.5.2016``.

    Raises
    ------
    TwoTurnError
        No day, or one that can be read in two ways.
    """
    try:
        if "." in text:
            day, month, year = (int(part) for part in text.split("."))
            return date(year, month, day)
        return date.fromisoformat(text)
    except ValueError:
        raise TwoTurnError(f'"{text[:40]}" is no day', allowed="a day such as 2016-05-30 or 30.5.2016") from None


def past_day(today: date) -> Callable[[str], date]:
    """Reads a day that lies not after ``today``."""

    def read(text: str) -> date:
        day = read_day(text)
        if day > today:
            raise TwoTurnError(f"{day.isoformat()} has not come yet", allowed=f"up to today, {today.isoformat()}")
        if day.year < 1950:
            raise TwoTurnError(f"{day.isoformat()} is too long ago", allowed="1950 or later")
        return day

    return read


def one_of(*choices: str) -> Callable[[str], str]:
    """Reads one of some words."""

    def read(text: str) -> str:
        if text not in choices:
            raise TwoTurnError(f'"{text[:40]}" is none of the choices', allowed=", ".join(choices))
        return text

    return read


def yes_no(text: str) -> bool:
    """Reads ``yes`` or ``no``."""
    return one_of("yes", "no")(text) == "yes"


def _short(text: str, longest: int) -> str:
    if len(text) > longest:
        raise TwoTurnError(f"this has {len(text)} letters", allowed=f"at most {longest}")
    if any(ord(sign) < 32 and sign != "\n" for sign in text):
        raise TwoTurnError("this holds a sign that cannot be printed", next_step="type it by hand")
    return text
