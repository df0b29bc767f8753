"""The shop's record, opened: where it is, its database, the clock, and what was worked out already."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from twoturn.acts.shop.held import Held
from twoturn.store.in_flight import InFlight
from twoturn.store.place import LEAST_FREE, Place, check_place, make_place

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

FOLDER_VARIABLE, URL_VARIABLE = "TWOTURN_DATA", "TWOTURN_DATABASE"
LONGEST_AGO_S = 60 * 86400.0
"""How long ago something may have been typed at the most [s]."""


def utc_now() -> datetime:
    """The moment, by this computer's clock."""
    return datetime.now(UTC)


@dataclass(frozen=True)
class Shop(AbstractContextManager["Shop"]):
    """The shop's record, opened; a context manager that closes it.

    Attributes
    ----------
    place
        The data folder.
    engine
        Connections to its database.
    clock
        Gives the moment, with its time zone.
    drives, jobs, answers, dues, lines
        Drives by number of their version; jobs as understood last; what was worked out of a job with so many entries;
        when the belts of closed jobs are due again (one small answer for every vehicle, so that many are kept); the
        lines of open jobs.
    sending
        Keys of sendings that are being written at this moment.
    """

    place: Place
    engine: Engine
    clock: Callable[[], datetime] = utc_now
    drives: Held = field(default_factory=lambda: Held(200), compare=False, repr=False)
    jobs: Held = field(default_factory=lambda: Held(200), compare=False, repr=False)
    answers: Held = field(default_factory=lambda: Held(400), compare=False, repr=False)
    dues: Held = field(default_factory=lambda: Held(10_000), compare=False, repr=False)
    lines: Held = field(default_factory=lambda: Held(400), compare=False, repr=False)
    sending: InFlight = field(default_factory=InFlight, compare=False, repr=False)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Give the connections back."""
        self.engine.dispose()

    def now(self) -> datetime:
        """The moment."""
        return self.clock()

    def local_text(self, ago_s: float = 0.0) -> str:
        """The moment ``ago_s`` before now [s] on the wall's clock, as entries write it: ``2026-03-02T17:40:00``.

        What a device says of its waiting may be anything: less than nothing and no number count as none.
        """
        ago = timedelta(seconds=min(ago_s, LONGEST_AGO_S) if ago_s > 0 else 0.0)
        return (self.now() - ago).astimezone().replace(tzinfo=None, microsecond=0).isoformat()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees the record as it stands."""
        from twoturn.store.engine import reading

        with reading(self.engine) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A connection in one transaction: all of it lasts, or nothing."""
        from twoturn.store.engine import writing

        with writing(self.engine) as connection:
            yield connection


def data_folder(folder: str | Path | None = None) -> Path:
    """The folder named, else the one of the environment, else this user's own."""
    import platformdirs

    named = folder or os.environ.get(FOLDER_VARIABLE) or platformdirs.user_data_dir("twoturn", appauthor=False)
    return Path(named).expanduser()


def place_named(folder: str | Path | None = None, url: str | None = None) -> Place:
    """Where the record is said to be; nothing is opened or made."""
    return Place(data_folder(folder), url or os.environ.get(URL_VARIABLE) or None)


def open_shop(
    folder: str | Path | None = None,
    url: str | None = None,
    clock: Callable[[], datetime] = utc_now,
    *,
    least_free: int = LEAST_FREE,
) -> Shop:
    """Open the shop's record; it is begun where there is none, and brought up to this program's schema.

    Parameters
    ----------
    folder
        The data folder; the environment's ``TWOTURN_DATA``, else this user's own, when None.
    url
        Address of a PostgreSQL database; the environment's ``TWOTURN_DATABASE``, else the folder's own file, when None.
    clock
        Gives the moment, with its time zone.
    least_free
        Free space that must be there [bytes].

    Raises
    ------
    StoreError
        The place is not safe, the record is damaged, newer than the program, or cannot be opened.
    """
    from twoturn.store.engine import make_engine
    from twoturn.store.migrate.up import bring_up

    named = place_named(folder, url)
    if named.url is None:
        check_place(named.folder, least_free=least_free)
    place = make_place(named.folder, named.url)
    engine = make_engine(place)
    try:
        bring_up(engine, place, clock(), program())
    except BaseException:
        engine.dispose()
        raise
    return Shop(place, engine, clock)


@lru_cache(maxsize=1)
def program() -> str:
    """Version of this program."""
    from importlib.metadata import version

    return version("twoturn")
