"""Where the teeth of a wheel really stand, and what repeats in every cycle: learned, taken out, and told with its u.

The model is in ``ripple.py``. Here it is fitted to a recording, put into its angle track, and asked for the uncertainty
of any angle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from twoturn.capture.angle.curve import AngleTrack, reading_weights
from twoturn.capture.angle.cycle import lateness, tooth_numbers
from twoturn.capture.angle.ripple import TABLE_DEG, TOOTH_PRIOR_DEG, Ripple, learned
from twoturn.capture.model import Array
from twoturn.capture.wheel.shape import Wheel

SHARE_OF_TOOTH = 0.8
"""What an edge between teeth has of the misplacement of a single tooth against its neighbours [-]."""


@dataclass(frozen=True, eq=False)
class Fitted:
    """An angle track with all that repeats taken in.

    Attributes
    ----------
    track
        The teeth at the places where they stand, and the swing of speed that repeats.
    ripple
        What was learned; None where there were too few cycles.
    u_deg
        Gives the standard uncertainty, alike in every cycle, of angles within the cycle [crank degrees].
    """

    track: AngleTrack
    ripple: Ripple | None
    u_deg: Callable[[Array], Array]


def fitted(track: AngleTrack, wheel: Wheel) -> Fitted:
    """Learn what repeats in a recording and take it into its angle track.

    Parameters
    ----------
    track
        Crank angle of the teeth, each at its nominal place.
    wheel
        The wheel.
    """
    seen = lateness(track, wheel)
    if seen is None:
        u = float(np.hypot(_system_u(track, wheel), TOOTH_PRIOR_DEG))
        return Fitted(track, None, lambda angles_deg: np.full(angles_deg.size, u))
    turns = float(track.angles_deg[-1] - track.angles_deg[0]) / 360
    ripple = learned(seen, wheel, 60 * turns / float(track.times_s[-1] - track.times_s[0]))

    def u_deg(angles_deg: Array) -> Array:
        return ripple.u_deg(angles_deg, *reading_weights(angles_deg, ripple.tooth_angles_deg, track.half))

    late = ripple.late_deg(np.arange(0.0, 720.0 + TABLE_DEG, TABLE_DEG))
    moved = track.angles_deg + ripple.placement_deg[tooth_numbers(track, wheel)]
    return Fitted(replace(track, angles_deg=moved, late_deg=late), ripple, u_deg)


def _system_u(track: AngleTrack, wheel: Wheel) -> float:
    """Uncertainty that repeats every turn [crank degrees]: from the mean misplacement of a tooth by its neighbours."""
    off = track.hidden()
    number = tooth_numbers(track, wheel)
    known = np.isfinite(off)
    if not known.any():
        return 1.0
    counts = np.bincount(number[known], minlength=wheel.teeth)
    sums = np.bincount(number[known], weights=off[known], minlength=wheel.teeth)
    mean = sums[counts > 0] / counts[counts > 0]
    return SHARE_OF_TOOTH * 1.4826 * float(np.median(np.abs(mean)))
