"""The act of looking at a drive's text while it is typed: every fault with its line, and the drive to be moved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from twoturn.acts.live_drive import LiveDrive, live_drive, live_json
from twoturn.acts.plan import check_own_steps
from twoturn.drive.check.geometry import refuse_geometry
from twoturn.drive.faults import FaultList
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.drive.path import as_points
from twoturn.drive.toml_lines import LineMap
from twoturn.errors import Fault, FileFaults

NAME = "drive file"
LONGEST_BYTES = 1_000_000


@dataclass(frozen=True)
class Looked:
    """A drive's text, looked at.

    Attributes
    ----------
    drive
        The drive; None where the text cannot be one.
    faults
        Every fault found, in file order.
    live
        The drive at rest; None where it cannot be one.
    parts
        Every wheel with the line on which its table begins, in file order.
    """

    drive: Drive | None
    faults: tuple[Fault, ...]
    live: LiveDrive | None
    parts: tuple[tuple[str, int], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Keys ``faults`` (``line``, ``key``, ``said``), ``live`` (:func:`live_json`, or null), ``parts``, ``good``."""
        return {
            "good": not self.faults,
            "faults": [{"line": fault.line, "key": fault.key, "said": _said(fault)} for fault in self.faults],
            "live": None if self.live is None else live_json(self.live),
            "parts": [{"id": name, "line": line} for name, line in self.parts],
        }


def look_at(text: str, temperature_c: float | None = None) -> Looked:
    """Look at a drive's text.

    Parameters
    ----------
    text
        The text as typed so far.
    temperature_c
        Temperature of the engine [°C]; the file's reference temperature when None.

    Returns
    -------
    Looked
        Never raises for what the text holds: faults are its answer.
    """
    if len(text.encode("utf-8", "surrogatepass")) > LONGEST_BYTES:
        return Looked(None, (Fault(NAME, None, "text", "more than 1 MB", "a text of at most 1 MB"),), None)
    try:
        drive = read_drive(text, NAME)
    except FileFaults as error:
        return Looked(None, tuple(error.faults), None)
    live = live_drive(drive, temperature_c)
    return Looked(drive, tuple(_further(drive, live, text)), live, tuple(_parts(drive, text)))


def _parts(drive: Drive, text: str) -> list[tuple[str, int]]:
    lines = LineMap(text)
    found = {lines.line(("pulley", at)): table.id for at, table in enumerate(drive.file.pulley)}
    return [(name, line) for line, name in found.items() if line is not None]


def _further(drive: Drive, live: LiveDrive, text: str) -> list[Fault]:
    """Faults of a drive that could be read: its path at rest, and steps that follow no step of the plan."""
    found: list[Fault] = []
    faults = FaultList(NAME, text)
    for rest in live.belts:
        if rest.shape is not None:
            refuse_geometry(drive, rest.belt, as_points(rest.shape.centres), faults)
    for check in (faults.raise_if_any, lambda: check_own_steps(drive, text, NAME)):
        try:
            check()
        except FileFaults as error:
            found += error.faults
    return found


def _said(fault: Fault) -> str:
    """The fault in a sentence without the file's name and line, which stand beside it."""
    return f"{fault.key}: found {fault.found}; expected {fault.expected.rstrip('. ')}."
