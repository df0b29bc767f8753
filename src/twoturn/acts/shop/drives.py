"""The library of drives: every version kept, the shipped ones among them, and the drive of a version understood."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from twoturn.acts.drive_faults import look_at
from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.drive_words import facts_words
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.shop import Shop
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.drive.rename import renamed
from twoturn.drive.toml_text import decode
from twoturn.errors import DomainError, FileFaults
from twoturn.store.records import drives as kept
from twoturn.store.records import jobs as kept_jobs

if TYPE_CHECKING:
    from sqlalchemy import Connection

_Facts = tuple[kept.DriveVersion, str, str, bool]
SHIPPED_BY = "shipped with twoturn"
INVENTED = "invented"
LONGEST_SHORT_NAME = 60


@dataclass(frozen=True)
class LoadedDrive:
    """A version of the library with its drive understood.

    Attributes
    ----------
    version
        The version as it was kept.
    drive
        The drive that its text describes.
    """

    version: kept.DriveVersion
    drive: Drive


@dataclass(frozen=True)
class LibraryLine:
    """A drive in the list of the library.

    Attributes
    ----------
    drive_id, version_id, number
        The drive, its newest version, and that version's number within the drive.
    name, source
        Its name, and whose data it holds.
    facts
        Belts, tensioners and whether it has coordinates, in a few words.
    invented
        Made up for practice: no job on a real vehicle may follow it.
    active
        False where it is not offered any more.
    is_list
        Without coordinates.
    by, at
        Who kept the newest version when.
    jobs
        How many jobs were done by it, any version [-].
    """

    drive_id: int
    version_id: int
    number: int
    name: str
    source: str
    facts: str
    invented: bool
    active: bool
    is_list: bool
    by: str
    at: datetime
    jobs: int


def drive_of(shop: Shop, version_id: int) -> LoadedDrive:
    """The drive of a version; understood once while the bench runs.

    Raises
    ------
    NotFound
        There is no such version.
    FileFaults
        A text kept by another program version is not understood by this one.
    """

    def make() -> LoadedDrive:
        with shop.reading() as connection:
            version = kept.drive_version(connection, version_id)
        name = f"drive version {version_id}"
        return LoadedDrive(version, read_drive(version.text, name))

    return shop.drives.once(version_id, make)


def newest(shop: Shop, drive_id: int) -> LoadedDrive:
    """The newest version of a drive.

    Raises
    ------
    NotFound
        There is no such drive.
    """
    with shop.reading() as connection:
        kept.drive(connection, drive_id)
        version_id = kept.latest_ids(connection)[drive_id]
    return drive_of(shop, version_id)


def library(shop: Shop, words: str = "", *, every: bool = False) -> tuple[LibraryLine, ...]:
    """The drives of the library, the shop's own first, by name.

    Parameters
    ----------
    shop
        The shop.
    words
        Only those in whose name, source or facts every one of these words stands.
    every
        Also those that are not offered any more.
    """
    with shop.reading() as connection:
        drives = kept.library(connection)
        latest = kept.latest_ids(connection)
        jobs = kept_jobs.jobs_by_drive(connection)
    found = [
        _line(shop, drive, latest[drive.id], jobs.get(drive.id, 0))
        for drive in drives
        if drive.id in latest and (every or drive.active)
    ]
    wanted = words.casefold().split()
    lines = [line for line in found if all(word in _searched(line) for word in wanted)]
    return tuple(sorted(lines, key=lambda line: (line.invented, line.name.casefold(), line.drive_id)))


def _searched(line: LibraryLine) -> str:
    return f"{line.name} {line.source} {line.facts}".casefold()


def _line(shop: Shop, drive: kept.Drive, version_id: int, jobs: int) -> LibraryLine:
    known: dict[int, _Facts] = shop.answers.once("facts of drives", dict)
    found = known.get(version_id)
    if found is None:
        found = known[version_id] = _facts(shop, version_id)
    version, facts, source, is_list = found
    return LibraryLine(
        drive_id=drive.id,
        version_id=version_id,
        number=version.number,
        name=drive.name,
        source=source,
        facts=facts,
        invented=INVENTED in f"{drive.name} {source}".casefold(),
        active=drive.active,
        is_list=is_list,
        by=version.by,
        at=version.at,
        jobs=jobs,
    )


def _facts(shop: Shop, version_id: int) -> _Facts:
    """The version without its text, what it says in few words, its source, and whether it has no coordinates."""
    with shop.reading() as connection:
        version = kept.drive_version(connection, version_id)
    bare = replace(version, text="")
    try:
        drive = read_drive(version.text, f"drive version {version_id}")
    except FileFaults as error:
        return bare, f"Not understood by this version of the program: {error.sentence}", "", True
    return bare, facts_words(drive), drive.source, drive.is_list


def versions(shop: Shop, drive_id: int) -> tuple[kept.DriveVersion, ...]:
    """Every version of a drive, newest first.

    Raises
    ------
    NotFound
        There is no such drive.
    """
    with shop.reading() as connection:
        kept.drive(connection, drive_id)
        return tuple(reversed(kept.versions(connection, drive_id)))


def drive_row(shop: Shop, drive_id: int) -> kept.Drive:
    """A drive of the library by number.

    Raises
    ------
    NotFound
        There is none.
    """
    with shop.reading() as connection:
        return kept.drive(connection, drive_id)


def short_name(name: str) -> str:
    """A drive's short name: letters, digits and hyphens of its name."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST_SHORT_NAME].strip("-") or "drive"


