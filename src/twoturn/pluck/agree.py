"""Do the plucks agree? One frequency from several, with an uncertainty that holds."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from twoturn.pluck.joint import together
from twoturn.pluck.partials import Pluck
from twoturn.quantity.reading import Reading

WITHIN = 0.015  # plucks of one span agree to this [-]
USUAL_SCATTER = 0.0007  # between plucks of one span, counted as if seen on three of them [-]
USUAL_DOF = 2.0
ROOM_DOF = 4.0
ROOM_SHARE = 0.5  # how much of the variance of all plucks together a single one has at least (judgement)
ALIKE = 0.5  # correlation of what plucks say singly and together (judgement)
SINGLE_DOF = 8.0  # degrees of freedom of one pluck's own uncertainty


def agreeing(plucks: Sequence[Pluck], odds: Sequence[float]) -> list[int]:
    """Indices of the largest group of plucks that agree within 1.5 % or their own uncertainty.

    Parameters
    ----------
    plucks
        Plucks in order of time.
    odds
        Log-odds of each, by which groups are weighed [-].

    Returns
    -------
    list of int
        The group, in order of time.
    """
    best: list[int] = []
    weight = -np.inf
    for centre in plucks:
        group = [k for k, other in enumerate(plucks) if alike(other, centre)]
        total = sum(max(odds[k], 0.1) for k in group)
        if total > weight:
            best, weight = group, total
    return best


def alike(one: Pluck, other: Pluck) -> bool:
    """Whether two plucks agree within 1.5 % of the other's note or their own uncertainty.

    Parameters
    ----------
    one, other
        Two plucks.
    """
    apart = abs(one.f1_hz - other.f1_hz)
    return apart < max(WITHIN * other.f1_hz, 3 * float(np.hypot(total_u_hz(one), total_u_hz(other))))


def total_u_hz(pluck: Pluck) -> float:
    """Standard uncertainty of one pluck by itself [Hz]."""
    return float(np.hypot(pluck.u_hz, pluck.room_u_hz))


def combine(plucks: Sequence[Pluck]) -> Reading:
    """First partial of plucks that agree: their weighted mean, and what all say laid on each other, by their trust.

    What the room does is the same for every pluck and does not average out. The scatter between plucks is estimated
    from the plucks (Mandel and Paule) together with what is usual, so that one pluck alone, or three that happen to
    agree, do not claim too much.

    Parameters
    ----------
    plucks
        One or more.

    Returns
    -------
    Reading
        First partial [Hz]; degrees of freedom by Welch and Satterthwaite.

    References
    ----------
    R. C. Paule and J. Mandel, Consensus values and weighting factors, J. Res. NBS 87 (1982) 377-385;
    JCGM 100:2008, annex G.4.
    """
    value, own, room = np.array([(pluck.f1_hz, pluck.u_hz, pluck.room_u_hz) for pluck in plucks]).T
    count = len(plucks)
    found = paule_mandel(value, own) if count > 1 else 0.0
    usual = (USUAL_SCATTER * float(np.median(value))) ** 2
    between = (usual * USUAL_DOF + found * (count - 1)) / (USUAL_DOF + count - 1)
    weights = 1 / (own**2 + room**2 + between)
    weights /= weights.sum()
    scatter = float(np.sum(weights**2 * between))
    noise = float(np.sum(weights**2 * own**2))
    shared = float(weights @ room) ** 2
    mean, trust, extra = behind_room(plucks, float(weights @ value), noise + shared)
    noise, shared = (1 - trust) ** 2 * noise, (1 - trust) ** 2 * shared
    variance = scatter + noise + shared + extra
    parts = (extra + shared) ** 2 / ROOM_DOF + scatter**2 / (USUAL_DOF + count - 1) + noise**2 / (SINGLE_DOF * count)
    dof = variance**2 / (parts + 1e-300)
    return Reading(mean, float(np.sqrt(variance)), "Hz", dof=max(1.0, float(dof)))


def behind_room(plucks: Sequence[Pluck], mean_hz: float, variance: float) -> tuple[float, float, float]:
    """Mean of what the plucks say singly and of what they say laid on each other, a room's tail taken into account.

    Where a room is heard, the single plucks are at least as unsure as all together, whatever they think themselves.
    Both come from the same sound, so their errors are taken to be half alike, and where they lie apart, the reading
    is less sure.

    Parameters
    ----------
    plucks
        Plucks that agree.
    mean_hz
        Their weighted mean [Hz].
    variance
        Its variance, without the scatter between plucks [Hz²].

    Returns
    -------
    tuple
        First partial [Hz], the weight of what they say together [-], and the variance that this adds [Hz²].
    """
    rings = [pluck.ring for pluck in plucks if pluck.ring is not None]
    stiffness = float(np.median([pluck.inharmonicity for pluck in plucks]))
    joint = together(rings, mean_hz, stiffness)
    if joint is None:
        return mean_hz, 0.0, 0.0
    apart, own = joint.f1_hz - mean_hz, (joint.relative_u * joint.f1_hz) ** 2
    room = ROOM_SHARE * (1 - joint.dry) * own
    alone = variance + room
    trust = alone / (alone + own + 1e-300)
    both = trust * (1 - trust)
    extra = trust**2 * own + (1 - trust) ** 2 * room + 2 * both * ALIKE * float(np.sqrt(alone * own))
    return mean_hz + trust * apart, trust, extra + both * apart**2


def paule_mandel(value: np.ndarray, own: np.ndarray) -> float:
    """Variance between plucks that makes the weighted sum of squares equal its expectation, never below 0.

    Parameters
    ----------
    value
        Values of the plucks, shape (n,) [their unit].
    own
        Variance of each, shape (n,) [their unit squared].
    """
    count, low, high = len(value), 0.0, float(np.var(value)) * 4 + 1e-12

    def surplus(between: float) -> float:
        weights = 1 / (own**2 + between + 1e-15)
        mean = np.sum(weights * value) / weights.sum()
        return float(np.sum(weights * (value - mean) ** 2)) - (count - 1)

    if surplus(0.0) <= 0:
        return 0.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if surplus(middle) > 0 else (low, middle)
    return 0.5 * (low + high)
