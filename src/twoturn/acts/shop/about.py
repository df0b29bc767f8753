"""What the bench is: its versions, its record, the last backup that was read again."""

from __future__ import annotations

import platform
from dataclasses import dataclass
from datetime import datetime

from twoturn.acts.shop.record import LastBackup, last_backup
from twoturn.acts.shop.shop import Shop, program
from twoturn.store.records import about as kept

BACKUP_DAYS = 7
"""After how many days without a backup a page says so [days]; common practice."""


@dataclass(frozen=True)
class AboutPage:
    """What the bench is.

    Attributes
    ----------
    program, python, database
        Versions of this program, of Python, and which database with its version.
    shop_id, begun
        The record's own number, and since when it is kept.
    folder
        The data folder.
    backup, backup_days
        The last backup that was written and read again, and how many days ago [days]; None where there is none.
    """

    program: str
    python: str
    database: str
    shop_id: str
    begun: datetime
    folder: str
    backup: LastBackup | None
    backup_days: int | None

    @property
    def backup_due(self) -> bool:
        """Whether a backup is missing or old."""
        return self.backup_days is None or self.backup_days >= BACKUP_DAYS


def about_page(shop: Shop) -> AboutPage:
    """What this bench is."""
    with shop.reading() as connection:
        record = kept.about(connection)
        version = ".".join(str(part) for part in connection.dialect.server_version_info or ())
        name = "SQLite" if connection.dialect.name == "sqlite" else "PostgreSQL"
    done = last_backup(shop)
    return AboutPage(
        program=program(),
        python=platform.python_version(),
        database=f"{name} {version}",
        shop_id=record.shop_id,
        begun=record.begun,
        folder=str(shop.place.folder),
        backup=done,
        backup_days=None if done is None else max(0, (shop.now() - done.at).days),
    )
