"""What is answered of one belt of a drive, key by key."""

from __future__ import annotations

from dataclasses import asdict
from fractions import Fraction
from typing import Any

import numpy as np

from twoturn.drive.laid import lay
from twoturn.drive.model.tensioners import AnyTensioner, DoubleEccentric, Hydraulic, LockedEccentric, Slide
from twoturn.drive.parts import Drive, Pulley
from twoturn.drive.radii import block_growth, speed_ratio
from twoturn.drive.threading import thread_order
from twoturn.drive.turning import realign
from twoturn.mechanics.answers.band import Band, friction_band_n, is_held, tension_band
from twoturn.mechanics.answers.fits import belt_fits
from twoturn.mechanics.answers.slopes import slopes_at
from twoturn.mechanics.belt import missing_for_rest
from twoturn.mechanics.kinds.ram import RamArm
from twoturn.mechanics.rest.known import BeltAtRest, Resting, how_far
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.setting.closing import DOUBT
from twoturn.mechanics.setting.length_u import length_u_mm
from twoturn.mechanics.spread.pushed import SHARE, laid_apart
from twoturn.timing.counts import tooth_counts

UNKNOWN = ("pointer_deg", "adjuster_deg", "centre_mm", "tension_n", "on_stop", "short_mm", "short_pitches")
BANDS = (
    "low_n",
    "high_n",
    "window",
    "settled",
    "n_per_deg",
    "deg_per_mm_belt",
    "n_per_mm_belt",
    "n_per_k",
    "deg_per_k",
)


def belt_answer(drive: Drive, rest: BeltAtRest) -> dict[str, Any]:
    """The answer for one belt, every key present, what cannot be known null and explained in ``why``."""
    belt, why = rest.belt, list(rest.why)
    back, order = realign(drive, belt), thread_order(drive, belt)
    tensioners = [_tensioner(drive, rest, table, why) for table in belt.tensioners]
    answer = {
        "id": belt.id,
        "teeth": belt.table.teeth,
        "pitch_mm": belt.table.pitch_mm,
        "length_mm": rest.free_mm,
        "path_length_mm": None if rest.shape is None else float(rest.shape.path.length_mm),
        "closure": _closure(rest),
        "tension_n": rest.tension_n,
        "pulleys": [_pulley(drive, rest, index) for index in range(len(belt.pulleys))],
        "spans": _spans(rest),
        "tensioner": tensioners[0] if tensioners else None,
        "tooth_counts": _tooth_counts(drive, rest, why),
        "realign_crank_turns": _number(back.turns),
        "fits": _fits(drive, rest, why),
        "thread_order": list(order.order),
    }
    if len(tensioners) > 1:
        answer["tensioners"] = tensioners
    why += [text[:1].upper() + text[1:] + "." for text in (back.why, order.why) if text]
    answer["why"] = _one_gap(why)
    return answer


def _one_gap(why: list[str]) -> list[str]:
    """The sentences with what ties the two gaps together, where path and belt contradict each other."""
    at = next((number for number, text in enumerate(why) if text.startswith("No position of the eccentric")), None)
    if at is None or not any(text.startswith(DOUBT) for text in why):
        return why
    tied = (
        "That is the same gap as the one to check first, at the end of the travel that comes nearest and with the belt "
        "stretched by the pull."
    )
    return [*why[: at + 1], tied, *why[at + 1 :]]


def _number(value: Fraction | None) -> int | float | None:
    if value is None:
        return None
    return int(value) if value.denominator == 1 else float(value)


def _closure(rest: BeltAtRest) -> dict[str, Any] | None:
    if rest.closure is None:
        return None
    return {"offset_mm": rest.closure.offset_mm, "u_mm": rest.closure.u_mm}


def _pulley(drive: Drive, rest: BeltAtRest, index: int) -> dict[str, Any]:
    pulley: Pulley = rest.belt.pulleys[index]
    wrap = None if rest.shape is None else float(np.degrees(rest.shape.path.wraps_rad[index]))
    meshing = None if wrap is None or pulley.teeth is None else wrap / 360 * pulley.teeth
    ratio = speed_ratio(drive, rest.belt, pulley, rest.warmer_k)
    return {"id": pulley.id, "wrap_deg": wrap, "teeth_in_mesh": meshing, "speed_ratio": ratio}


def _spans(rest: BeltAtRest) -> list[dict[str, Any]]:
    ids = [pulley.id for pulley in rest.belt.pulleys]
    lengths = [None] * len(ids) if rest.shape is None else [float(span) for span in rest.shape.path.spans_mm]
    pairs = zip(ids, ids[1:] + ids[:1], lengths, strict=True)
    return [{"from": start, "to": end, "length_mm": length} for start, end, length in pairs]


