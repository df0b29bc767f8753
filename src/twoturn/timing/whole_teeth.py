"""One shift of one shaft: by how many whole belt teeth, and how sure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import DomainError
from twoturn.timing.priors import OTHER_CAUSE, log_slip_prior

Array = NDArray[np.float64]
HALF_CAM_TURN_DEG = 360.0
CLEARLY_OFF = 0.65
"""Share of a belt tooth beyond which a shaft is never told to be on its tooth [-] (judgement)."""


def candidate_teeth(half_turn_teeth: float) -> NDArray[np.int64]:
    """Every number of whole teeth [-] within ``half_turn_teeth`` [-] either way, half a turn itself counted once."""
    reach = max(1, int(half_turn_teeth + 1e-9))
    lowest = -reach + 1 if abs(reach - half_turn_teeth) < 1e-6 else -reach
    return np.arange(lowest, reach + 1)


def whole_teeth(
    shift_deg: float, u: float, deg_per_tooth: float, rest_sigma_deg: float, half_turn_deg: float = HALF_CAM_TURN_DEG
) -> tuple[int, float]:
    """The whole teeth that best explain one shift, with their probability.

    Parameters
    ----------
    shift_deg
        Measured shift of the shaft against the crankshaft [crank degrees, positive late].
    u
        Its standard uncertainty [crank degrees].
    deg_per_tooth
        What one belt tooth moves the shaft [crank degrees].
    rest_sigma_deg
        Prior standard deviation of the part that is no whole tooth [crank degrees], see ``priors.rest_sigma_deg``.
    half_turn_deg
        Half a turn of the shaft, the search range either way [crank degrees].

    Returns
    -------
    tuple
        Teeth [-] (positive late, 0 on its tooth) and their probability [-] against every other number of teeth and
        against causes that are no whole tooth.

    Raises
    ------
    DomainError
        A standard uncertainty below 0, or a tooth or search range that is not positive.
    """
    teeth, probability = whole_teeth_many(np.array([shift_deg]), u, deg_per_tooth, rest_sigma_deg, half_turn_deg)
    return int(teeth[0]), float(probability[0])


def told_teeth(shift_deg: float, u: float, deg_per_tooth: float, rest_sigma_deg: float) -> tuple[int, float]:
    """The whole teeth to tell a person, with their probability: as :func:`whole_teeth`, but a tooth out is not missed.

    A loose hub makes no tooth and a great rest likelier than a tooth where the shift is clearly more than 0.65 of one
    (beyond 2 u). Then the nearest number of teeth is told, with its own, small probability: no hub is meant to sit so
    far off (common practice, no source).

    Parameters
    ----------
    shift_deg, u, deg_per_tooth, rest_sigma_deg
        As in :func:`whole_teeth` [crank degrees].
    """
    teeth, probability = whole_teeth(shift_deg, u, deg_per_tooth, rest_sigma_deg)
    near = round(shift_deg / deg_per_tooth)
    if teeth or not near or abs(shift_deg) - 2 * u <= CLEARLY_OFF * deg_per_tooth:
        return teeth, probability
    numbers = np.array([0, near])
    off = (shift_deg - numbers * deg_per_tooth) / max(float(np.hypot(u, rest_sigma_deg)), 1e-6)
    weight = log_slip_prior(numbers) - 0.5 * off**2
    return near, probability * float(np.exp(weight[1] - weight[0]))


def whole_teeth_many(
    shift_deg: Array,
    u: Array | float,
    deg_per_tooth: float,
    rest_sigma_deg: float,
    half_turn_deg: float = HALF_CAM_TURN_DEG,
) -> tuple[NDArray[np.int64], Array]:
    """As :func:`whole_teeth` for many shifts at once, shape (cases,).

    The shift is deg_per_tooth·n + rest + error with rest ~ Normal(0, rest_sigma_deg²) and error ~ Normal(0, u²); n has
    the prior of ``log_slip_prior``; an "other" cause is spread evenly over a whole turn of the shaft (Bayes' rule).

    Parameters
    ----------
    shift_deg, u
        Shifts and their standard uncertainties [crank degrees], shape (cases,) or one u for all.
    deg_per_tooth, rest_sigma_deg, half_turn_deg
        As in :func:`whole_teeth` [crank degrees].

    Returns
    -------
    tuple
        Teeth [-] and probabilities [-], shape (cases,) each.

    Raises
    ------
    DomainError
        A standard uncertainty below 0, or a tooth or search range that is not positive.
    """
    shift, u_deg = np.broadcast_arrays(np.asarray(shift_deg, float), np.asarray(u, float))
    if not (deg_per_tooth > 0 and half_turn_deg > 0 and rest_sigma_deg >= 0 and np.all(u_deg >= 0)):
        raise DomainError(
            f"teeth out cannot be judged with {deg_per_tooth:g}° a tooth, a rest of {rest_sigma_deg:g}°, "
            f"half a turn of {half_turn_deg:g}° and u {np.min(u_deg, initial=np.inf):g}°",
            allowed="a tooth and half a turn above 0, uncertainties of 0 or more",
        )
    period = 2 * half_turn_deg
    teeth = candidate_teeth(half_turn_deg / deg_per_tooth)
    sigma = np.maximum(np.hypot(u_deg, rest_sigma_deg), 1e-6)[:, None]
    off = shift[:, None] - teeth * deg_per_tooth
    off = off - period * np.round(off / period)
    log_weight = log_slip_prior(teeth) - 0.5 * (off / sigma) ** 2 - np.log(sigma * np.sqrt(2 * np.pi))
    other = np.log(OTHER_CAUSE / period)
    top = np.maximum(log_weight.max(axis=1), other)
    weight = np.exp(log_weight - top[:, None])
    best = np.argmax(log_weight, axis=1)
    total = weight.sum(axis=1) + np.exp(other - top)
    return teeth[best], np.take_along_axis(weight, best[:, None], axis=1)[:, 0] / total
