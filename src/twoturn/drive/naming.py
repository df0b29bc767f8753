"""Who is who in a drive file: the belt, shaft and role of every pulley, and the pulley of every tensioner."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import get_args

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.belts import PulleyTable, Role
from twoturn.drive.model.file import DriveFile

ONLY_BELT = "main"


@dataclass(frozen=True)
class Naming:
    """Names of a drive file, settled; lists run beside the tables of the file.

    Attributes
    ----------
    belt_ids
        Id of each ``[[belt]]``; ``"main"`` for the only one that has none.
    belt_of, shaft_of, role_of
        Belt, shaft and role of each ``[[pulley]]``.
    shaft_ids
        Every shaft: the ``[[shaft]]`` tables, then the pulleys that are shafts of their own.
    shaft_roles
        Role by shaft id.
    pulley_of
        Pulley of each ``[[tensioner]]``.
    """

    belt_ids: tuple[str, ...]
    belt_of: tuple[str, ...]
    shaft_of: tuple[str, ...]
    role_of: tuple[Role, ...]
    shaft_ids: tuple[str, ...]
    shaft_roles: dict[str, Role]
    pulley_of: tuple[str, ...]

    def pulleys_on(self, belt_id: str) -> list[int]:
        """Numbers of the pulleys on a belt, along travel, counted from 0."""
        return [index for index, belt in enumerate(self.belt_of) if belt == belt_id]


def settle_names(file: DriveFile, faults: FaultList) -> Naming | None:
    """Belt, shaft and role of every pulley of a drive file.

    Parameters
    ----------
    file
        The drive file as written.
    faults
        Where duplicate ids, unknown references and missing or contradicting roles are collected.

    Returns
    -------
    Naming or None
        None when any name cannot be settled.
    """
    before = len(faults)
    _unique_ids(file, faults)
    belt_ids = _belt_ids(file, faults)
    belt_of = [_belt_of(index, pulley, belt_ids, faults) for index, pulley in enumerate(file.pulley)]
    shaft_of = _shafts_of(file, faults)
    pulley_of = [_tensioner_pulley(file, index, faults) for index in range(len(file.tensioner))]
    if len(faults) > before:
        return None
    shaft_ids = tuple(dict.fromkeys([*(shaft.id for shaft in file.shaft), *shaft_of]))
    roles = _shaft_roles(file, shaft_of, pulley_of, faults)
    if len(faults) > before:
        return None
    role_of = [_pulley_role(pulley, roles[shaft]) for pulley, shaft in zip(file.pulley, shaft_of, strict=True)]
    return Naming(tuple(belt_ids), tuple(belt_of), tuple(shaft_of), tuple(role_of), shaft_ids, roles, tuple(pulley_of))


def near(name: str, known: Iterable[str], *, or_all: bool = True) -> str:
    """The end of a sentence that names the nearest of the ids there are; else all of them, if ``or_all``."""
    names = list(known)
    close = difflib.get_close_matches(name, names, n=1, cutoff=0.6)
    if close:
        return f'; perhaps "{close[0]}"'
    return ": " + ", ".join(f'"{one}"' for one in names[:12]) if names and or_all else ""


def _unique_ids(file: DriveFile, faults: FaultList) -> None:
    for table in ("belt", "shaft", "pulley", "fastener", "requirement", "pin", "step"):
        seen: dict[str, int] = {}
        for index, row in enumerate(getattr(file, table)):
            if row.id is None:
                continue
            if row.id in seen:
                faults.refuse("duplicate-id", (table, index, "id"), shown(row.id), other=f"{table}[{seen[row.id] + 1}]")
            seen.setdefault(row.id, index)


def _belt_ids(file: DriveFile, faults: FaultList) -> list[str]:
    if len(file.belt) == 1:
        return [file.belt[0].id or ONLY_BELT]
    for index, belt in enumerate(file.belt):
        if belt.id is None:
            faults.refuse("belt-id-missing", ("belt", index, "id"), "nothing")
    return [belt.id or "" for belt in file.belt]


def _belt_of(index: int, pulley: PulleyTable, belt_ids: list[str], faults: FaultList) -> str:
    if pulley.belt is None:
        if len(belt_ids) > 1:
            belts = ", ".join(f'"{name}"' for name in belt_ids)
            faults.refuse("belt-of-pulley", ("pulley", index, "belt"), "nothing", belts=belts)
        return belt_ids[0]
    if pulley.belt not in belt_ids:
        found = shown(pulley.belt)
        faults.refuse("belt-unknown", ("pulley", index, "belt"), found, near=near(pulley.belt, belt_ids))
    return pulley.belt


def _shafts_of(file: DriveFile, faults: FaultList) -> list[str]:
    tables = {shaft.id for shaft in file.shaft}
    own = {pulley.id for pulley in file.pulley if pulley.shaft in (None, pulley.id)}
    for index, pulley in enumerate(file.pulley):
        if pulley.shaft is not None and pulley.shaft not in tables | own:
            found, known = shown(pulley.shaft), sorted(tables | own)
            faults.refuse("shaft-unknown", ("pulley", index, "shaft"), found, near=near(pulley.shaft, known))
    for index, link in enumerate(file.link):
        for key, name in (("from", link.from_), ("to", link.to)):
            if name not in tables | own:
                found, known = shown(name), sorted(tables | own)
                faults.refuse("shaft-unknown", ("link", index, key), found, near=near(name, known))
        if link.from_ == link.to:
            faults.refuse("link-itself", ("link", index, "to"), shown(link.to))
    return [pulley.shaft or pulley.id for pulley in file.pulley]


def _tensioner_pulley(file: DriveFile, index: int, faults: FaultList) -> str:
    name = file.tensioner[index].pulley
    ids = [pulley.id for pulley in file.pulley]
    others = [row.pulley for row in file.tensioner[:index]]
    if not name:
        taken = {row.pulley for row in file.tensioner}
        free = [pulley.id for pulley in file.pulley if pulley.role == "tensioner" and pulley.id not in taken]
        if len(free) == 1 and sum(not row.pulley for row in file.tensioner) == 1:
            return free[0]
        faults.refuse("tensioner-pulley", ("tensioner", index, "pulley"), "nothing", near=near("", free or ids))
    elif name not in ids:
        faults.refuse("tensioner-pulley", ("tensioner", index, "pulley"), shown(name), near=near(name, ids))
    elif name in others:
        faults.refuse("tensioner-twice", ("tensioner", index, "pulley"), shown(name))
    return name


def _shaft_roles(file: DriveFile, shaft_of: list[str], pulley_of: list[str], faults: FaultList) -> dict[str, Role]:
    roles: dict[str, Role] = {shaft.id: shaft.role for shaft in file.shaft if shaft.role is not None}
    for index, (pulley, shaft) in enumerate(zip(file.pulley, shaft_of, strict=True)):
        role = pulley.role or ("tensioner" if pulley.id in pulley_of and shaft not in roles else None)
        if role is None:
            continue
        if roles.setdefault(shaft, role) != role:
            faults.refuse("role-conflict", ("pulley", index, "role"), shown(role), role=f'"{roles[shaft]}"')
    names = ", ".join(f'"{name}"' for name in get_args(Role))
    for index, shaft_table in enumerate(file.shaft):
        if shaft_table.id not in roles:
            faults.refuse("role-missing", ("shaft", index, "role"), "nothing", roles=names)
    tables = {shaft.id for shaft in file.shaft}
    for index, shaft in enumerate(shaft_of):
        if shaft not in roles and shaft not in tables:
            faults.refuse("role-missing", ("pulley", index, "role"), "nothing", roles=names)
    return roles


def _pulley_role(pulley: PulleyTable, shaft_role: Role) -> Role:
    return pulley.role or shaft_role
