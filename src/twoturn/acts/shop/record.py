"""The record as a whole: backed up while the bench runs, restored, and looked through."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from twoturn.acts.shop.shop import Shop, open_shop, place_named, program, utc_now
from twoturn.errors import TwoTurnError
from twoturn.store.faults import Damaged, Gone, NotFound, StoreError
from twoturn.store.place import check_place

if TYPE_CHECKING:
    from twoturn.store.backup import BackedUp
    from twoturn.store.place import Place
    from twoturn.store.restore import Restored
    from twoturn.store.verify import Verified

LAST_BACKUP = "last_backup"
"""Setting that tells of the last backup: ``at``, ``file``, ``size``, ``missing``."""


@dataclass(frozen=True)
class LastBackup:
    """The last backup that was written, read again and found whole.

    Attributes
    ----------
    at
        When.
    file
        The file as it was named then; nobody knows whether it is still there.
    size
        Its size [bytes].
    missing
        How many evidence files were missing or altered already, and are not in it [-].
    """

    at: datetime
    file: str
    size: int
    missing: int


def open_record(
    folder: str | Path | None = None, url: str | None = None, clock: Callable[[], datetime] = utc_now
) -> Shop:
    """Open a record that is there; other than :func:`~twoturn.acts.shop.shop.open_shop` it begins none.

    How much room its disk has left does not matter: that is when a backup to another disk is wanted most.

    Raises
    ------
    NotFound
        There is no record at that place.
    StoreError
        It is damaged, newer than the program, or cannot be opened.
    """
    from twoturn.store.restore import record_there

    place = place_named(folder, url)
    if not record_there(place):
        raise NotFound(
            f'there is no record in "{place.folder}"',
            next_step="name its folder with --data; twoturn serve begins a new one",
        )
    return open_shop(folder, url, clock, least_free=0)


def backup(shop: Shop, file: str | Path, named: str = "") -> BackedUp:
    """Write the whole record into one new file while others work; it is read again before it gets its name.

    Parameters
    ----------
    shop
        The record.
    file
        The new file.
    named
        How the file is told of later where it does not stay at that place; its path where this is empty.

    Raises
    ------
    TwoTurnError
        Its folder is not there, or there is a file of that name.
    StoreError
        It cannot be written; nothing is left behind.
    """
    from twoturn.store import backup as kept
    from twoturn.store.records import settings

    target = Path(file)
    if not target.absolute().parent.is_dir():
        raise TwoTurnError(
            f'there is no folder "{target.absolute().parent}"', next_step="make it, or name a file in another folder"
        )
    done = kept.backup(shop.place, shop.engine, target.absolute(), shop.now(), program())
    said = {
        "at": shop.now().isoformat(),
        "file": named or str(done.path),
        "size": done.size,
        "missing": len(done.missing),
    }
    with suppress(StoreError), shop.writing() as connection:  # a full disk is no reason to call a whole backup none
        settings.put(connection, {LAST_BACKUP: said})
    return done


def last_backup(shop: Shop) -> LastBackup | None:
    """The last backup; None where none was ever made."""
    from twoturn.store.records import settings

    with shop.reading() as connection:
        said: dict[str, Any] | None = settings.settings(connection).get(LAST_BACKUP)
    if said is None:
        return None
    return LastBackup(datetime.fromisoformat(said["at"]), said["file"], said["size"], said["missing"])


def on_the_same_disk(shop: Shop, file: Path) -> bool:
    """Whether a backup lies on the disk of the record, so that both are lost together."""
    if shop.place.url is not None:
        return False
    try:
        return file.stat().st_dev == shop.place.live.stat().st_dev
    except OSError:
        return False


def restore(
    file: str | Path,
    folder: str | Path | None = None,
    url: str | None = None,
    *,
    replace: bool = False,
    clock: Callable[[], datetime] = utc_now,
) -> Restored:
    """Put a backup in place as the record; a record that is there is never written over.

    Parameters
    ----------
    file
        A file that :func:`backup` wrote, from SQLite or PostgreSQL: it fits both.
    folder, url
        Where to, as for :func:`~twoturn.acts.shop.shop.open_shop`.
    replace
        Whether a record that is there may be set aside; it is kept whole under another name.
    clock
        Gives the moment, with its time zone.

    Raises
    ------
    Conflict
        There is a record and ``replace`` was not said; nothing was changed.
    NewerSchema, ArchiveRefused, BenchRuns, StoreError
        As :func:`twoturn.store.restore.restore` says; the record is as it was.
    """
    from twoturn.store.restore import record_there
    from twoturn.store.restore import restore as put

    place = place_named(folder, url)
    if place.url is None:
        check_place(place.folder)
    if not replace and not place.restoring.exists() and record_there(place):
        raise _there_is_one(place)
    return put(place, Path(file).absolute(), clock(), program())


def _there_is_one(place: Place) -> StoreError:
    from twoturn.store.faults import Conflict

    return Conflict(
        f'there is a record in "{place.folder}" already; nothing was changed',
        next_step="name an empty folder with --data, or say --replace: the record there is then set aside, not deleted",
    )


def verify(shop: Shop, papers: Mapping[int, str] | None = None) -> Verified:
    """Look through the whole record: chain, files, database, and sheets that were handed out.

    Parameters
    ----------
    shop
        The record.
    papers
        Record numbers as printed on sheets, by number of the job.
    """
    from twoturn.store import verify as kept

    return kept.verify(shop.place, shop.engine, papers)


def verify_at(folder: str | Path | None = None, url: str | None = None, papers: Iterable[str] = ()) -> Verified:
    """As :func:`verify`, for the record at a place; a database that cannot even be opened is a problem found.

    Parameters
    ----------
    folder, url
        Where, as for :func:`~twoturn.acts.shop.shop.open_shop`.
    papers
        Sheets in hand, as :func:`papers_of` reads them.

    Raises
    ------
    NotFound
        There is no record at that place.
    TwoTurnError
        A text that is no sheet; a record that is newer than the program.
    """
    from twoturn.store.verify import Problem, Verified

    held = papers_of(papers)
    try:
        with open_record(folder, url) as shop:
            return verify(shop, held)
    except (Damaged, Gone) as error:
        return Verified((Problem("database", "database", error.message),), 0, 0, 0, 0)


def papers_of(texts: Iterable[str]) -> dict[int, str]:
    """Record numbers of sheets by number of their job, each from a text such as ``"12=17-0123-4567-89ab-cdef"``.

    Raises
    ------
    TwoTurnError
        A text is none of these.
    """
    return dict(_paper(text) for text in texts)


def _paper(text: str) -> tuple[int, str]:
    number, sign, paper = text.partition("=")
    plain = "-".join(paper.lower().split()).replace("--", "-")
    if not sign or not number.strip().isdecimal() or not plain.partition("-")[0].isdecimal():
        raise TwoTurnError(
            f'"{text[:60]}" is no sheet',
            allowed="the number of the job, =, and the record number as printed, such as 12=17-0123-4567-89ab-cdef",
        )
    return int(number), plain
