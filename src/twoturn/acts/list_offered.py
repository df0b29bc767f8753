"""What is offered when a list drive is made by taps: wheels, tensioners with their setting sequences, fasteners."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from twoturn.words.terms import ROLES, TENSIONER_KINDS

WHEELS: Final[dict[str, str]] = {
    "camshaft": "camshaft",
    "inlet camshaft": "camshaft",
    "exhaust camshaft": "camshaft",
    "left camshaft": "camshaft",
    "right camshaft": "camshaft",
    "tensioner": "tensioner",
    "guide roller": "idler",
    "coolant pump": "coolant pump",
    "oil pump": "oil pump",
    "injection pump": "injection pump",
    "balance shaft": "balance shaft",
}
"""Wheels after the crankshaft's, name to role."""
NEEDS_TEETH: Final = frozenset({"crankshaft", "camshaft", "injection pump", "balance shaft"})
PHASED: Final = frozenset({"crankshaft", "camshaft", "injection pump", "balance shaft"})
"""Roles whose place is proven by a mark, a pin or both."""
PROOFS: Final = ("mark", "pin", "mark and pin")
HOURS: Final = tuple(range(12))
NO_MARK: Final = "none"
"""Said of a wheel that its sheet shows no mark of."""
SOURCES: Final = ("the vehicle maker's data, on paper", "the vehicle maker's data, on screen")
PIN_PURPOSES: Final = ("check", "hold")
WAYS: Final = ("clockwise", "counter-clockwise")
INTERFERENCE: Final = ("yes", "no", "unknown")
FUELS: Final = ("petrol", "diesel", "gas")
AFTER_TURNS: Final = (2, 4, 6, 10)
WAITS_MIN: Final = (0, 5, 15)
THREADS: Final = ("M6", "M7", "M8", "M10", "M10x1.25", "M12", "M12x1.25", "M12x1.5", "M14x1.5", "M16x1.5")
FURTHER_FASTENERS: Final = ("damper bolts", "coolant pump bolts", "engine mount bolts", "cover bolts")
USUAL_COUNTS: Final = (1, 2, 3, 4, 5, 6, 8)
USUAL_KM: Final = (60_000, 90_000, 120_000, 150_000, 180_000)
USUAL_MONTHS: Final = (48, 60, 72, 96, 120)
NUT: Final = "tensioner nut"


@dataclass(frozen=True)
class SettingWay:
    """One way a kind of tensioner is set.

    Attributes
    ----------
    id, words
        Its key, and what a person reads.
    acts
        The acts in order: ``"nut"``, ``"nut light"`` and ``"nut loose"`` stand for the tensioner's nut, ``"turns"`` for
        the turns by hand; the others are a goal (``"to notch"``) or an act of their own.
    """

    id: str
    words: str
    acts: tuple[str, ...]


SETTINGS: Final[dict[str, tuple[SettingWay, ...]]] = {
    "locked eccentric": (
        SettingWay("mark", "to its mark, hold, tighten", ("to mark", "hold", "nut", "turns", "read mark")),
        SettingWay(
            "twist",
            "until the span can just be twisted as told, hold, tighten",
            ("to target", "hold", "nut", "turns", "read hand twist"),
        ),
        SettingWay(
            "note", "until the note or the gauge is right, hold, tighten", ("to target", "hold", "nut", "turns")
        ),
    ),
    "double eccentric": (
        SettingWay(
            "notch", "pointer to the notch, hold, tighten", ("to notch", "hold", "nut", "turns", "read pointer")
        ),
        SettingWay(
            "maximum",
            "to the stop, turn, back to the notch, hold, tighten",
            ("to maximum", "nut light", "turns", "nut loose", "to notch", "hold", "nut", "turns", "read pointer"),
        ),
    ),
    "sprung arm": (
        SettingWay("free", "draw its pin: the spring sets it", ("pin out", "turns", "read pointer")),
        SettingWay("locked", "draw its pin, turn, then lock it", ("pin out", "turns", "hold", "nut", "turns")),
    ),
    "slide": (
        SettingWay(
            "locked", "loosen, let the spring push, turn, tighten", ("nut loose", "turns", "hold", "nut", "turns")
        ),
        SettingWay("free", "let the spring push, it stays free", ("let go", "turns", "read hand twist")),
    ),
    "hydraulic": (
        SettingWay(
            "pin", "fit it pinned, turn, draw its pin", ("pin in", "nut", "turns", "pin out", "read protrusion")
        ),
        SettingWay("pin first", "fit it pinned, draw its pin, turn", ("pin in", "nut", "pin out", "turns")),
    ),
}
"""How each kind is set, the usual way first."""


def offered() -> dict[str, Any]:
    """Everything offered, for the page: lists of keys, and pairs of key and words."""
    return {
        "wheels": [{"name": name, "role": role, "role_words": ROLES[role]} for name, role in WHEELS.items()],
        "needs_teeth": sorted(NEEDS_TEETH),
        "phased": sorted(PHASED),
        "proofs": list(PROOFS),
        "hours": list(HOURS),
        "no_mark": NO_MARK,
        "sources": list(SOURCES),
        "pin_purposes": list(PIN_PURPOSES),
        "ways": list(WAYS),
        "interference": list(INTERFERENCE),
        "fuels": list(FUELS),
        "after_turns": list(AFTER_TURNS),
        "waits_min": list(WAITS_MIN),
        "threads": list(THREADS),
        "further_fasteners": list(FURTHER_FASTENERS),
        "counts": list(USUAL_COUNTS),
        "km": list(USUAL_KM),
        "months": list(USUAL_MONTHS),
        "kinds": [
            {"kind": kind, "words": TENSIONER_KINDS[kind], "settings": [[way.id, way.words] for way in ways]}
            for kind, ways in SETTINGS.items()
        ],
    }
