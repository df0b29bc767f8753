"""How the rest position and the tension answer to a small change: a degree, a millimetre of belt, a kelvin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric
from twoturn.mechanics.rest.balances import Standing
from twoturn.mechanics.rest.loop import Look, balance, look
from twoturn.mechanics.rest.stand import Stand

STEP_K = 0.5
DEG = np.pi / 180


@dataclass(frozen=True)
class Slopes:
    """Slopes at the rest position; "degree" is a millimetre for a slide.

    Attributes
    ----------
    n_per_deg
        Change of M/g a degree of pointer, the adjuster re-solved or the belt's length varied [N/°]; for a locked
        roller that of the tension as it is turned; None on a stop.
    deg_per_mm_belt
        Pointer a millimetre of belt, adjuster held [°/mm]; 0 where the pointer is held.
    n_per_mm_belt
        Tension a millimetre of belt, adjuster held [N/mm].
    n_per_k, deg_per_k
        Tension and pointer a kelvin, adjuster held [N/K, °/K].
    """

    n_per_deg: float | None
    deg_per_mm_belt: float
    n_per_mm_belt: float
    n_per_k: float
    deg_per_k: float


def slopes_at(stand: Stand, rest: Standing, warmer_k: float) -> Slopes:
    """Slopes at a rest position.

    Parameters
    ----------
    stand
        The belt and its tensioner, settings solved.
    rest
        Where it stands.
    warmer_k
        Temperature above the reference temperature [K].

    Notes
    -----
    Implicit derivatives of the torque balance R = M − T·g: dp/dθ = −R_θ/R_p. Exact but for the temperature, whose R_θ
    and T_θ at a held pointer are central differences of the closed forms with one Richardson step.
    """
    loop = stand.loop(warmer_k)
    free = float(stand.free_mm(warmer_k))
    seen = look(loop, np.array([rest.pointer]), rest.adjuster_deg)
    per_unit = loop.kind.per_unit
    found = balance(seen, stand.cord, free, per_unit)
    rate = float(stand.cord.rate_n_per_mm(seen.length_mm, free)[0])
    lever = float(seen.lever[0])
    by_belt = -rate * float(seen.length_mm[0]) / free
    tension_by_k, lead_by_k = _by_kelvin(stand, rest, warmer_k)
    held = stand.setting.pointer is not None or rest.on_stop is not None
    per_mm = 0.0 if held else lever * by_belt / float(found.slope[0])
    per_k = 0.0 if held else -lead_by_k / float(found.slope[0])
    turned = rate * lever * per_unit
    return Slopes(
        n_per_deg=_by_pointer(stand, rest, seen, free, per_unit, turned),
        deg_per_mm_belt=per_mm,
        n_per_mm_belt=by_belt + turned * per_mm,
        n_per_k=tension_by_k + turned * per_k,
        deg_per_k=per_k,
    )


def _by_pointer(stand: Stand, rest: Standing, seen: Look, free: float, per_unit: float, turned: float) -> float | None:
    """d(M/g)/dpointer; ``turned`` is that of the tension of a locked roller."""
    if stand.setting.pointer is not None:
        return turned
    if rest.on_stop is not None:
        return None
    pose, lever = seen.pose, seen.lever
    ahead = pose.effort_slope / lever - pose.effort * seen.lever_slope / lever**2
    if not isinstance(stand.table, DoubleEccentric):
        return float(ahead[0] * per_unit)
    found = balance(seen, stand.cord, free, per_unit)
    adjuster = -found.slope / found.by_adjuster
    aside = pose.effort_by_adjuster / lever - pose.effort * seen.lever_by_adjuster / lever**2
    return float((ahead * per_unit + aside * DEG * adjuster)[0])


def _by_kelvin(stand: Stand, rest: Standing, warmer_k: float) -> tuple[float, float]:
    """∂T and ∂R a kelvin at a held pointer and adjuster."""

    def at(kelvin: float) -> np.ndarray:
        loop = stand.loop(kelvin)
        seen = look(loop, np.array([rest.pointer]), rest.adjuster_deg)
        found = balance(seen, stand.cord, stand.free_mm(kelvin), loop.kind.per_unit)
        return np.array([found.tension_n[0], found.lead[0]])

    wide, near = ((at(warmer_k + step) - at(warmer_k - step)) / (2 * step) for step in (2 * STEP_K, STEP_K))
    tension, lead = near + (near - wide) / 3
    return float(tension), float(lead)
