"""What every table of a drive file shares: unknown keys are refused, and ``<key>_u`` is an uncertainty."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema, PydanticCustomError


def _as_tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


Pair = BeforeValidator(_as_tuple)
HUGE = 1e9  # beyond any quantity of an engine; keeps sums and squares finite
Coordinate = Annotated[float, Field(ge=-10000, le=10000)]
Angle = Annotated[float, Field(ge=-3600, le=3600)]
Point = Annotated[tuple[Coordinate, Coordinate], Pair]
Range = Annotated[tuple[Angle, Angle], Pair]
Positive = Annotated[float, Field(gt=0, le=HUGE)]
NotNegative = Annotated[float, Field(ge=0, le=HUGE)]
NAME = r"^[^:\s\x00-\x1f]([^:\x00-\x1f]*[^:\s\x00-\x1f])?$"
Identifier = Annotated[str, Field(min_length=1, max_length=60, pattern=NAME)]

EXACT = {"teeth", "pitch_mm", "u_mm"}
ENDINGS = (
    "_mm",
    "_deg",
    "_n",
    "_nm",
    "_g",
    "_c",
    "_l",
    "_bar",
    "_min",
    "_per_k",
    "_per_m",
    "_per_deg",
    "_per_mm",
    "_m2",
)
Uncertainty = NotNegative
UncertaintyPair = Annotated[list[Uncertainty], Field(min_length=2, max_length=2)]


def refusal(key: str, found: str, expected: str) -> PydanticCustomError:
    """A fault in one key of a table, in the words that a person reads.

    Parameters
    ----------
    key
        The key at fault, inside the table.
    found, expected
        What stands there and what would be right.
    """
    return PydanticCustomError("twoturn", "found {found}; expected {expected}", _words(key, found, expected))


def _words(key: str, found: str, expected: str) -> dict[str, Any]:
    return {"key": key, "found": found, "expected": expected}


class Table(BaseModel):
    """A table of a drive file.

    A key ``<key>_u`` beside the key of a quantity holds its standard uncertainty, in the same unit (tooth counts and
    pitches are exact); read it back with :meth:`u_of`.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, strict=True)

    uncertainties: dict[str, Uncertainty | UncertaintyPair] = Field(default_factory=dict, exclude=True, repr=False)

    @classmethod
    def quantities(cls) -> set[str]:
        """Names of the keys that may carry an uncertainty: those whose name ends in a unit."""
        more = {"mm", "compression_ratio"}
        return {name for name in cls.model_fields if (name in more or name.endswith(ENDINGS)) and name not in EXACT}

    @model_validator(mode="before")
    @classmethod
    def _collect_uncertainties(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        if "uncertainties" in data:
            raise refusal("uncertainties", "an unknown key", "an uncertainty as <key>_u beside the key it belongs to")
        if not any(key.endswith("_u") for key in data):
            return data
        known = cls.quantities()
        rest, found = {}, {}
        for key, value in data.items():
            if key.endswith("_u") and key[:-2] in known and key not in cls.model_fields:
                found[key[:-2]] = value
            else:
                rest[key] = value
        return {**rest, "uncertainties": found} if found else rest

    def u_of(self, key: str, otherwise: float = 0.0) -> float:
        """Standard uncertainty given for ``key``, in the unit of that key; ``otherwise`` where none is given."""
        value = self.uncertainties.get(key, otherwise)
        return max(value) if isinstance(value, list) else value

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        schema = handler.resolve_ref_schema(handler(core_schema))
        properties = schema.get("properties", {})
        properties.pop("uncertainties", None)
        for key in sorted(cls.quantities() & set(properties)):
            one: dict[str, Any] = {"minimum": 0, "type": "number"}
            two = {"items": one, "maxItems": 2, "minItems": 2, "type": "array"}
            holds_two = "prefixItems" in str(properties[key])
            properties[f"{key}_u"] = {
                "description": f"Standard uncertainty of {key}, in the same unit.",
                **({"anyOf": [one, two]} if holds_two else one),
            }
        return schema


class OpenTable(Table):
    """A table whose unknown keys are kept and printed as remarks (parts, tools, fluids, access, relearn)."""

    model_config = ConfigDict(frozen=True, extra="allow", allow_inf_nan=False, strict=True)

    @property
    def remarks(self) -> dict[str, Any]:
        """The keys twoturn does not know, as written."""
        return dict(self.model_extra or {})
