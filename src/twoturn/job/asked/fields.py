"""The fields of each kind of entry: what is asked first, and what may be said besides."""

from __future__ import annotations

from collections.abc import Iterable

from twoturn.findings.catalogue import Finding, catalogue
from twoturn.job.asked.model import Choice, Field
from twoturn.job.evidence import INSTRUMENT_U_MM

NOTCH = ("in the notch", "short", "past", "in the window", "outside the window")
OFF = ("quarter", "half", "one")
INSTRUMENTS = tuple(Choice(name, name) for name in (*INSTRUMENT_U_MM, "other"))
NOTE = Field("note", "Remark", "text", required=False)
NEW_WORDS = ", new "
"""What a one-tap answer says last, before the fasteners that serve once and are new."""


def choices(*pairs: tuple[str, str] | tuple[str, str, str]) -> tuple[Choice, ...]:
    """Choices from value, label and, where there is one, picture."""
    return tuple(Choice(*pair) for pair in pairs)


def same(values: Iterable[str]) -> tuple[Choice, ...]:
    """Choices whose words are what is entered."""
    return tuple(Choice(value, value) for value in values)


def yes_no(key: str, label: str, value: str | None = None, *, required: bool = True, hint: str = "") -> Field:
    """A question of yes or no."""
    return Field(key, label, "yes/no", choices=choices(("yes", "yes"), ("no", "no")), value=value, required=required,
                 hint=hint)  # fmt: skip


def tick(key: str, label: str, value: str | None = None, hint: str = "") -> Field:
    """A box to tick."""
    return Field(key, label, "tick", choices=choices(("yes", label)), value=value, required=False, hint=hint)


def number(key: str, label: str, unit: str, value: str | None = None, *, required: bool = True, hint: str = "",
           within: tuple[float | None, float | None] = (None, None)) -> Field:  # fmt: skip
    """A number with its unit."""
    return Field(key, label, "number", unit, value=value, required=required, hint=hint, low=within[0], high=within[1])


def mark_fields(wheels: tuple[Choice, ...]) -> tuple[tuple[Field, ...], tuple[Field, ...]]:
    """Where timing marks stand, by picture: on, or off by a quarter, half or one tooth, and which way."""
    picked = tuple(choice.value for choice in wheels)
    asked = (
        Field("at", "Marks of", "many", choices=wheels, value=picked, hint="untick those that stand otherwise"),
        Field(
            "reads",
            "How they stand",
            "mark picture",
            choices=choices(
                ("on", "on", "mark-on"),
                ("quarter", "¼ tooth off", "mark-quarter"),
                ("half", "½ tooth off", "mark-half"),
                ("one", "1 tooth off", "mark-one"),
            ),
        ),
        Field(
            "way",
            "Which way",
            "choice",
            choices=choices(
                ("late", "late: not yet at the fixed mark, in running direction", "mark-late"),
                ("early", "early: past the fixed mark, in running direction", "mark-early"),
            ),
            required=False,
            only_if=("reads", OFF),
        ),
    )
    return asked, (NOTE,)


def pointer_fields(unit: str) -> tuple[tuple[Field, ...], tuple[Field, ...]]:
    """Where a pointer stands, by picture: short of, in or past the notch, in pointer widths (a slide: in mm)."""
    off = ("reads", ("short", "past"))
    if unit == "mm":
        far = Field("off_mm", "How far off", "number", "mm", only_if=off, low=0)
        other: tuple[Field, ...] = ()
    else:
        far = Field(
            "widths",
            "How far off, in pointer widths",
            "choice",
            choices=choices(("0.5", "½ width"), ("1", "1 width"), ("1.5", "1½ widths"), ("2", "2 widths"),
                            ("3", "3 widths")),
            required=False,
            only_if=off,
            or_typed=True,
            low=0,
            high=50,
        )  # fmt: skip
        other = (
            Field("off_deg", "or in degrees", "number", "°", required=False, only_if=off, low=0, high=180,
                  hint="instead of pointer widths"),
        )  # fmt: skip
    shown = Field(
        "reads",
        "The pointer stands",
        "pointer picture",
        choices=choices(
            ("short", "short of the notch", "pointer-short"),
            ("in the notch", "in the notch", "pointer-notch"),
            ("past", "past the notch", "pointer-past"),
            ("in the window", "inside the marked range", "pointer-window"),
            ("outside the window", "outside the marked range", "pointer-outside"),
        ),
    )
    return (shown, far), (*other, NOTE)


