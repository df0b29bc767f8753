"""Which fastener belongs to which step: by what it locks, by where the setting names it, by its name."""

from __future__ import annotations

import re

from twoturn.drive.model.work import FastenerTable
from twoturn.drive.parts import Drive, Shaft

GROUPS = ("tensioner", "injection pump", "hub", "crank", "pump", "wheel", "roller", "mount", "cover", "rest")


def sort_fasteners(drive: Drive) -> dict[str, tuple[FastenerTable, ...]]:
    """Every fastener of the drive in exactly one group, in file order.

    Parameters
    ----------
    drive
        The drive.

    Returns
    -------
    dict
        By group: ``"own"`` (a step of the drive file tightens it), ``"tensioner"``, ``"injection pump"`` (its flange),
        ``"hub"`` (a sprocket that can sit off), ``"crank"``, ``"pump"`` (coolant pump), ``"wheel"`` (a keyed wheel),
        ``"roller"``, ``"mount"``, ``"cover"``, ``"rest"``. Every group is there, perhaps empty.
    """
    found: dict[str, list[FastenerTable]] = {group: [] for group in ("own", *GROUPS)}
    for fastener in drive.file.fastener:
        found[_group(drive, fastener)].append(fastener)
    return {group: tuple(items) for group, items in found.items()}


def _group(drive: Drive, fastener: FastenerTable) -> str:
    if any(step.fastener == fastener.id for step in drive.file.step):
        return "own"
    return _by_lock(drive, fastener) or _by_name(drive, fastener)


def _by_lock(drive: Drive, fastener: FastenerTable) -> str | None:
    tensioners = drive.file.tensioner
    if fastener.locks in {tensioner.pulley for tensioner in tensioners}:
        return "tensioner"
    if any(act.fastener == fastener.id for tensioner in tensioners for act in tensioner.setting):
        return "tensioner"
    shaft = next((shaft for shaft in drive.shafts if shaft.id == fastener.locks), None)
    if shaft is None:
        wheel = next((p for belt in drive.belts for p in belt.pulleys if p.id == fastener.locks), None)
        return None if wheel is None else _by_shaft(drive.shaft(wheel.shaft), fastener)
    return _by_shaft(shaft, fastener)


def _by_shaft(shaft: Shaft, fastener: FastenerTable) -> str:
    if shaft.role == "crankshaft":
        return "crank"
    if shaft.role in ("idler", "tensioner"):
        return "roller"
    if shaft.role == "coolant pump":
        return "pump"
    if shaft.role == "injection pump" and shaft.phased and _has(fastener.id, "flange", "body", "mounting"):
        return "injection pump"
    return "hub" if shaft.hub != "keyed" and shaft.phased else "wheel"


def _by_name(drive: Drive, fastener: FastenerTable) -> str:
    name = fastener.id.lower()
    if _has(name, "mount", "mounting", "bracket"):
        return "mount"
    if _has(name, "cover", "covers", "guard"):
        return "cover"
    if _has(name, "coolant", "water"):
        return "pump"
    if _has(name, "crankshaft", "crank", "damper"):
        return "crank"
    return _by_wheel(drive, name)


def _by_wheel(drive: Drive, name: str) -> str:
    for tensioner in drive.file.tensioner:
        if tensioner.pulley.lower() in name:
            return "roller"
    wheels = sorted((p for belt in drive.belts for p in belt.pulleys), key=lambda p: -len(p.id))
    for pulley in wheels:
        if pulley.id.lower() not in name:
            continue
        if pulley.role in ("idler", "tensioner"):
            return "roller"
        if pulley.role == "coolant pump":
            return "pump"
        shaft = drive.shaft(pulley.shaft)
        return "hub" if shaft.hub != "keyed" and shaft.phased else "wheel"
    if _has(name, "idler", "roller", "ram", "tensioner"):
        return "roller"
    return "rest"


def _has(name: str, *words: str) -> bool:
    return bool(set(re.findall(r"[a-z]+", name.lower())) & set(words))
