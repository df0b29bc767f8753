"""The torque tools of the drawer: described once there, and entered with the first torque that names them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from twoturn.job.asked.model import Known, KnownTool
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.work import Tool
from twoturn.job.order import Timeline

LAID_OUT = "lay-out-parts"
"""The step at which tools are laid out."""


def tool_rows(row: Mapping[str, Any], entries: Sequence[EntryBase], known: Known) -> tuple[dict[str, Any], ...]:
    """The entries of the drawer's tools that a torque names and this job does not describe yet.

    Parameters
    ----------
    row
        The entry to come, raw.
    entries
        The entries so far.
    known
        What is known beforehand: the drawer.

    Returns
    -------
    tuple of dict
        Raw entries to enter before ``row``; none for another kind, or a tool whose range or calibration is not known.
    """
    if row.get("kind") != "torque":
        return ()
    named = row.get("tool", ())
    names = (named,) if isinstance(named, str) else tuple(named)
    described = {act.entry.tool for act in Timeline(entries, {}).acts if isinstance(act.entry, Tool)}
    wanted = (tool for tool in known.tools if tool.tool in names and tool.tool not in described)
    return tuple(_row(tool) for tool in wanted if is_ready(tool))


def is_ready(tool: KnownTool) -> bool:
    """Whether a tool can show a torque: its range and the day of its calibration are known."""
    return tool.low_nm is not None and tool.high_nm is not None and tool.calibrated is not None


def _row(tool: KnownTool) -> dict[str, Any]:
    said = {
        "low_nm": tool.low_nm,
        "high_nm": tool.high_nm,
        "calibrated": None if tool.calibrated is None else tool.calibrated.isoformat(),
        "valid_months": tool.valid_months,
        "type": tool.type,
        "class": tool.class_,
        "number": tool.number,
    }
    told = {key: value for key, value in said.items() if value is not None}
    return {"kind": "tool", "tool": tool.tool, **told, "done": LAID_OUT}