def _tooth_counts(drive: Drive, rest: BeltAtRest, why: list[str]) -> list[dict[str, Any]]:
    marked = rest.belt.marked
    if rest.shape is None:
        if len(marked) == 1:
            own, teeth = marked[0].id, float(rest.belt.table.teeth)
            return [{"from": own, "to": own, "teeth": teeth, "u": None, "near_integer": True, "closes": False}]
        if marked:
            why.append("Without coordinates the teeth between marks are not known: count them on the belt.")
        return []
    laid = lay(rest.belt, rest.shape.centres, rest.warmer_k)
    return [
        {
            "from": row.start,
            "to": row.end,
            "teeth": row.teeth,
            "u": row.u,
            "near_integer": row.near_integer,
            "meshes": row.meshes,
            "closes": row.closes,
        }
        for row in tooth_counts(laid, laid_apart(drive, rest), SHARE)
    ]


def _fits(drive: Drive, rest: BeltAtRest, why: list[str]) -> list[dict[str, Any]]:
    stand = _stand(drive, rest)
    if rest.shape is None or stand is None:
        return []
    if isinstance(stand.table, LockedEccentric) and stand.table.target_n is None:
        why.append("Without target_n nothing says which tooth counts the eccentric can take.")
        return []
    if rest.belt.table.closure == "at notch":
        why.append("The belt was closed on the notch: only differences are claimed, no probability of a tooth count.")
    u_mm = length_u_mm(rest.belt, rest.shape.path)
    in_mm = isinstance(stand.table, Slide)
    return [
        {
            "teeth": fit.teeth,
            "pointer_deg": None if in_mm else _still(fit.pointer),
            **({"pointer_mm": _still(fit.pointer)} if in_mm else {}),
            "in_window": fit.in_window,
            "probability": fit.probability,
        }
        for fit in belt_fits(stand, rest.warmer_k, u_mm)
    ]


def _stand(drive: Drive, rest: BeltAtRest) -> Stand | None:
    """The one tensioner; where the belt on hand lets it rest nowhere, as it is before it is set."""
    if rest.tensioners or len(rest.belt.tensioners) != 1:
        return rest.tensioners[0].stand if len(rest.tensioners) == 1 else None
    table = rest.belt.tensioners[0]
    if missing_for_rest(rest.belt) or rest.belt.table.closure == "at notch":
        return None
    unable = isinstance(table, DoubleEccentric) and table.adjust_turns is None
    return None if unable else Stand(drive, rest.belt, table)


def _still(pointer: float) -> float:
    """A pointer without the rounding left over on the notch."""
    return 0.0 if abs(pointer) < 1e-9 else pointer


def _tensioner(drive: Drive, rest: BeltAtRest, table: AnyTensioner, why: list[str]) -> dict[str, Any]:
    answer: dict[str, Any] = {"kind": getattr(table, "kind", None), "pulley": table.pulley}
    resting = next((row for row in rest.tensioners if row.stand.table is table), None)
    if resting is None:
        unknown = {**answer, **dict.fromkeys((*UNKNOWN, *BANDS)), **_own_keys(table)}
        return unknown | _as_set(rest, table)
    answer |= _standing(drive, rest, resting) | _own_values(drive, rest, resting)
    _note_standing(resting, rest, why)
    if len(rest.tensioners) > 1:
        low, high = _joint_friction(resting, rest)
        return {**answer, **dict.fromkeys(BANDS), "low_n": low, "high_n": high}
    slopes = slopes_at(resting.stand, resting.rest, rest.warmer_k)
    band = tension_band(resting, rest.warmer_k)
    _note_band(resting, rest, band, why)
    answer |= _band(band) | asdict(slopes)
    return answer | {"n_per_mm": slopes.n_per_deg} if isinstance(table, Slide) else answer


def _joint_friction(resting: Resting, rest: BeltAtRest) -> tuple[float | None, float | None]:
    """Friction band beside a second tensioner: its own friction over its own lever."""
    if is_held(resting, rest.warmer_k) or rest.shape is None:
        return None, None
    return friction_band_n(resting.stand, resting.rest, rest.warmer_k)


