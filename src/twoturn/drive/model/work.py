"""Requirements, fasteners, pins, timing, engine and what else a plan needs, as a drive file writes them."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, field_validator, model_validator

from twoturn.drive.model.base import Angle, Identifier, NotNegative, OpenTable, Positive, Table, refusal
from twoturn.drive.model.belts import Way

Quantity = Literal[
    "torque",
    "angle",
    "pointer",
    "protrusion",
    "frequency",
    "tension",
    "mark",
    "cam phase",
    "pin",
    "play",
    "width",
    "deflection",
    "hand twist",
    "pump lift",
    "pin depth",
    "offset",
    "runout",
    "compression",
]
State = Literal["as found", "as set", "after turns"]
OTHER_WORDS_FOR_STATES = {"as fitted": "as set", "after two turns": "after turns", "cold": "as set"}
Slug = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9._@-]*$", max_length=80)]
WHEEL = r"^[1-9][0-9]{0,2}((-[1-9][0-9]?){1,12}|\+[1-9])?$"
"""A sensor wheel as the trade writes it: ``60-2``, ``36-2-2-2``, ``12+1``, ``58`` without a gap."""
WheelText = Annotated[str, Field(pattern=WHEEL, max_length=40)]


class RequirementTable(Table):
    """``[[requirement]]``: what the vehicle maker or the workshop demands."""

    id: Identifier
    quantity: Quantity
    low: float | None = None
    high: float | None = None
    unit: str | None = None
    at: str | None = None
    state: State | None = None
    temperature_c: float | None = None
    at_n: Positive | None = None
    source: str | None = None
    kind: Literal["maker", "workshop", "default"] = "maker"
    method: Literal["as prescribed", "measured"] | None = None
    instead_of: Identifier | None = None

    @field_validator("state", mode="before")
    @classmethod
    def _same_word_for_state(cls, value: Any) -> Any:
        return OTHER_WORDS_FOR_STATES.get(value, value) if isinstance(value, str) else value

    @model_validator(mode="after")
    def _limits_in_order(self) -> RequirementTable:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise refusal("low", f"low {self.low:g} above high {self.high:g}", "low at or below high")
        return self


class Stage(Table):
    """One stage of tightening: a torque, an angle, or turning loose."""

    torque_nm: Positive | None = None
    angle_deg: Positive | None = None
    loosen_deg: Positive | None = None

    @model_validator(mode="after")
    def _one_of_them(self) -> Stage:
        given = [key for key in ("torque_nm", "angle_deg", "loosen_deg") if getattr(self, key) is not None]
        if len(given) != 1:
            found = " and ".join(given) or "an empty stage"
            raise refusal("", found, "one of torque_nm, angle_deg, loosen_deg in each stage")
        return self


class FastenerTable(Table):
    """``[[fastener]]``: a bolt or nut with its stages."""

    id: Identifier
    thread: str | None = None
    left_hand: bool = False
    grade: str | None = None
    stages: list[Stage] = Field(default_factory=list)
    locks: str | None = None
    single_use: bool = False
    into: str | None = None
    seat_mm: Positive | None = None
    grip_mm: Positive | None = None
    lubrication: str | None = None
    count: Annotated[int, Field(ge=1)] = 1


class CamEdge(Table):
    """One edge of a cam sensor that the maker states, in crank degrees after the setting reference."""

    shaft: Identifier | None = None
    edge: Literal["rising", "falling"]
    angle_deg: Angle
    tolerance_deg: Positive


class TimingTable(Table):
    """``[timing]``: the setting position and how the timing is proven."""

    setting_crank_deg: Angle | None = None
    after_turns: Annotated[int, Field(ge=1, le=20)] = 2
    safe_crank_deg: Angle | None = None
    way: Way | None = None
    gap_to_tdc_deg: Angle | None = None
    crank_wheel: WheelText | None = None
    crank_edge: Literal["rising", "falling"] | None = None
    cam_edges: list[CamEdge] = Field(default_factory=list)


class PinTable(Table):
    """``[[pin]]``: a locking pin, bar or rod."""

    id: Identifier | None = None
    shaft: Identifier
    size_mm: Positive | None = None
    min_depth_mm: Positive | None = None
    purpose: Literal["check", "hold"] = "check"


class PartTable(OpenTable):
    """``[[part]]``: a part to renew."""

    name: str | None = None
    count: Annotated[int, Field(ge=1)] = 1
    single_use: bool = False


class ToolTable(OpenTable):
    """``[[tool]]``: a special tool."""

    name: str | None = None


class FluidsTable(OpenTable):
    """``[fluids]``: what is drained and filled again."""

    coolant_l: Positive | None = None
    coolant_type: str | None = None
    bleed_order: list[str] = Field(default_factory=list)
    fuel_opened: bool = False
    fuel_wait_min: NotNegative | None = None


class AccessTable(OpenTable):
    """``[access]``: what must come off and what can be reached."""

    mount_in_loop: bool = False
    reachable: list[str] = Field(default_factory=list)
    damper_over_cover: bool = True
    battery: str | None = None
    hold_crank_at: str | None = None
    pump_press_bar: Positive | None = None


class RelearnTable(OpenTable):
    """``[relearn]``: what the control unit must learn again."""

    steps: list[str] = Field(default_factory=list)


class EngineTable(Table):
    """``[engine]``: what is known of the engine; every key is optional."""

    interference: Literal["yes", "no", "unknown"] = "unknown"
    source: str | None = None
    fuel: Literal["petrol", "diesel", "gas"] | None = None
    cylinders: Annotated[int, Field(ge=1, le=16)] | None = None
    firing_order: list[Annotated[int, Field(ge=1)]] = Field(default_factory=list)
    bore_mm: Positive | None = None
    stroke_mm: Positive | None = None
    rod_mm: Positive | None = None
    pin_offset_mm: float | None = None
    compression_ratio: Annotated[float, Field(gt=1, le=40)] | None = None
    valves: Any = None


class IntervalTable(Table):
    """``[interval]``: when the belt is due, by the vehicle's schedule."""

    km: Positive | None = None
    months: Positive | None = None
    hours: Positive | None = None
    severe: dict[str, Positive] = Field(default_factory=dict)

    @field_validator("severe", mode="before")
    @classmethod
    def _one_factor(cls, value: Any) -> Any:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        return {"severe duty": value} if is_number else value


class FitTable(Table):
    """``[fit]``: the threading order, where it is not the derived one; one list, or one a belt."""

    order: list[Identifier] = Field(default_factory=list)
    belt: Identifier | None = None


class StepTable(Table):
    """``[[step]]``: a step of this drive's own, put after a step of the plan."""

    after: Slug
    text: Annotated[str, Field(min_length=1)]
    id: Slug | None = None
    caution: str | None = None
    fastener: str | None = None
