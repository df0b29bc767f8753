"""Checks of places: where a requirement holds, what a fastener locks, what can be reached, the order of threading."""

from __future__ import annotations

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming, near
from twoturn.drive.toml_lines import Path


def check_places(file: DriveFile, names: Naming, faults: FaultList) -> None:
    """Every name of a place in requirements, pins, fasteners, access and threading order exists.

    Parameters
    ----------
    file
        The drive file as written.
    names
        Its names, settled.
    faults
        Where the faults are collected.
    """
    known = _known_places(file, names)
    for index, requirement in enumerate(file.requirement):
        at = requirement.at
        path: Path = ("requirement", index, "at")
        if at is None:
            continue
        if ":" in at:
            _check_span(at, path, file, names, faults)
        elif at not in known and requirement.quantity != "compression":
            faults.refuse("place-unknown", path, shown(at), near=near(at, sorted(known)))
    for index, pin in enumerate(file.pin):
        if pin.shaft not in names.shaft_ids:
            found = shown(pin.shaft)
            faults.refuse("shaft-unknown", ("pin", index, "shaft"), found, near=near(pin.shaft, names.shaft_ids))
    for index, edge in enumerate(file.timing.cam_edges):
        if edge.shaft is not None and edge.shaft not in names.shaft_ids:
            path = ("timing", "cam_edges", index, "shaft")
            faults.refuse("shaft-unknown", path, shown(edge.shaft), near=near(edge.shaft, names.shaft_ids))
    locked = sorted({*(row.id for row in file.pulley), *names.shaft_ids, *names.belt_ids})
    for index, fastener in enumerate(file.fastener):
        if fastener.locks is not None and fastener.locks not in locked:
            found, instead = shown(fastener.locks), near(fastener.locks, locked)
            faults.refuse("locks-unknown", ("fastener", index, "locks"), found, near=instead)
    for index, span in enumerate(file.access.reachable):
        _check_span(span, ("access", "reachable", index), file, names, faults)
    _check_orders(file, names, faults)


def _known_places(file: DriveFile, names: Naming) -> set[str]:
    ids = [row.id for row in file.pulley] + [row.id for row in file.fastener]
    pins = [row.id for row in file.pin if row.id is not None]
    return {*ids, *pins, *names.shaft_ids, *names.belt_ids}


def spans_of(file: DriveFile, names: Naming) -> list[tuple[str, str]]:
    """Every free span as (from, to), belt by belt in order along travel."""
    spans = []
    for belt_id in names.belt_ids:
        ids = [file.pulley[index].id for index in names.pulleys_on(belt_id)]
        spans += list(zip(ids, ids[1:] + ids[:1], strict=True))
    return spans


def _check_span(text: str, path: Path, file: DriveFile, names: Naming, faults: FaultList) -> None:
    spans = spans_of(file, names)
    first, _, second = text.partition(":")
    if (first, second) in spans:
        return
    ids = [pulley.id for pulley in file.pulley]
    for name in (first, second):
        if name not in ids:
            faults.refuse("place-unknown", path, shown(text), near=near(name, ids))
            return
    if (second, first) in spans:
        right = f'"{second}:{first}"'
    else:
        right = " or ".join(f'"{a}:{b}"' for a, b in spans if first in (a, b))
    faults.refuse("span-order", path, shown(text), span=right)


def _check_orders(file: DriveFile, names: Naming, faults: FaultList) -> None:
    seen: set[str] = set()
    for index, row in enumerate(file.fit):
        path: Path = ("fit", index)
        belt = belt_of_order(row.belt, row.order, file, names)
        if belt is None:
            belts = ", ".join(f'"{name}"' for name in names.belt_ids)
            faults.refuse("order-belt", (*path, "belt"), shown(row.belt), belts=belts)
            continue
        if belt in seen:
            faults.refuse("order-twice", (*path, "belt"), f'a second order for "{belt}"')
        seen.add(belt)
        ids = [file.pulley[pulley].id for pulley in names.pulleys_on(belt)]
        if row.order and sorted(row.order) != sorted(ids):
            expected = ", ".join(f'"{name}"' for name in ids)
            faults.refuse("order-pulleys", (*path, "order"), shown(row.order), expected=expected)


def belt_of_order(belt: str | None, order: list[str], file: DriveFile, names: Naming) -> str | None:
    """The belt that a threading order is for: the one named, the only one, or that of its first pulley.

    Parameters
    ----------
    belt
        What ``[fit]`` says, or None.
    order
        Its list of pulleys.
    file, names
        The drive file and its names.
    """
    if belt is not None:
        return belt if belt in names.belt_ids else None
    if len(names.belt_ids) == 1:
        return names.belt_ids[0]
    rows = zip(file.pulley, names.belt_of, strict=True)
    return next((on for row, on in rows if order and row.id == order[0]), None)