def gauge_fields(first: Field, *others: Field) -> tuple[tuple[Field, ...], tuple[Field, ...]]:
    """A number read with a gauge, and which gauge."""
    more = (
        Field("instrument", "Read with", "choice", choices=INSTRUMENTS, required=False),
        number("u_mm", "Standard uncertainty", "mm", required=False, within=(0, None)),
        NOTE,
    )
    return (first, *others), more


def belt_fields(
    teeth: int | None, arrow: str | None, teeth_from: str | None
) -> tuple[tuple[Field, ...], tuple[Field, ...]]:
    """What the new belt is: teeth as printed or counted, and its arrow."""
    asked = (
        Field(
            "teeth",
            "Teeth",
            "whole",
            "teeth",
            value=None if teeth is None else str(teeth),
            from_where="" if teeth is None else "from the drive file: compare with the print on the belt",
            low=10,
            high=1000,
        ),
        Field(
            "teeth_from",
            "Known from",
            "choice",
            choices=choices(("print", "the print on the belt"), ("counted", "counted by hand")),
            value=teeth_from or "print",
        ),
        Field(
            "arrow",
            "Arrow",
            "choice",
            choices=choices(
                ("with travel", "with travel"),
                ("none", "no arrow on this belt"),
                ("against travel", "against travel"),
            ),
            value=arrow,
            from_where="as the last job of this drive" if arrow else "",
        ),
    )
    more = (
        Field("designation", "Printed on it", "text", required=False),
        Field("batch", "Batch", "text", required=False),
        number("width_mm", "Width", "mm", required=False, within=(0, 200)),
        NOTE,
    )
    return asked, more


def finding_choices(belt: bool | None, in_oil: bool) -> tuple[Choice, ...]:
    """Findings to pick: those of the belt itself, of what stays, or all (None)."""

    def wanted(item: Finding) -> bool:
        of_belt = item.where in ("belt teeth", "belt back", "belt edges", "belt cords", "whole belt")
        return (belt is None or belt is of_belt) and (item.in_oil or not in_oil)

    return tuple(
        Choice(item.id, f"{item.words} (cure first)" if item.severe else item.words)
        for item in catalogue().values()
        if wanted(item)
    )


def turned_fields(turns: str | None, from_where: str) -> tuple[tuple[Field, ...], tuple[Field, ...]]:
    """How far the crankshaft was turned by hand, and whether it was overshot or turned back."""
    asked = (Field("turns", "Turns", "number", "turns", value=turns, from_where=from_where, low=0, high=100),)
    more = (
        tick("overshot", "overshot: went past the setting position", hint="whole turns count"),
        tick("turned_back", "turned back, against the running direction"),
        NOTE,
    )
    return asked, more


def temperature_field(words: tuple[Choice, ...], value: str | None = None, from_where: str = "") -> Field:
    """A temperature, by a word or as a number."""
    return Field(
        "temperature_c",
        "Temperature",
        "choice",
        "°C",
        choices=words,
        value=value,
        from_where=from_where,
        or_typed=True,
        low=-40,
        high=130,
    )


BLOCK_WORDS = choices(
    ("overnight", "stood four hours or overnight"),
    ("hand-warm", "hand-warm (about 40 °C)"),
    ("hot", "hot (about 80 °C)"),
)
CAPTURE_MORE = (
    tick("regime.cranking", "turned by the starter"),
    tick("regime.phaser_locked", "every timing adjuster (phaser) in its locked place"),
    number("regime.rpm", "Speed", "rpm", required=False, within=(0, 30000)),
    number("regime.temperature_c", "Temperature", "°C", required=False, within=(-40, 130)),
    Field("text", "Remark on the recording", "text", required=False),
    NOTE,
)
VEHICLE_MORE = (
    ("vin", "Vehicle identification number"),
    ("model", "Make and model"),
    ("engine", "Engine code"),
    ("customer", "Customer or order number"),
)
