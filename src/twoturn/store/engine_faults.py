"""The database's own errors as sentences."""

from __future__ import annotations

import sqlite3

from sqlalchemy import Engine

from twoturn.store.faults import Busy, Conflict, Damaged, DiskFull, Gone, OnlyAdded, ReadOnly, StoreError

SEND_AGAIN = "send it again in a moment: what you entered is still in the page"
_LASTS = "is only ever added to"
"""Words that the triggers of the database say."""


def told(error: BaseException | None, engine: Engine) -> StoreError:
    """The sentence for an error of the database's driver."""
    if isinstance(error, sqlite3.Error):
        return _sqlite(error)
    return _postgresql(error, engine)


def _sqlite(error: sqlite3.Error) -> StoreError:
    extended = getattr(error, "sqlite_errorcode", 0) or 0
    code = extended & 0xFF
    if code == sqlite3.SQLITE_CONSTRAINT:
        return _constraint(str(error))
    made = {
        sqlite3.SQLITE_BUSY: _busy,
        sqlite3.SQLITE_LOCKED: _busy,
        sqlite3.SQLITE_FULL: _full,
        sqlite3.SQLITE_READONLY: _read_only,
        sqlite3.SQLITE_PERM: _read_only,
        sqlite3.SQLITE_CANTOPEN: _gone,
        sqlite3.SQLITE_CORRUPT: _damaged,
        sqlite3.SQLITE_NOTADB: _damaged,
    }.get(code)
    if made is not None:
        return made()
    if extended == sqlite3.SQLITE_IOERR_WRITE:
        return _full()
    if code == sqlite3.SQLITE_IOERR:
        return StoreError(
            f"the disk refused to read or write the record ({error}); nothing of this was saved",
            next_step="check the disk, make a backup, and run: twoturn verify",
        )
    return StoreError(f"the database refused ({error})")


def _postgresql(error: BaseException | None, engine: Engine) -> StoreError:
    state = getattr(error, "sqlstate", None) or ""
    text = " ".join(str(error).split())
    if state == "55P03" or state.startswith("40"):
        return _busy()
    if state.startswith("53"):
        return _full()
    if state in {"25006", "42501"}:
        return _read_only()
    if state == "P0001" or state.startswith("23"):
        return _constraint(text)
    if state in {"XX001", "XX002"}:
        return _damaged()
    unreachable = not state and type(error).__name__ in {"OperationalError", "InterfaceError"}
    if unreachable or state.startswith(("08", "57", "28", "3D")):
        address = engine.url.render_as_string(hide_password=True)
        return Gone(
            f"the database {address} cannot be reached ({text}); nothing of this was saved",
            next_step="start the database server and send it again",
        )
    return StoreError(f"the database refused ({text})")


def _constraint(text: str) -> StoreError:
    if _LASTS in text:
        return OnlyAdded(
            f"the database refused a change ({text.splitlines()[0]})", next_step="add a correction instead"
        )
    return Conflict(
        "somebody has just saved something of that name, or what it belongs to is not there",
        next_step="look and try again",
    )


def _busy() -> StoreError:
    return Busy("the record's database is held by another program; nothing of this was saved", next_step=SEND_AGAIN)


def _full() -> StoreError:
    return DiskFull(
        "the disk that holds the record is full; nothing of this was saved",
        next_step="make room and send it again: what you entered is still in the page",
    )


def _read_only() -> StoreError:
    return ReadOnly(
        "the record's database may not be written by the user who runs twoturn; nothing of this was saved",
        next_step="give this user the right to write the data folder",
    )


def _gone() -> StoreError:
    return Gone(
        "the record's database file cannot be opened: it was taken away, or its folder may not be written",
        next_step="put the file back or restore a backup; check the rights of the data folder",
    )


def _damaged() -> StoreError:
    return Damaged(
        "the record's database file is damaged; nothing of this was saved",
        next_step="stop the bench, keep a copy of the data folder as it is, and restore the last backup",
    )
