"""Numbers in an entry: plain in the unit of the key, or as typed with their unit, "25,5 N·m"."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema

from twoturn.drive.model.base import refusal
from twoturn.drive.model.work import Stage
from twoturn.errors import QuantityError
from twoturn.quantity.parse import parse

COLDEST_C, WARMEST_C = -40.0, 130.0
"""An engine block is no colder than the air of a hard winter and no warmer than its coolant boils under the cap [°C]
(common practice, no source)."""


def in_unit(unit: str) -> Callable[[Any], Any]:
    """A validator that turns ``"25,5 N·m"`` or a plain number into a number in ``unit``; other things pass through."""

    def understand(value: Any) -> Any:
        if isinstance(value, str):
            try:
                return parse(value, unit).value
            except QuantityError as error:
                raise refusal("", f'"{value[:60]}"', _expected(unit, error)) from None
        if isinstance(value, int) and not isinstance(value, bool):
            return float(value) if abs(value) < 10**15 else value
        return value

    return understand


def _expected(unit: str, error: QuantityError) -> str:
    own = "a plain number" if unit == "-" else f'a number in {unit}, such as 12.5 or "12,5 {unit}"'
    return f"{own} ({error.message})"


def _schema(unit: str, low: float | None = None) -> WithJsonSchema:
    number: dict[str, Any] = {"type": "number", "description": f"in {unit}"}
    if low is not None:
        number["minimum"] = low
    return WithJsonSchema({"anyOf": [number, {"type": "string", "description": f"a number with its unit, as {unit}"}]})


Millimetres = Annotated[float, BeforeValidator(in_unit("mm")), Field(ge=-10000, le=10000), _schema("mm")]
SomeMillimetres = Annotated[float, BeforeValidator(in_unit("mm")), Field(ge=0, le=10000), _schema("mm", 0)]
Degrees = Annotated[float, BeforeValidator(in_unit("°")), Field(ge=-36000, le=36000), _schema("°")]
SomeDegrees = Annotated[float, BeforeValidator(in_unit("°")), Field(ge=0, le=36000), _schema("°", 0)]
SomeNewtons = Annotated[float, BeforeValidator(in_unit("N")), Field(ge=0, le=1e6), _schema("N", 0)]
SomeHertz = Annotated[float, BeforeValidator(in_unit("Hz")), Field(gt=0, le=1e5), _schema("Hz", 0)]
Celsius = Annotated[float, BeforeValidator(in_unit("°C")), Field(ge=COLDEST_C, le=WARMEST_C), _schema("°C")]
Minutes = Annotated[float, BeforeValidator(in_unit("min")), Field(ge=0, le=1e5), _schema("min", 0)]
Kilometres = Annotated[float, BeforeValidator(in_unit("km")), Field(ge=0, le=5e6), _schema("km", 0)]
Speed = Annotated[float, BeforeValidator(in_unit("rpm")), Field(gt=0, le=30000), _schema("rpm", 0)]
Torque = Annotated[float, BeforeValidator(in_unit("N·m")), Field(gt=0, le=5000), _schema("N·m", 0)]
SomePlain = Annotated[float, BeforeValidator(in_unit("-")), Field(ge=0), _schema("-", 0)]

_STAGE = 'a stage such as 25, "25 N·m", "90°" or "loosen 180°"'


def stage(value: Any) -> Stage:
    """One stage of tightening as written: ``25`` or ``"25 N·m"``, ``"90°"``, ``"loosen 180°"``."""
    if isinstance(value, Stage):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _checked(value, torque_nm=float(value))
    if not isinstance(value, str):
        raise refusal("", "no stage", _STAGE)
    text = value.strip()
    loosen = text.lower().startswith(("loosen ", "loosened ", "back "))
    number = text.split(" ", 1)[1] if loosen else text
    for unit, key in (("°", "loosen_deg" if loosen else "angle_deg"), ("N·m", "torque_nm")):
        try:
            typed = parse(number, unit)
        except QuantityError:
            continue
        if unit == "°" and typed.assumed:
            continue
        if not loosen or unit == "°":
            return _checked(value, **{key: typed.value})
    raise refusal("", f'"{value[:60]}"', _STAGE)


def _checked(value: Any, **keys: float) -> Stage:
    number = next(iter(keys.values()))
    if not 0 < number <= 5000:
        raise refusal("", f"{value}", f"{_STAGE}, above 0 and at most 5000")
    return Stage(**keys)  # type: ignore[arg-type]


def stages(value: Any) -> Any:
    """One stage or a list of them, as a tuple."""
    if isinstance(value, list | tuple):
        return tuple(stage(item) for item in value)
    return (stage(value),)


Stages = Annotated[
    tuple[Stage, ...],
    BeforeValidator(stages),
    Field(min_length=1, max_length=12),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": ["number", "string"], "description": _STAGE},
                {"type": "array", "minItems": 1, "items": {"type": ["number", "string"]}},
            ]
        }
    ),
]
