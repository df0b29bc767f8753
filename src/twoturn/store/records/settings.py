"""Settings: a value of JSON for each name."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from twoturn.store.records.rows import lock_name
from twoturn.store.tables import SETTING


def settings(connection: Connection) -> dict[str, Any]:
    """Every setting by name."""
    return {row.key: json.loads(row.value) for row in connection.execute(select(SETTING))}


def put(connection: Connection, changed: dict[str, Any]) -> None:
    """Keep these settings; the others stay as they are."""
    lock_name(connection, "setting")
    for key, value in sorted(changed.items()):
        connection.execute(delete(SETTING).where(SETTING.c.key == key))
        connection.execute(insert(SETTING).values(key=key, value=json.dumps(value, ensure_ascii=False)))
