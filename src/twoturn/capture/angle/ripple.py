"""What repeats in every cycle, told apart: the swing of speed, and teeth that stand off their places.

How late the teeth of a cycle come is the sum of a smooth swing, a Fourier series over the two turns, and of what each
tooth is out, the same in both turns. Both get normal priors whose widths are learned from the recording itself (linear
Gaussian model, widths by expectation and maximisation: Bishop, Pattern Recognition and Machine Learning, 2006, 3.3 and
9.3.4, from memory). A wheel knows whole orders round the turn alone. A swing that is even from cylinder to cylinder
knows multiples of the firing order alone; what cylinders differ by comes at half orders as strongly as at the whole
ones beside them. So a whole order that is no multiple of the firing order and far stronger than its neighbours is the
wheel's. A multiple of the firing order cannot be told apart at one speed: what the wheel may have of it stays in the
uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.angle.cycle import CYCLE_DEG, Lateness
from twoturn.capture.model import Array
from twoturn.capture.wheel.shape import Wheel

ORDERS, ROUNDS = 12, 16
SWING_PRIOR, SWING_RPM = 0.12, 250.0
"""Swing of the time a degree takes at one order before anything is seen [-]; above this speed it falls with its square
[1/min]; common practice, no source."""
DECAY_ORDERS, KNEE, ROOM = 3.0, 2.5, 3.0
"""Gas torque falls off with the order at least this fast above the leading one [orders], with some room [-]: slower
than p·V^1.3 in a crank slider at compression ratios of 9 to 17."""
TOOTH_PRIOR_DEG, RUNOUT_SHARE, RUNOUT_DEG = 0.05, 0.5, 0.03
"""A tooth's place before anything is seen; a wheel out of centre, as a share of what teeth are out and at least (either
part), where it is taken out [crank degrees]."""
DOUBTED_RUNOUT_DEG = 0.1
"""The same where it stays in the uncertainty [crank degrees]: 0.15 mm out of centre on a wheel of 150 mm (common
practice, no source)."""
MOST_TOOTH_SHARE, MODEL_SHARE = 0.08, 0.03
"""The most that teeth are out, as a share of a step, and what of it the model leaves [-]."""
MOST_RUNOUT_DEG, ALIKE = 0.2, 4.0
"""The most that a wheel is out of centre [crank degrees], and how far whole orders may exceed the halves beside them by
chance [-]: of four cylinders order 1 has one degree of freedom and the halves share two (F of 1 and 2, 5 %: 18.5)."""
FEW_STEPS, FEW_FLOOR = 12, 0.4
"""Of wheels with no more steps than this the swing between teeth is never taken for smaller than this share of a usual
one: too few readings tell it."""
STRONGEST, BEYOND = 3.0, 5.5
"""By how much multiples of the firing order lead [-], and from how many times the width of a tooth's place over the
root of the teeth on an order is more than a wheel has by chance (once in 2000) [-]."""
UNSEEN_WEIGHT = 0.5
STEEPEST = 0.85
TABLE_DEG = 0.25


@dataclass(frozen=True, eq=False)
class Ripple:
    """The swing of speed that repeats with the cycle, and the places of the teeth.

    Attributes
    ----------
    orders
        Orders of the swing round one turn, halves and wholes, shape (h,) [-].
    factors
        Their cosine and sine parts, shape (2·h,) [crank degrees].
    placement_deg
        How far each tooth of a turn stands behind its place, mean 0, shape (teeth,) [crank degrees].
    covariance
        Of the factors, the teeth, a wheel out of centre (cosine, sine) and a constant, in this order [deg²].
    tooth_angles_deg
        Nominal angles of the teeth of a turn, shape (teeth,) [crank degrees].
    firing_order
        The order whose multiples lead the swing [-]; 0 where none does.
    tooth_u_deg
        Standard deviation of a single tooth's place as learned [crank degrees].
    misfit
        Root mean square of hidden teeth's errors over what was foretold for them [-].
    hidden_deg, hidden_gap_deg
        Root mean square by which teeth hidden one by one, or as many as the longest gap lacks, were foretold wrongly
        [crank degrees].
    """

    orders: Array
    factors: Array
    placement_deg: Array
    covariance: Array
    tooth_angles_deg: Array
    firing_order: float
    tooth_u_deg: float
    misfit: float
    hidden_deg: float
    hidden_gap_deg: float

    def late_deg(self, angles_deg: Array) -> Array:
        """How late the crankshaft comes to angles against an even turning, any shape [crank degrees]."""
        grid = np.arange(0.0, CYCLE_DEG + TABLE_DEG, TABLE_DEG)
        return np.asarray(np.interp(angles_deg % CYCLE_DEG, grid, waves(grid, self.orders) @ self.factors))

    def u_deg(self, angles_deg: Array, weights: Array, teeth: NDArray[np.int64]) -> Array:
        """Standard uncertainty of what repeats in angles read between teeth.

        Parameters
        ----------
        angles_deg
            Angles within the cycle, shape (m,) [crank degrees].
        weights, teeth
            Weights of the teeth each was read from [-] and their running numbers, shape (m, k).

        Returns
        -------
        array
            Shape (m,) [crank degrees].
        """
        count = self.tooth_angles_deg.size
        number = teeth % count
        at = self.tooth_angles_deg[number] + 360.0 * (teeth // count)
        swing = waves(angles_deg, self.orders) - np.einsum("mk,mkp->mp", weights, waves(at, self.orders))
        single = np.zeros((angles_deg.size, count))
        np.add.at(single, (np.arange(angles_deg.size)[:, None], number), weights)
        turn = np.deg2rad(self.tooth_angles_deg)
        parts = [
            swing,
            -single,
            -single @ np.column_stack([np.cos(turn), np.sin(turn)]),
            np.zeros((angles_deg.size, 1)),
        ]
        row = np.hstack(parts)
        return np.asarray(self.misfit * np.sqrt(np.maximum(np.sum((row @ self.covariance) * row, axis=1), 0.0)))


def waves(angles_deg: Array, orders: Array) -> Array:
    """Cosines and sines of orders round the turn, shape (…, 2·h) [-].

    Parameters
    ----------
    angles_deg
        Angles, any shape [crank degrees].
    orders
        Waves in a turn, shape (h,) [-].
    """
    turn = np.deg2rad(angles_deg)[..., None] * orders
    return np.concatenate([np.cos(turn), np.sin(turn)], axis=-1)


@dataclass(frozen=True, eq=False)
class _Widths:
    """Widths: of the swing by order (h,), of a tooth's place, a lateness's noise, a wheel's throw [crank degrees]."""

    swing: Array
    tooth: float
    noise: float
    runout: float = RUNOUT_DEG

    def diagonal(self, teeth: int, least_runout_deg: float = 0.0) -> Array:
        swing = np.concatenate([self.swing, self.swing]) ** 2
        runout = max(self.runout, least_runout_deg)
        return np.concatenate([swing, np.full(teeth, self.tooth**2), np.full(2, runout**2), [1e4]])


