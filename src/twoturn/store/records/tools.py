"""Torque tools and their calibrations."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, insert, update

from twoturn.store.records.rows import all_of, chosen, columns_of, one_of, values_of
from twoturn.store.tables import CALIBRATION, TOOL


@dataclass(frozen=True)
class Tool:
    """A torque tool.

    Attributes
    ----------
    id
        Number in this record; whatever stands here is ignored by :func:`add`.
    name
        As written on it, as entries name it.
    type
        Such as ``wrench``.
    class_
        Class of the standard it is calibrated by, None where unknown.
    low_nm, high_nm
        Range [N·m], None where unknown.
    number
        The maker's number, None where unknown.
    active
        False for one that is not used any more.
    """

    id: int
    name: str
    type: str
    class_: str | None = None
    low_nm: float | None = None
    high_nm: float | None = None
    number: str | None = None
    active: bool = True


@dataclass(frozen=True)
class Calibration:
    """A calibration of a tool.

    Attributes
    ----------
    tool_id
        Of which tool.
    on
        The day.
    valid_months
        For how long it counts, None where nobody says.
    certificate
        SHA-256 of the evidence file, None without.
    source
        Where it is from, such as the laboratory's name.
    """

    tool_id: int
    on: date
    valid_months: int | None = None
    certificate: str | None = None
    source: str | None = None


def add(connection: Connection, new: Tool) -> Tool:
    """A new tool; its number is in the answer."""
    made = connection.execute(insert(TOOL).values(values_of(new, TOOL))).inserted_primary_key
    return tool(connection, made[0] if made else 0)


def change(connection: Connection, changed: Tool) -> None:
    """Keep ``changed`` in place of the tool of its number."""
    tool(connection, changed.id)
    connection.execute(update(TOOL).where(TOOL.c.id == changed.id).values(values_of(changed, TOOL)))


def tool(connection: Connection, tool_id: int) -> Tool:
    """The tool of that number.

    Raises
    ------
    NotFound
        There is none.
    """
    return one_of(connection, Tool, columns_of(Tool, TOOL).where(TOOL.c.id == tool_id), f"tool number {tool_id}")


def tools(connection: Connection) -> tuple[Tool, ...]:
    """Every tool, by name."""
    found = all_of(connection, Tool, columns_of(Tool, TOOL))
    return tuple(sorted(found, key=lambda tool: (tool.name.casefold(), tool.id)))


def add_calibration(connection: Connection, new: Calibration) -> None:
    """One more calibration."""
    connection.execute(insert(CALIBRATION).values(values_of(new, CALIBRATION)))


def calibrations(connection: Connection, tool_id: int) -> tuple[Calibration, ...]:
    """Calibrations of a tool, oldest first."""
    query = chosen(Calibration, CALIBRATION, "tool_id").order_by(CALIBRATION.c.on, CALIBRATION.c.id)
    return all_of(connection, Calibration, query, tool_id=tool_id)


def last_calibrations(connection: Connection) -> dict[int, Calibration]:
    """The last calibration of every tool that has one, by number of the tool."""
    query = columns_of(Calibration, CALIBRATION).order_by(CALIBRATION.c.on, CALIBRATION.c.id)
    return {found.tool_id: found for found in all_of(connection, Calibration, query)}
