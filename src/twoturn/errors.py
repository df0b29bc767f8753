"""One family of errors: each names the bad value, what is allowed, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass


class TwoTurnError(Exception):
    """Base of every error a person may see.

    Parameters
    ----------
    message
        What is wrong, in one sentence that contains the bad value.
    allowed
        What would be right; empty when the message already says it.
    next_step
        What the person does next; empty when it is plain.
    """

    def __init__(self, message: str, *, allowed: str = "", next_step: str = "") -> None:
        self.message = message
        self.allowed = allowed
        self.next_step = next_step
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """The whole sentence: what is wrong; what is allowed; what to do next."""
        parts = [self.message.rstrip(". ")]
        if self.allowed:
            parts.append(f"allowed: {self.allowed.rstrip('. ')}")
        if self.next_step:
            parts.append(self.next_step.rstrip(". "))
        return "; ".join(parts) + "."


class QuantityError(TwoTurnError):
    """A number or unit that cannot be understood, or units that do not fit each other."""


class RecordingError(TwoTurnError):
    """A sound or sensor file that cannot be read or used."""


class DomainError(TwoTurnError):
    """A computation asked for outside the range in which its formula holds."""


@dataclass(frozen=True)
class Fault:
    """One fault found in a file a person wrote (a drive file or a job file).

    Attributes
    ----------
    file
        Name of the file as it was given.
    line
        Line number counted from 1, or None where it cannot be known.
    key
        The key or table at fault, written like ``pulley[2].teeth``.
    found
        The value found, as written.
    expected
        What would be right.
    """

    file: str
    line: int | None
    key: str
    found: str
    expected: str

    @property
    def sentence(self) -> str:
        """One sentence that names file, line, key, what was found and what would be right."""
        place = self.file if self.line is None else f"{self.file}, line {self.line}"
        return f"{place}: {self.key}: found {self.found}; expected {self.expected.rstrip('. ')}."


class FileFaults(TwoTurnError):  # noqa: N818 - it holds faults; each error of the family names what it is
    """A file a person wrote holds one or more faults; all of them are in ``faults``, in file order."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = faults
        more = "" if len(faults) == 1 else f" (and {len(faults) - 1} more)"
        super().__init__(faults[0].sentence.rstrip(".") + more)
