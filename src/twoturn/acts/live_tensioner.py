"""A tensioner on the page: how it is held, and a table of its whole travel with what is to be said at each place."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from twoturn.drive.model.tensioners import AnyTensioner, DoubleEccentric, Hydraulic, LockedEccentric, Slide
from twoturn.drive.parts import Drive
from twoturn.drive.path import FloatArray
from twoturn.drive.radii import block_growth
from twoturn.mechanics.answers.travel import Travel, travel_of
from twoturn.mechanics.kinds.ram import RamArm
from twoturn.mechanics.rest.known import BeltAtRest, Resting
from twoturn.mechanics.spread.at_pointer import tension_u_n
from twoturn.words.numbers import plain, pointer_words, range_words, window_words, with_unit
from twoturn.words.terms import TENSIONER_KINDS

NOTCH_DEG = 0.25
"""A pointer nearer to the notch than the eye tells is in it [° or mm]."""
U95 = 1.96
"""Standard uncertainties in the half width of a 95 % interval [-]."""
POINTS = ("bolt_mm", "pivot_mm", "base_mm", "at_notch_mm")
NUMBERS = ("arm_mm", "adjuster_mm", "notch_deg", "ram_arm_mm", "ram_deg", "tightens_deg")


def tensioner_of(drive: Drive, rest: BeltAtRest, table: AnyTensioner) -> dict[str, Any]:
    """A tensioner of a belt: kind, fixed points, limits and travel; what is not known is null."""
    growth = block_growth(drive, rest.warmer_k)
    points = {key: _point(getattr(table, key, None), growth) for key in POINTS}
    window = getattr(table, "window_mm", None) or getattr(table, "window_deg", None)
    resting = next((row for row in rest.tensioners if row.stand.table is table), None)
    kind = str(getattr(table, "kind", ""))
    return {
        "pulley": table.pulley,
        "kind": kind,
        "kind_words": TENSIONER_KINDS[kind],
        "tightens": getattr(table, "tightens", None),
        "unit": "mm" if isinstance(table, Slide) else "°",
        **points,
        **{key: getattr(table, key, None) for key in NUMBERS},
        "window": None if window is None or isinstance(table, Hydraulic) else list(window),
        "allowed": _allowed(table, window),
        "travel": None if resting is None or len(rest.tensioners) > 1 else travel_json(rest, resting),
        "moved_by": _moved_by(table),
    }


def _point(place: tuple[float, float] | None, growth: float) -> list[float] | None:
    return None if place is None else [place[0] * growth, place[1] * growth]


def _allowed(table: AnyTensioner, window: tuple[float, float] | None) -> str:
    """The allowed range in words; empty where the file gives none."""
    if window is None or isinstance(table, LockedEccentric):
        return ""
    if isinstance(table, Hydraulic):
        in_mm = table.window_mm is not None
        return f"The ram may stand out {range_words(*window, 'mm', 1)}." if in_mm else ""
    return f"Allowed: pointer {window_words(window[0], window[1], 'mm' if isinstance(table, Slide) else '°')}."


def _moved_by(table: AnyTensioner) -> str:
    """What the slider on the page moves."""
    if isinstance(table, DoubleEccentric):
        return "Turn the setting eccentric"
    if isinstance(table, LockedEccentric):
        return "Turn the fixed roller about its bolt"
    if isinstance(table, Hydraulic):
        return "Move the arm, as if the belt were a little longer or shorter"
    return "Move the roller, as if the belt were a little longer or shorter"


def travel_json(rest: BeltAtRest, resting: Resting) -> dict[str, Any]:
    """The travel of a belt's only tensioner, one list a column, from its loose end to its tight end.

    ``setting`` is what the slider moves, ``pointer`` and ``x``, ``y`` where the pulley then is, ``tension_n`` and
    ``u95_n`` what the belt pulls (19 of 20 times), ``stop`` −1, 0 or 1, ``said`` the sentence at each place, ``rest``
    the index of the place where the drive file sets it.
    """
    travel = travel_of(resting, rest.warmer_k)
    u95 = U95 * _u_n(resting, travel, rest.warmer_k)
    protrusion = _protrusion_mm(resting, travel, rest.warmer_k)
    shown = [] if protrusion is None else [round(float(value), 6) for value in protrusion]
    return {
        "by": travel.by,
        "setting": _plain(travel.setting),
        "adjuster_deg": _plain(travel.adjuster_deg),
        "pointer": _plain(travel.pointer),
        "x": _plain(travel.centre.real),
        "y": _plain(travel.centre.imag),
        "tension_n": _plain(travel.tension_n),
        "u95_n": _plain(u95),
        "stop": [int(value) for value in travel.stop],
        "protrusion_mm": shown,
        "rest": travel.rest,
        "said": [_said(resting, travel, at, float(u95[at]), protrusion) for at in range(travel.setting.size)],
    }


def _plain(values: FloatArray) -> list[float | None]:
    return [None if math.isnan(value) else round(float(value), 9) + 0.0 for value in values]


def _u_n(resting: Resting, travel: Travel, warmer_k: float) -> FloatArray:
    """Standard uncertainty of the tension at each place [N]; NaN on a stop and where nothing is known."""
    asked = travel.known & (travel.stop == 0)
    u = np.full(travel.setting.shape, np.nan)
    if asked.any():
        u[asked] = tension_u_n(resting.stand, travel.pointer[asked], travel.adjuster_deg[asked], warmer_k)
    return u


def _protrusion_mm(resting: Resting, travel: Travel, warmer_k: float) -> FloatArray | None:
    """How far a ram stands out at each place [mm]; None for other kinds."""
    table, stand = resting.stand.table, resting.stand
    if not isinstance(table, Hydraulic) or table.protrusion_at_notch_mm is None:
        return None
    arm = stand.kind(block_growth(stand.drive, warmer_k))
    if not isinstance(arm, RamArm):
        return None
    return np.asarray(table.protrusion_at_notch_mm + arm.ram(travel.pointer)[0] - arm.at_notch_mm)


def _said(resting: Resting, travel: Travel, at: int, u95_n: float, protrusion: FloatArray | None) -> str:
    """The sentence at one place: tension with its uncertainty, and how far from the notch."""
    where = _where(resting, travel, at, protrusion)
    if not travel.known[at]:
        return f"{where}: here nothing holds the belt's tension"
    tension = float(travel.tension_n[at])
    if travel.stop[at]:
        end = "low" if travel.stop[at] < 0 else "high"
        pull = "the belt is slack" if tension < 0.5 else f"the belt pulls {with_unit(tension, 'N', 0)}"
        return f"On its {end} stop: {pull}"
    if tension < 0.5:
        return f"The belt is slack, {where}"
    if math.isnan(u95_n) or u95_n < 0.5:
        return f"{with_unit(tension, 'N', 0)}, {where}"
    return f"{plain(tension, 0)} ± {with_unit(u95_n, 'N', 0)}, {where}"


def _where(resting: Resting, travel: Travel, at: int, protrusion: FloatArray | None) -> str:
    table, pointer = resting.stand.table, float(travel.pointer[at])
    if protrusion is not None:
        return f"the ram stands out {with_unit(float(protrusion[at]), 'mm', 1)}"
    if isinstance(table, LockedEccentric):
        turned = pointer - resting.rest.pointer
        if abs(turned) < NOTCH_DEG:
            return "where it is set"
        return f"turned {with_unit(abs(turned), '°', 1)} {'tighter' if turned > 0 else 'looser'} than it is set"
    if abs(pointer) < NOTCH_DEG:
        return "in the notch"
    limits = resting.stand.limits
    inside = limits.in_window(pointer)
    judged = "" if inside is None else ", allowed" if inside else ", outside what is allowed"
    return pointer_words(pointer, "mm" if limits.unit == "mm" else "°") + judged
