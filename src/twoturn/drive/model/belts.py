"""Belts, shafts, links, pulleys and measured distances as a drive file writes them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from twoturn.drive.model.base import Angle, Identifier, NotNegative, Pair, Point, Positive, Table

Role = Literal[
    "crankshaft",
    "camshaft",
    "injection pump",
    "coolant pump",
    "oil pump",
    "balance shaft",
    "idler",
    "tensioner",
]
Way = Literal["clockwise", "counter-clockwise"]
PHASED_ROLES = ("crankshaft", "camshaft", "balance shaft")


class DriveHead(Table):
    """``[drive]``: name, sense of rotation and where the numbers come from."""

    name: Annotated[str, Field(min_length=1)]
    crank_turns: Way
    source: Annotated[str, Field(min_length=1)]
    reference_temperature_c: Annotated[float, Field(ge=-60, le=200)] = 20.0
    block_expansion_per_k: Annotated[float, Field(ge=0, le=1e-4)] = 21.5e-6


class BeltTable(Table):
    """``[[belt]]``: one toothed belt."""

    id: Identifier | None = None
    teeth: Annotated[int, Field(ge=10, le=1000)]
    pitch_mm: Annotated[float, Field(gt=0.5, le=50)] | None = None
    width_mm: Positive | None = None
    designation: str | None = None
    mass_kg_per_m: Positive | None = None
    weighed_g: Positive | None = None
    stiffness_n: Positive | None = None
    bending_n_m2: NotNegative | None = None
    back_mm: NotNegative = 0.0
    tip_mm: NotNegative = 0.0
    expansion_per_k: Annotated[float, Field(ge=-1e-3, le=1e-3)] = 0.0
    length_error_mm: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    length_at_n: NotNegative = 0.0
    closure: Literal["as given", "at notch"] = "as given"
    marks: list[Annotated[int, Field(ge=0, le=1000)]] = Field(default_factory=list)
    in_oil: bool = False
    double_sided: bool = False


class Phaser(Table):
    """``phaser`` of a shaft: variable cam timing."""

    range_deg: NotNegative | None = None
    locked_at: str | None = None
    locked_when: str | None = None


class ShaftTable(Table):
    """``[[shaft]]``: what turns together; a pulley that names no shaft is a shaft of its own."""

    id: Identifier
    role: Role | None = None
    phased: bool | None = None
    ratio: Annotated[float, Field(ge=-100, le=100)] | None = None
    hub: Literal["keyed", "slotted", "taper", "friction"] | None = None
    slot_end: str | None = None
    hold_before_belt_off: bool = False
    phaser: Phaser | None = None


class LinkTable(Table):
    """``[[link]]``: chain or gears between two shafts, off the belt."""

    from_: Annotated[Identifier, Field(alias="from")]
    to: Identifier
    teeth_from: Annotated[int, Field(ge=1, le=1000)]
    teeth_to: Annotated[int, Field(ge=1, le=1000)]
    kind: Literal["chain", "gears"] = "chain"


class PulleyTable(Table):
    """``[[pulley]]``: one wheel the belt runs over, in belt order along travel."""

    id: Identifier
    belt: Identifier | None = None
    shaft: Identifier | None = None
    role: Role | None = None
    teeth: Annotated[int, Field(ge=6, le=400)] | None = None
    diameter_mm: Positive | None = None
    at_mm: Point | None = None
    belt_side: Literal["teeth", "back"] | None = None
    mark_deg: Angle | None = None
    mark_on: Literal["gap", "tooth", "hub"] | None = None
    mark_offset_deg: Angle | None = None
    ratio: Annotated[float, Field(ge=-100, le=100)] | None = None
    expansion_per_k: Annotated[float, Field(ge=-1e-3, le=1e-3)] | None = None
    non_round: bool = False


class DistanceTable(Table):
    """``[[distance]]``: a measured centre distance, instead of coordinates."""

    between: Annotated[tuple[Identifier, Identifier], Pair]
    mm: Annotated[float, Field(gt=0, le=10000)]
    bearing_deg: Angle | None = None
    left_of: Identifier | None = None
    above: Identifier | None = None
    u_mm: NotNegative | None = None
