"""One drive of the library as its page shows it: the drive to be moved, what it says, its versions, what jobs found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from twoturn.acts.drive import solve_text
from twoturn.acts.drive_words import DriveWords, drive_words
from twoturn.acts.live_drive import live_drive, live_json
from twoturn.acts.shop.drives import INVENTED, drive_of, drive_row, versions
from twoturn.acts.shop.earlier import EarlierNotes, earlier_notes
from twoturn.acts.shop.job_view import judged
from twoturn.acts.shop.shop import Shop
from twoturn.errors import Fault, FileFaults
from twoturn.store.faults import NotFound
from twoturn.store.records.drives import Drive as Row
from twoturn.store.records.drives import DriveVersion

STARTING_TEXT = """\
# A drive file. The vehicle maker's data come first. Every key is explained in docs/drive-file.md.

[drive]
name = ""
crank_turns = "clockwise"
source = ""

[[belt]]
teeth = 0

[[pulley]]
id = "crankshaft"
role = "crankshaft"
teeth = 0
mark_deg = 0.0

[[pulley]]
id = "camshaft"
role = "camshaft"
teeth = 0
mark_deg = 0.0
"""


@dataclass(frozen=True)
class DrivePage:
    """A drive of the library as its page shows it.

    Attributes
    ----------
    row, version
        The drive, and the version that is shown.
    versions
        All its versions, newest first.
    source
        Whose numbers it holds; empty where the text is not understood.
    invented
        Made up for practice.
    live
        What the page needs to move it (see :func:`~twoturn.acts.live_drive.live_json`); None without.
    words
        What it says; None where it is not understood.
    faults
        Why it is not understood by this version of the program.
    earlier
        The last notes of each span.
    """

    row: Row
    version: DriveVersion
    versions: tuple[DriveVersion, ...]
    source: str
    invented: bool
    live: dict[str, Any] | None
    words: DriveWords | None
    faults: tuple[Fault, ...]
    earlier: tuple[EarlierNotes, ...]

    @property
    def is_newest(self) -> bool:
        """Whether no newer version is kept."""
        return self.version.id == self.versions[0].id


def drive_page(shop: Shop, drive_id: int, number: int | None = None) -> DrivePage:
    """A drive of the library as its page shows it.

    Parameters
    ----------
    shop
        The shop.
    drive_id
        The drive.
    number
        Number of the version within the drive; the newest when None.

    Raises
    ------
    NotFound
        There is no such drive or version.
    """
    row, known = drive_row(shop, drive_id), versions(shop, drive_id)
    wanted = [version for version in known if number in (None, version.number)]
    if not wanted:
        raise NotFound(f"{row.name} has no version {number}", next_step="choose one of its versions")
    seen = shop.answers.once(("drive page", wanted[0].id), lambda: _seen(shop, wanted[0].id))
    return DrivePage(row, wanted[0], known, *seen, earlier_notes(shop, drive_id, judged))


def _seen(shop: Shop, version_id: int) -> tuple[str, bool, dict[str, Any] | None, DriveWords | None, tuple[Fault, ...]]:
    try:
        loaded = drive_of(shop, version_id)
        solved = solve_text(loaded.version.text, f"drive version {version_id}")
    except FileFaults as error:
        return "", False, None, None, tuple(error.faults)
    drive = loaded.drive
    invented = INVENTED in f"{drive.name} {drive.source}".casefold()
    return drive.source, invented, live_json(live_drive(drive)), drive_words(solved), ()
