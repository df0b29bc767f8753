"""Checks of what surrounds the belt drive: uncertainties, requirements, fasteners, engine."""

from __future__ import annotations

import re

from pydantic import BaseModel

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.base import Table
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import near
from twoturn.drive.toml_lines import Path

YES_NO = ("mark", "pin", "pointer", "hand twist", "pin depth")
PLAIN = (str, int, float, tuple)
"""Values that hold no table of their own."""
_METRIC = re.compile(r"^M\d{1,3}([.,]\d+)?(\s*[x×]\s*\d{1,2}([.,]\d+)?)?$")


def check_work(file: DriveFile, faults: FaultList) -> None:
    """What stands inside single tables.

    Parameters
    ----------
    file
        The drive file as written.
    faults
        Where the faults are collected.
    """
    _check_uncertainties(file, (), faults)
    for index, row in enumerate(file.distance):
        if row.u_mm is not None and "mm" in row.uncertainties:
            faults.refuse("uncertainty-twice", ("distance", index, "u_mm"), "both")
    for index, requirement in enumerate(file.requirement):
        is_yes_no = requirement.quantity in YES_NO or requirement.method == "as prescribed"
        if requirement.low is None and requirement.high is None and not is_yes_no:
            faults.refuse("limits-missing", ("requirement", index, "low"), "neither low nor high")
        others = [other.id for other in file.requirement if other.id != requirement.id and other.instead_of is None]
        if requirement.instead_of is not None and requirement.instead_of not in others:
            path = ("requirement", index, "instead_of")
            faults.refuse("requirement-unknown", path, shown(requirement.instead_of), ids=", ".join(others) or "none")
    _check_fasteners(file, faults)
    _check_engine(file, faults)


def _check_uncertainties(table: BaseModel, path: Path, faults: FaultList) -> None:
    """Walk over all tables: each ``<key>_u`` stands beside its key and has its shape."""
    if isinstance(table, Table):
        for key, u in table.uncertainties.items():
            value = getattr(table, key)
            if value is None or (key not in table.model_fields_set):
                faults.refuse("uncertainty-alone", (*path, f"{key}_u"), shown(u), key=key)
            elif isinstance(u, list) and not isinstance(value, tuple):
                faults.refuse("uncertainty-shape", (*path, f"{key}_u"), shown(u), key=key)
    fields = type(table).model_fields
    for name in sorted(table.model_fields_set & fields.keys()):
        value = getattr(table, name)
        if isinstance(value, PLAIN):
            continue
        inside = (*path, fields[name].alias or name)
        if isinstance(value, BaseModel):
            _check_uncertainties(value, inside, faults)
            continue
        for index, row in enumerate(value):
            if isinstance(row, BaseModel):
                _check_uncertainties(row, (*inside, index), faults)


def _check_fasteners(file: DriveFile, faults: FaultList) -> None:
    ids = [fastener.id for fastener in file.fastener]
    for index, fastener in enumerate(file.fastener):
        thread = fastener.thread
        if thread is not None and re.match(r"[Mm]\s*\d", thread) and not _METRIC.match(thread):
            faults.refuse("thread", ("fastener", index, "thread"), shown(thread))
    for index, step in enumerate(file.step):
        if step.fastener is not None and step.fastener not in ids:
            found = shown(step.fastener)
            faults.refuse("fastener-unknown", ("step", index, "fastener"), found, near=near(step.fastener, ids))
    if not ids:
        return
    for index, row in enumerate(file.tensioner):
        for number, act in enumerate(row.setting):
            if act.fastener is not None and act.fastener not in ids:
                path = ("tensioner", index, "setting", number, "fastener")
                faults.refuse("fastener-unknown", path, shown(act.fastener), near=near(act.fastener, ids))


def _check_engine(file: DriveFile, faults: FaultList) -> None:
    engine = file.engine
    if engine.firing_order:
        cylinders = engine.cylinders or len(engine.firing_order)
        if sorted(engine.firing_order) != list(range(1, cylinders + 1)):
            path = ("engine", "firing_order")
            faults.refuse("firing-order", path, shown(engine.firing_order), cylinders=str(cylinders))
    if engine.rod_mm is not None and engine.stroke_mm is not None and engine.rod_mm <= engine.stroke_mm / 2:
        found, least = shown(engine.rod_mm), f"{engine.stroke_mm / 2:g}"
        faults.refuse("rod-short", ("engine", "rod_mm"), found, least=least)