def learned(seen: Lateness, wheel: Wheel, rpm: float | None) -> Ripple:
    """Tell the swing of speed from the places of the teeth.

    Parameters
    ----------
    seen
        Lateness of the teeth of a cycle.
    wheel
        The wheel.
    rpm
        Mean speed [1/min]; None where unknown.

    Returns
    -------
    Ripple
        Both, with their joint uncertainty.
    """
    orders = np.arange(1, 2 * ORDERS + 1) / 2
    first = SWING_PRIOR * min(1.0, (SWING_RPM / rpm) ** 2 if rpm else 1.0) * _envelope(orders, 2.0)
    widths = _Widths(np.rad2deg(first / orders), TOOTH_PRIOR_DEG, max(seen.u_deg, MODEL_SHARE * TOOTH_PRIOR_DEG))
    slow = np.ones(seen.angles_deg.size)
    turn = np.deg2rad(np.asarray(wheel.angle_deg(np.arange(wheel.teeth))))
    firing = 0.0
    for number in range(ROUNDS):
        design = _design(seen, wheel, orders, slow)
        told, covariance = _posterior(design, seen, widths, wheel.teeth)
        factors = told[: 2 * orders.size]
        if number == 2:
            firing = _firing_order(orders, factors)
        if number == ROUNDS - 1:
            break
        noise = _noise(design, seen, told, covariance, widths)
        widths = _wider(widths, (told, covariance), orders, (firing, turn), first)
        tooth = min(widths.tooth, MOST_TOOTH_SHARE * wheel.pitch_deg)
        widths = replace(widths, swing=_beyond(widths.swing, orders, first, wheel), tooth=tooth, noise=noise)
        if number in (2, ROUNDS - 2):
            slow = np.maximum(0.3, 1 + _slope(seen.angles_deg, orders) @ factors)
    return _ripple(seen, wheel, orders, (told, covariance), (design, widths, firing))


