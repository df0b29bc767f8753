"""What is believed before anything is measured: how often a sprocket is a tooth out, how far a hub may sit off.

The angles of the hubs are common practice; the frequencies are judgement and only weigh explanations against each
other: the verdict on a shaft rests on its real shift.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

REST_SIGMA_DEG: Final[dict[str, float]] = {"keyed": 1.5, "slotted": 6.0, "taper": 6.0, "friction": 6.0}
"""Standard deviation of the part of a shift that is no whole tooth, by hub [crank degrees]; common practice."""

SPROCKET_OUT: Final[float] = 0.1
"""Probability that a given sprocket is off its tooth by one or more [-]; judgement."""

OTHER_CAUSE: Final[float] = 0.005
"""Probability that something else shifted a shaft: sheared key, slipped hub or sensor wheel [-]; judgement."""

OVERLAP_TAKEN: Final[float] = 0.003
"""Probability that TDC of overlap was taken for firing TDC [-]; judgement."""

LOOKS_ALIKE: Final[float] = 0.2
"""Probability that a mark or pin agrees half a turn of the camshaft round as well [-]; judgement."""


def rest_sigma_deg(hub: str, crank_hub: str = "keyed") -> float:
    """Prior standard deviation of a shaft's rest against the crankshaft [crank degrees].

    Parameters
    ----------
    hub
        Hub of the shaft's sprocket: keyed, slotted, taper or friction.
    crank_hub
        Hub of the crankshaft's sprocket; unless keyed its own rest adds.

    Returns
    -------
    float
        1.5 for keyed hubs, 6 for the others [crank degrees]; common practice.
    """
    own = REST_SIGMA_DEG[hub]
    crank = 0.0 if crank_hub == "keyed" else REST_SIGMA_DEG[crank_hub]
    return float(np.hypot(own, crank))


def log_slip_prior(teeth: NDArray[np.int64]) -> Array:
    """Log probability [-] that one sprocket is ``teeth`` [-] belt teeth off, any shape.

    0 with probability 0.9; k teeth either way falls as 1/k² (mistakes of one tooth lead, but a jumped belt takes any).
    """
    size = np.abs(np.asarray(teeth))
    out = np.log(SPROCKET_OUT / 2 * 6 / np.pi**2) - 2 * np.log(np.maximum(size, 1))
    return np.asarray(np.where(size == 0, np.log(1 - SPROCKET_OUT), out), dtype=np.float64)