def keep_drive(shop: Shop, actor: Actor, text: str, name: str | None = None) -> kept.DriveVersion:
    """Keep a drive's text under a short name: the newest version where it is the same, one more, or a new drive.

    Parameters
    ----------
    shop, actor
        The shop, and who keeps it.
    text
        The drive file.
    name
        Its short name in the library; made of the drive's own name when None.

    Raises
    ------
    NotAllowed
        A viewer keeps nothing.
    FileFaults
        Every fault of the text.
    """
    allow(actor, "enter")
    drive = understood(text)
    return _keep(shop, name or short_name(drive.name), text, drive.name, actor.name)


def add_drive(shop: Shop, actor: Actor, text: str) -> kept.DriveVersion:
    """A new drive of the library; the same text sent twice is one drive.

    Raises
    ------
    NotAllowed
        A viewer keeps nothing.
    FileFaults
        Every fault of the text.
    DomainError
        There is a drive of that name.
    """
    allow(actor, "enter")
    drive = understood(text)
    with shop.writing() as connection:
        same = next((row for row in kept.library(connection) if row.name == drive.name), None)
        last = None if same is None else kept.latest(connection, same.id)
        if last is not None and last.text == text:
            return last
        _check_free(connection, drive.name, None)
        slug = _free_short_name(connection, short_name(drive.name))
        return kept.keep(connection, slug, drive.name, text, actor.name, shop.now())


def change_drive(shop: Shop, actor: Actor, drive_id: int, text: str, after: int | None = None) -> kept.DriveVersion:
    """Keep a changed text as the next version of a drive; jobs go on with the version they were begun with.

    Parameters
    ----------
    shop, actor
        The shop, and who keeps it.
    drive_id
        Which drive.
    text
        The drive file.
    after
        Number of the version that was changed; with None nobody is asked whether there is a newer one.

    Raises
    ------
    NotAllowed
        A viewer keeps nothing.
    FileFaults
        Every fault of the text.
    DomainError
        Somebody kept a newer version meanwhile, or another drive has that name.
    """
    allow(actor, "enter")
    drive = understood(text)
    with shop.writing() as connection:
        row = kept.drive(connection, drive_id)
        _check_free(connection, drive.name, drive_id)
        last = kept.latest(connection, drive_id)
        newer = after is not None and last is not None and last.number > after
        if last is not None and newer and last.text != text:
            raise DomainError(
                f"{last.by} kept version {last.number} of this drive meanwhile",
                next_step="copy your text, look at that version, and put your change into it",
            )
        return kept.keep(connection, row.slug, drive.name, text, actor.name, shop.now())


def copy_drive(shop: Shop, actor: Actor, version_id: int, name: str) -> kept.DriveVersion:
    """A version copied as a new drive of another name, to be changed.

    Raises
    ------
    NotAllowed
        A viewer keeps nothing.
    NotFound
        There is no such version.
    DomainError
        The name is none, or there is a drive of that name.
    """
    loaded = drive_of(shop, version_id)
    text = renamed(loaded.version.text, name)
    if text == loaded.version.text:
        raise DomainError(f'the copy of "{loaded.drive.name}" needs a name of its own')
    return add_drive(shop, actor, text)


def set_active(shop: Shop, actor: Actor, drive_id: int, active: bool) -> None:
    """Offer a drive, or no longer; nothing is taken out of the record.

    Raises
    ------
    NotAllowed
        Only who may hand over decides it.
    NotFound
        There is no such drive.
    """
    allow(actor, "hand over")
    with shop.writing() as connection:
        kept.drive(connection, drive_id)
        kept.set_active(connection, drive_id, active)


def ensure_shipped(shop: Shop) -> None:
    """Put the invented drives shipped for practice into the library; what somebody changed is left alone."""
    texts = shipped_drives()
    with shop.reading() as connection:
        wanted = [slug for slug, text in texts.items() if _is_missing(connection, slug, text)]
    for slug in wanted:
        _keep(shop, slug, texts[slug], understood(texts[slug]).name, SHIPPED_BY)


def _is_missing(connection: Connection, slug: str, text: str) -> bool:
    drive = kept.by_slug(connection, slug)
    if drive is None:
        return True
    known = kept.versions(connection, drive.id)
    here = any(version.sha256 == kept.text_hash(text) for version in known)
    return drive.active and not here and all(version.by == SHIPPED_BY for version in known)


def text_of_bytes(raw: bytes, name: str) -> str:
    """The text of a drive file as it was sent, with plain line ends.

    Raises
    ------
    FileFaults
        It is no text in UTF-8.
    """
    return decode(raw, name).replace("\r\n", "\n")


def understood(text: str) -> Drive:
    """The drive of a text that may be kept.

    Raises
    ------
    FileFaults
        Every fault of the text.
    """
    looked = look_at(text)
    if looked.drive is None or looked.faults:
        raise FileFaults(list(looked.faults))
    return looked.drive


def _keep(shop: Shop, slug: str, text: str, name: str, by: str) -> kept.DriveVersion:
    with shop.writing() as connection:
        return kept.keep(connection, slug, name, text, by, shop.now())


def _check_free(connection: Connection, name: str, drive_id: int | None) -> None:
    same = [row for row in kept.library(connection) if row.name.casefold() == name.casefold() and row.id != drive_id]
    if same:
        hidden = "" if same[0].active else ", no longer offered,"
        raise DomainError(
            f'there is a drive{hidden} named "{same[0].name}"',
            next_step="give it another name, or change that drive instead",
        )


def _free_short_name(connection: Connection, slug: str) -> str:
    found, number = slug, 1
    while kept.by_slug(connection, found) is not None:
        number += 1
        found = f"{slug[: LONGEST_SHORT_NAME - 5]}-{number}"
    return found