def _ripple(
    seen: Lateness,
    wheel: Wheel,
    orders: Array,
    answer: tuple[Array, Array],
    model: tuple[Array, _Widths, float],
) -> Ripple:
    """The answer put together, with what hidden teeth say of it."""
    told, close = answer
    design, widths, firing = model
    _, covariance = _posterior(design, seen, widths, wheel.teeth, DOUBTED_RUNOUT_DEG)
    count = 2 * orders.size
    turn = np.deg2rad(np.asarray(wheel.angle_deg(np.arange(wheel.teeth))))
    runout = told[count + wheel.teeth : count + wheel.teeth + 2]
    placement = told[count : count + wheel.teeth] + np.column_stack([np.cos(turn), np.sin(turn)]) @ runout
    inverse = (np.eye(seen.late_deg.size) - design @ close @ design.T / widths.noise**2) / widths.noise**2
    late = inverse @ seen.late_deg
    one, expected = _hidden(inverse, late, _apart(seen, 1))
    gap, _ = _hidden(inverse, late, _apart(seen, max(1, max(wheel.steps) // wheel.normal_step - 1)))
    misfit = float(np.sqrt(np.mean((one / expected) ** 2)))
    factors = told[:count]
    steepest = float(np.max(-(_slope(np.arange(0, 720.0, 2.0), orders) @ factors)))
    if steepest > STEEPEST:
        factors = factors * STEEPEST / steepest
    return Ripple(
        orders, factors, placement - placement.mean(), covariance, np.rad2deg(turn), firing, widths.tooth,
        max(1.0, misfit), float(np.sqrt(np.mean(one**2))), float(np.sqrt(np.mean(gap**2))),
    )  # fmt: skip


def _design(seen: Lateness, wheel: Wheel, orders: Array, slow: Array) -> Array:
    """How factors, teeth, a wheel out of centre and a constant show in the lateness, shape (m, unknowns) [-]."""
    single = np.zeros((seen.angles_deg.size, wheel.teeth))
    single[np.arange(seen.angles_deg.size), seen.tooth] = slow
    turn = np.deg2rad(seen.angles_deg)
    runout = np.column_stack([slow * np.cos(turn), slow * np.sin(turn)])
    return np.hstack([waves(seen.angles_deg, orders), single, runout, np.ones((seen.angles_deg.size, 1))])


def _posterior(
    design: Array, seen: Lateness, widths: _Widths, teeth: int, least_runout_deg: float = 0.0
) -> tuple[Array, Array]:
    """Mean and covariance of the unknowns; teeth, each seen alone, are eliminated first (Schur complement)."""
    precision = 1 / np.maximum(widths.diagonal(teeth, least_runout_deg), 1e-12)
    first = design.shape[1] - teeth - 3
    single = np.arange(first, first + teeth)
    rest = np.delete(np.arange(design.shape[1]), single)
    normal = design[:, rest].T @ design / widths.noise**2
    across = normal[:, single]
    alone = 1 / (np.einsum("mi,mi->i", design[:, single], design[:, single]) / widths.noise**2 + precision[single])
    pulled = across * alone
    inner = np.linalg.inv(normal[:, rest] + np.diag(precision[rest]) - pulled @ across.T)
    covariance = np.empty((design.shape[1], design.shape[1]))
    covariance[np.ix_(rest, rest)] = inner
    covariance[np.ix_(rest, single)] = -inner @ pulled
    covariance[np.ix_(single, rest)] = covariance[np.ix_(rest, single)].T
    covariance[np.ix_(single, single)] = np.diag(alone) + pulled.T @ inner @ pulled
    return covariance @ (design.T @ seen.late_deg) / widths.noise**2, covariance


def _noise(design: Array, seen: Lateness, told: Array, covariance: Array, widths: _Widths) -> float:
    """Noise of a lateness: what the model leaves, one round, but no less than single teeth scatter [crank degrees].

    Second-order terms, the product of a tooth's error and the change of the swing, count as noise.
    """
    left = float(np.sum((seen.late_deg - design @ told) ** 2))
    free = seen.late_deg.size - float(np.sum((design @ covariance) * design)) / widths.noise**2
    found = np.sqrt((left + widths.noise**2) / (max(free, 0.0) + 1))
    return float(max(found, seen.u_deg, MODEL_SHARE * widths.tooth))


def _slope(angles_deg: Array, orders: Array) -> Array:
    """Change of the waves by angle, shape (m, 2·h) [1/degree, per degree of factor]."""
    turn = np.deg2rad(angles_deg)[:, None] * orders
    return np.deg2rad(np.hstack([-np.sin(turn) * orders, np.cos(turn) * orders]))


def _firing_order(orders: Array, factors: Array) -> float:
    """The order whose multiples lead the swing; 0 where none leads clearly."""
    half = orders.size
    strength = orders**2 * (factors[:half] ** 2 + factors[half:] ** 2)
    lead = int(np.argmax(strength))
    first = lead + 1
    for part in range(1, first):
        if first % part == 0 and strength[part - 1] > 0.2 * strength[lead]:
            first = part
            break
    multiples = np.arange(1, half + 1) % first == 0
    rest = strength[~multiples]
    if first < 2 or rest.size == 0 or strength[multiples].sum() < STRONGEST**2 * rest.sum():
        return 0.0
    return float(first / 2)


def _envelope(orders: Array, leading: float) -> Array:
    """How strong the swing of the time a degree takes can be at each order against the leading one [-]."""
    return np.minimum(1.0, leading / orders) * np.exp(-np.maximum(0.0, orders - max(leading, KNEE)) / DECAY_ORDERS)


def _wider(
    widths: _Widths, answer: tuple[Array, Array], orders: Array, engine: tuple[float, Array], first: Array
) -> _Widths:
    """Prior widths from what was found, one round (MacKay's fixed point); what was not seen keeps its width."""
    (told, covariance), (firing, turn) = answer, engine
    half, variance = orders.size, np.diag(covariance)
    own = told[:half] ** 2 + told[half : 2 * half] ** 2
    unseen = np.minimum(1.0, (variance[:half] + variance[half : 2 * half]) / np.maximum(2 * widths.swing**2, 1e-30))
    hold = UNSEEN_WEIGHT * unseen + 0.02
    swing = np.sqrt((own + hold * widths.swing**2) / (2 * (1 - unseen) + hold))
    if firing:
        swing = _shared(swing, orders, firing, _beyond_wheel(widths, told, orders, turn))
    strength = np.deg2rad(swing) * orders
    lead = int(np.argmax(strength))
    room = np.maximum(first, ROOM * strength[lead] * _envelope(orders, float(orders[lead])))
    tooth_at = slice(2 * half, told.size - 3)
    seen = max(0.0, told.size - 3 - 2 * half - float(np.sum(variance[tooth_at])) / widths.tooth**2)
    tooth = float(np.sqrt((np.sum(told[tooth_at] ** 2) + UNSEEN_WEIGHT * widths.tooth**2) / (seen + UNSEEN_WEIGHT)))
    least = float(np.hypot(RUNOUT_SHARE * tooth, RUNOUT_DEG))
    runout = least
    if firing and 1 % firing:
        runout = float(
            np.clip(_runout(widths.runout, told[-3:-1], variance[-3:-1]), least, max(least, MOST_RUNOUT_DEG))
        )
    return _Widths(np.clip(swing, 1e-5, np.rad2deg(room / orders)), max(tooth, 1e-4), widths.noise, runout)


def _beyond(swing: Array, orders: Array, first: Array, wheel: Wheel) -> Array:
    """Widths of orders too high for the steps of the wheel: they show as lower ones, which are likelier the cause.

    What shows as nothing at all, multiples of the number of steps, keeps the width it had before anything was seen.
    """
    steps = wheel.places / wheel.normal_step
    shows_as = np.abs(orders - steps * np.rint(orders / steps))
    lower = np.minimum(swing, np.interp(shows_as, orders, swing) * (shows_as / orders) ** 2)
    beyond = np.where(shows_as < 0.25, np.rad2deg(first / orders), lower)
    told = np.where(orders > steps / 2, beyond, swing)
    few = (4 <= steps <= FEW_STEPS) & (orders > steps / 4)
    return np.where(few, np.maximum(told, FEW_FLOOR * np.rad2deg(first / orders)), told)


def _runout(width: float, told: Array, variance: Array) -> float:
    """Prior width of a wheel out of centre from what was found, one round."""
    unseen = min(1.0, float(variance.sum()) / (2 * width**2))
    hold = UNSEEN_WEIGHT * unseen + 0.02
    return float(np.sqrt((np.sum(told**2) + hold * width**2) / (2 * (1 - unseen) + hold)))


def _beyond_wheel(widths: _Widths, told: Array, orders: Array, turn: Array) -> Array:
    """What each order has in all where no wheel can cause so much, shape (h,); 0 elsewhere [crank degrees]."""
    half, teeth = orders.size, turn.size
    angle = turn[:, None] * orders
    placed = told[2 * half : 2 * half + teeth]
    parts = [
        told[:half] + 2 / teeth * placed @ np.cos(angle),
        told[half : 2 * half] + 2 / teeth * placed @ np.sin(angle),
    ]
    parts[0][orders == 1] += told[-3]
    parts[1][orders == 1] += told[-2]
    total = np.hypot(*parts)
    most = BEYOND * widths.tooth / np.sqrt(teeth) + np.where(orders == 1, 1.5 * MOST_RUNOUT_DEG, 0.0)
    return np.where(total > most, total, 0.0)


def _shared(swing: Array, orders: Array, firing: float, least: Array) -> Array:
    """Widths with whole orders that no even engine has taken from the half orders beside them, or as told."""
    out = swing.copy()
    for index in range(1, orders.size, 2):
        order = float(orders[index])
        if order % firing:
            beside = [i for i in (index - 1, index + 1) if i < orders.size and float(orders[i]) % firing]
            if beside:
                shared = ALIKE * np.sqrt(np.mean([(swing[i] * orders[i] / order) ** 2 for i in beside]))
                out[index] = max(float(shared), float(least[index]))
    return out


def _apart(seen: Lateness, together: int) -> list[NDArray[np.int64]]:
    """Groups of readings to hide together: neighbouring teeth, in both turns."""
    teeth = int(seen.tooth.max()) + 1
    groups = []
    for first in range(teeth):
        numbers = (first + np.arange(together)) % teeth
        group = np.flatnonzero(np.isin(seen.tooth, numbers))
        if group.size and group.size < seen.tooth.size / 2:
            groups.append(group)
    return groups or [np.array([index]) for index in range(seen.tooth.size)]


def _hidden(inverse: Array, late: Array, groups: list[NDArray[np.int64]]) -> tuple[Array, Array]:
    """Errors of hidden readings and the standard deviations foretold for them, the middle ones of each group.

    Leaving out a block of a normal model: the rest foretell it with error S·a and covariance S, S the inverse of its
    block of the inverse covariance (Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, 5.4.2, from
    memory).
    """
    off, expected = [], []
    for group in groups:
        block = np.linalg.inv(inverse[np.ix_(group, group)])
        off.append(block @ late[group])
        expected.append(np.sqrt(np.maximum(np.diag(block), 1e-12)))
    return np.concatenate(off), np.concatenate(expected)
