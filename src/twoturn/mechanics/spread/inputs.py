"""Everything uncertain that a rest position depends on, with its standard uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.drive.model.base import Table
from twoturn.drive.model.tensioners import LockedEccentric, Tensioner
from twoturn.drive.parts import Belt, Drive
from twoturn.drive.radii import pulley_expansion_per_k
from twoturn.mechanics.rest.numbers import Key
from twoturn.mechanics.setting.length_u import UNKNOWN_U_MM, anchor_key, coordinate_u_mm

STIFFNESS_U = 0.20
BELT_KEYS = ("length_at_n", "length_error_mm", "back_mm", "tip_mm", "expansion_per_k")
TENSIONER_KEYS = (
    "arm_mm",
    "adjuster_mm",
    "adjuster_deg",
    "notch_deg",
    "set_deg",
    "target_n",
    "spring_nm",
    "rate_nm_per_deg",
    "tightens_deg",
    "spring_n",
    "rate_n_per_mm",
    "ram_n",
    "ram_arm_mm",
    "ram_deg",
)


@dataclass(frozen=True)
class UncertainInput:
    """One uncertain number.

    Attributes
    ----------
    key
        Table, id and key.
    value, u
        As written, and its standard uncertainty, in the unit of the key.
    """

    key: Key
    value: float
    u: float

    @property
    def words(self) -> str:
        """The key as a person reads it."""
        table, name, key = self.key
        return " ".join(part for part in (table, name, key) if part)


def uncertain_inputs(drive: Drive, belt: Belt, temperature_u_k: float = 0.0) -> list[UncertainInput]:
    """Uncertain inputs of a belt with one tensioner.

    Parameters
    ----------
    drive, belt
        The drive and the belt.
    temperature_u_k
        Standard uncertainty of the engine's temperature [K].

    Returns
    -------
    list
        Those with an uncertainty above 0: what the file gives, 1 mm for a coordinate and 20 % for the stiffness where
        it gives none. The crankshaft's centre is the origin, so exact unless the file says otherwise.
    """
    found = [UncertainInput(("drive", "", "temperature_c"), 0.0, temperature_u_k)]
    found += _keys(drive.file.drive, "drive", "", ("block_expansion_per_k",))
    for pulley in belt.pulleys:
        origin = pulley.centre_mm == (0.0, 0.0) and pulley.role == "crankshaft" and pulley.centre_u_mm is None
        if not pulley.is_tensioner and pulley.centre_mm is not None and not origin:
            pairs = zip("xy", pulley.centre_mm, coordinate_u_mm(belt, pulley), strict=True)
            found += [UncertainInput(("pulley", pulley.id, f"at_mm.{axis}"), value, u) for axis, value, u in pairs]
        found += _keys(pulley.table, "pulley", pulley.id, ("diameter_mm",))
        u = pulley.table.u_of("expansion_per_k")
        found.append(UncertainInput(("pulley", pulley.id, "expansion_per_k"), pulley_expansion_per_k(pulley), u))
    stiffness = belt.table.stiffness_n
    if stiffness is not None:
        u = belt.table.u_of("stiffness_n", STIFFNESS_U * stiffness)
        found.append(UncertainInput(("belt", belt.id, "stiffness_n"), stiffness, u))
    found += _keys(belt.table, "belt", belt.id, BELT_KEYS)
    for table in belt.tensioners:
        found += _tensioner(table)
    return [item for item in found if item.u > 0]


def _keys(table: Table, kind: str, name: str, keys: tuple[str, ...]) -> list[UncertainInput]:
    """Those of some keys that are given with an uncertainty."""
    rows = [(key, getattr(table, key, None), table.u_of(key)) for key in keys]
    return [UncertainInput((kind, name, key), float(value), u) for key, value, u in rows if value is not None]


def _tensioner(table: Tensioner) -> list[UncertainInput]:
    found = _keys(table, "tensioner", table.pulley, TENSIONER_KEYS)
    if isinstance(table, LockedEccentric) and table.set_deg is not None:
        found = [item for item in found if item.key[2] != "target_n"]
    for key in (anchor_key(table), "base_mm"):
        point = getattr(table, key, None)
        if point is None:
            continue
        u = table.uncertainties.get(key, UNKNOWN_U_MM)
        both = u if isinstance(u, list) else [u, u]
        for axis, value, u_axis in zip("xy", point, both, strict=True):
            found.append(UncertainInput(("tensioner", table.pulley, f"{key}.{axis}"), value, u_axis))
    return found
