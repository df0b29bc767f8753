"""Every kind of tensioner as a drive file writes it; keys of another kind are refused."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from twoturn.drive.model.base import Angle, Identifier, NotNegative, Point, Positive, Range, Table, refusal
from twoturn.drive.model.belts import Way


class SettingStep(Table):
    """One act of the setting sequence; exactly what is done stands in the one or two keys that are given."""

    to: str | float | None = None
    way: Way | None = None
    fastener: str | None = None
    light: bool = False
    loosen: bool = False
    turns: float | None = None
    hold: bool = False
    read: str | None = None
    wait_min: NotNegative | None = None
    pin: Literal["in", "out"] | None = None
    apply_nm: Positive | None = None
    text: str | None = None

    @model_validator(mode="after")
    def _says_something(self) -> SettingStep:
        if not self.model_fields_set - {"uncertainties"}:
            raise refusal("", "an empty setting step", 'what to do, such as {to = "notch"} or {turns = 2}')
        return self


class AnyTensioner(Table):
    """Keys that every kind of tensioner may carry.

    ``pulley`` may be left out in the file where one pulley only has the role tensioner; it is filled in on loading.
    """

    pulley: Identifier = ""
    setting: list[SettingStep] = Field(default_factory=list)
    settle_min: NotNegative = 0.0
    tang: bool = False
    locked_after_setting: bool = False
    preset_deg: Angle | None = None
    hex_finish_deg: Angle | None = None
    applied_torque_nm: Positive | None = None


class LockedEccentric(AnyTensioner):
    """A fixed roller, set by hand: a wheel on an eccentric that is turned and then locked."""

    kind: Literal["locked eccentric"]
    tightens: Way | None = None
    bolt_mm: Point | None = None
    arm_mm: Positive | None = None
    notch_deg: Angle | None = None
    set_deg: Angle | None = None
    target_n: Positive | None = None
    window_deg: Range | None = None
    stops_deg: Range | None = None


class SprungKind(AnyTensioner):
    """What the kinds with an arm and a spring share."""

    tightens: Way | None = None
    arm_mm: Positive | None = None
    notch_deg: Angle | None = None
    window_deg: Range | None = None
    stops_deg: Range | None = None


class DoubleEccentric(SprungKind):
    """An automatic roller with pointer: a setting eccentric (adjuster) that carries a sprung eccentric (arm)."""

    kind: Literal["double eccentric"]
    bolt_mm: Point | None = None
    adjuster_mm: Positive | None = None
    adjuster_deg: Angle | None = None
    adjuster_range_deg: Range | None = None
    adjust_turns: Way | None = None
    spring_nm: Positive | None = None
    rate_nm_per_deg: NotNegative | None = None
    friction_nm: NotNegative = 0.0
    spring_reacts_on: Literal["engine", "adjuster"] = "engine"


class SprungArm(SprungKind):
    """A roller on an arm that a spring turns about a pivot."""

    kind: Literal["sprung arm"]
    pivot_mm: Point | None = None
    spring_nm: Positive | None = None
    rate_nm_per_deg: NotNegative | None = None
    friction_nm: NotNegative = 0.0
    spring_reacts_on: Literal["engine", "adjuster"] = "engine"


class Slide(AnyTensioner):
    """A roller that a spring pushes along a straight guide."""

    kind: Literal["slide"]
    at_notch_mm: Point | None = None
    tightens_deg: Angle | None = None
    spring_n: Positive | None = None
    rate_n_per_mm: NotNegative | None = None
    friction_n: NotNegative = 0.0
    window_mm: Range | None = None
    stops_mm: Range | None = None


class Hydraulic(SprungKind):
    """A roller on an arm that a hydraulic ram pushes; what is read is how far the ram stands out."""

    kind: Literal["hydraulic"]
    pivot_mm: Point | None = None
    base_mm: Point | None = None
    ram_arm_mm: Positive | None = None
    ram_deg: Angle | None = None
    ram_n: Positive | None = None
    rate_n_per_mm: NotNegative | None = None
    friction_n: NotNegative = 0.0
    protrusion_at_notch_mm: float | None = None
    window_mm: Range | None = None


Tensioner = Annotated[
    LockedEccentric | DoubleEccentric | SprungArm | Slide | Hydraulic,
    Field(discriminator="kind"),
]

KINDS: dict[str, type[AnyTensioner]] = {
    "locked eccentric": LockedEccentric,
    "double eccentric": DoubleEccentric,
    "sprung arm": SprungArm,
    "slide": Slide,
    "hydraulic": Hydraulic,
}
