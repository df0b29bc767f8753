"""What must stand behind a sensor recording before a belt comes off for it."""

from __future__ import annotations

from typing import Final

from twoturn.drive.parts import Shaft
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.job.checks.base import Case
from twoturn.job.checks.shafts import MARK_TEETH
from twoturn.quantity.reading import Reading
from twoturn.timing.whole_teeth import whole_teeth

CLEAR: Final = 0.95
"""How sure whole teeth must be before a recording alone takes a belt off [-] (judgement)."""
USUAL_TEETH: Final = 2
"""So many teeth a belt is usually off [-] (common practice, no source): further out, marks are looked at first."""
REST_SIGMA_DEG: Final = 1.5
"""Prior standard deviation of what is no whole tooth [crank degrees] (judgement)."""


def is_supported(reading: Reading, shaft: Shaft, case: Case, needs_witness: bool = False) -> bool:
    """Whether a mark or pin that is out, or a clear shift by whole teeth, stands behind a shift that is not met.

    Parameters
    ----------
    reading
        The shift [crank degrees].
    shaft
        The shaft.
    case
        The job.
    needs_witness
        Whether whole teeth alone are not enough: something else explains the shift as well.
    """
    for item in case.of("mark", "pin"):
        out = item.yes is False or (item.value is not None and abs(item.value.value) > MARK_TEETH)
        if out and item.shaft == shaft.id and case.state.standing(item.act, item.touched, "after turns").counts:
            return True
    step = shaft_deg_per_tooth(case.drive, shaft)
    if step is None or needs_witness:
        return False
    teeth, probability = whole_teeth(reading.value, reading.u, float(step), REST_SIGMA_DEG)
    return 0 < abs(teeth) <= USUAL_TEETH and probability > CLEAR
