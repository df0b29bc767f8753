"""What the record is: whose, since when, last used with which program."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from twoturn.store.records.rows import columns_of, one_of
from twoturn.store.tables import ABOUT


@dataclass(frozen=True)
class About:
    """A record: a random number of its own, when it was begun, and the program that used it last."""

    shop_id: str
    begun: datetime
    program: str


def about(connection: Connection) -> About:
    """What this record is."""
    return one_of(connection, About, columns_of(About, ABOUT), "note of what it is")