def _standing(drive: Drive, rest: BeltAtRest, resting: Resting) -> dict[str, Any]:
    stand, place = resting.stand, resting.rest
    growth = block_growth(drive, rest.warmer_k)
    centre = complex(stand.kind(growth).pose(place.pointer, place.adjuster_deg).centre)
    pitch = rest.belt.table.pitch_mm
    return {
        "pointer_deg": None if isinstance(stand.table, Slide) else _still(place.pointer),
        "adjuster_deg": place.adjuster_deg if isinstance(stand.table, DoubleEccentric) else None,
        "centre_mm": [centre.real, centre.imag],
        "tension_n": place.tension_n,
        "on_stop": place.on_stop,
        "short_mm": place.short_mm,
        "short_pitches": None if place.short_mm is None or pitch is None else place.short_mm / pitch,
    }


def _as_set(rest: BeltAtRest, table: AnyTensioner) -> dict[str, Any]:
    """Where a fixed roller is set, which is known without any tension."""
    if not isinstance(table, LockedEccentric) or table.set_deg is None or rest.shape is None:
        return {}
    at = [pulley.id for pulley in rest.belt.pulleys].index(table.pulley)
    centre = complex(rest.shape.centres[at])
    return {"pointer_deg": table.set_deg, "centre_mm": [centre.real, centre.imag]}


def _own_keys(table: AnyTensioner) -> dict[str, Any]:
    """Keys that only one kind has, null."""
    if isinstance(table, Slide):
        return {"pointer_mm": None, "n_per_mm": None}
    return {"protrusion_mm": None} if isinstance(table, Hydraulic) else {}


def _own_values(drive: Drive, rest: BeltAtRest, resting: Resting) -> dict[str, Any]:
    """Keys that only one kind has, with their values."""
    table = resting.stand.table
    if isinstance(table, Slide):
        return {"pointer_mm": _still(resting.rest.pointer)}
    arm = resting.stand.kind(block_growth(drive, rest.warmer_k))
    if not isinstance(table, Hydraulic) or not isinstance(arm, RamArm) or table.protrusion_at_notch_mm is None:
        return _own_keys(table)
    grown = float(arm.ram(resting.rest.pointer)[0] - arm.at_notch_mm)
    return {"protrusion_mm": table.protrusion_at_notch_mm + grown}


def _band(band: Band) -> dict[str, Any]:
    window, settled = band.window, band.settled
    return {
        "low_n": band.low_n,
        "high_n": band.high_n,
        "window": None
        if window is None
        else {"low_n": window.low_n, "high_n": window.high_n, "reached": list(window.reached)},
        "settled": None
        if settled is None
        else {
            "low_n": settled.low_n,
            "high_n": settled.high_n,
            "low_pointer": _still(settled.low_pointer),
            "high_pointer": _still(settled.high_pointer),
        },
    }


def _on_stop(resting: Resting, pitch_mm: float | None) -> str:
    """A sprung tensioner on its stop, or a roller fixed at the end of its travel, in words."""
    table, place = resting.stand.table, resting.rest
    far = None if place.short_mm is None else how_far(place.short_mm, pitch_mm)
    if isinstance(table, LockedEccentric):
        target = "" if table.target_n is None else f" for {table.target_n:g} N"
        text = f'The roller "{table.pulley}" is at the end of its travel, at its {place.on_stop} stop'
        return f"{text}." if far is None else f"{text}: {far}{target}."
    text = f'The tensioner "{table.pulley}" rests on its {place.on_stop} stop'
    return f"{text}." if far is None else f"{text}: {far} to come off it."


def _note_standing(resting: Resting, rest: BeltAtRest, why: list[str]) -> None:
    stand, place = resting.stand, resting.rest
    if place.on_stop is not None:
        why.append(_on_stop(resting, rest.belt.table.pitch_mm))
    if is_held(resting, rest.warmer_k):
        why.append("The roller is locked: its position proves no tension, and no spring makes a band.")
    if isinstance(stand.table, Hydraulic) and stand.table.protrusion_at_notch_mm is None:
        why.append("protrusion_at_notch_mm is missing: how far the ram stands out is not known.")


def _note_band(resting: Resting, rest: BeltAtRest, band: Band, why: list[str]) -> None:
    if is_held(resting, rest.warmer_k):
        return
    rates = ("rate_nm_per_deg", "rate_n_per_mm")
    absent = [key for key in rates if getattr(resting.stand.table, key, 0.0) is None]
    if absent:
        why.append(f"{absent[0]} is missing: the spring is taken as equally strong at every pointer.")
    if band.window is None:
        given = getattr(resting.stand.table, "window_deg", None) or getattr(resting.stand.table, "window_mm", None)
        why.append(
            "No pointer of the window can be reached." if given else "No pointer window is given, so it has no tension."
        )
