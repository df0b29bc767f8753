"""Points in the plane from measured distances between them: every arrangement that fits, and the best one.

Points are complex numbers x + i·y [mm]. Some points are anchored; the rotation follows from a second anchor or from a
bearing; a mirror image is ruled out by a stated side or by a surplus distance.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from twoturn.drive.network_judged import Judged, judged
from twoturn.drive.network_model import Bearing, Network, NetworkError, Places, Solution
from twoturn.drive.network_starts import holds, starting_places

FloatArray = NDArray[np.float64]

MOST_RESIDUAL_U = 3.0
EXACT_MM = 1e-6
CLEARLY_BETTER = 15.0
BARELY_HELD = 1e-4


def solve_network(network: Network) -> Solution:
    """Place every point of a network by weighted least squares.

    Parameters
    ----------
    network
        Anchors, distances, bearings and sides.

    Returns
    -------
    Solution
        The one arrangement that fits.

    Raises
    ------
    NetworkError
        The rotation is free, a point lacks distances, several mirror images fit, none lies on the stated side, or a
        distance leaves a residual of more than three times that residual's own uncertainty.

    Notes
    -----
    Starting places by intersecting circles point after point, both intersections kept until a side or a surplus
    distance rules one out; then least squares of (distance − measured)/u. Covariance (JᵀWJ)⁻¹ to first order.
    """
    if len(network.anchors) < 2 and not network.bearings:
        raise NetworkError("rotation", [])
    loose = loose_points(network)
    if loose:
        raise NetworkError("lacking", loose)
    found = _distinct([_refined(network, start) for start in starting_places(network)])
    found = [one for one in found if not any(_opposite(row, one.places) for row in network.bearings)] or found
    found.sort(key=lambda one: one.chi_squared(network))
    on_side = [one for one in found if all(holds(side, one.places) for side in network.sides)]
    best = next((one for one in on_side if _agrees(network, one)), None)
    if best is None:
        raise _contradiction(network, found)
    rivals = [one for one in on_side if one.chi_squared(network) < best.chi_squared(network) + CLEARLY_BETTER]
    if len(rivals) > 1:
        apart = {name: abs(rivals[0].places[name] - rivals[1].places[name]) for name in network.unknown}
        raise NetworkError("mirror", [max(apart, key=lambda name: apart[name])])
    return _with_uncertainty(network, best)


def _agrees(network: Network, solution: Solution) -> bool:
    if any(_opposite(row, solution.places) for row in network.bearings):
        return False
    return _judged(network, solution).worst <= MOST_RESIDUAL_U


def _contradiction(network: Network, found: list[Solution]) -> NetworkError:
    """Why no arrangement fits: one does, but on another side; or some distance is off."""
    fitting = next((one for one in found if _agrees(network, one)), None)
    if fitting is not None:
        side = next(side for side in network.sides if not holds(side, fitting.places))
        return NetworkError("side", [side.b], side.row, axis=side.axis)
    best = found[0]
    seen = _judged(network, best)
    rows = seen.suspects
    fitted = [network.distances[row].mm - seen.without_itself(row, best.residuals_mm[row]) for row in rows]
    return NetworkError("residual", [], rows[0], residual_u=seen.worst, rows=rows, fitted_mm=fitted)


def _judged(network: Network, solution: Solution) -> Judged:
    """Residuals of the distances, each against its own standard uncertainty."""
    loose = [name for name, u in network.anchor_u_mm.items() if name in network.anchors and max(u) > 0]
    spread = np.array([u for name in loose for u in network.anchor_u_mm[name]])
    off = zip(solution.residuals_mm, network.distances, strict=True)
    return judged(
        np.array([residual / row.u_mm for residual, row in off]),
        _jacobian(network, network.unknown, solution.places),
        _jacobian(network, loose, solution.places) * spread,
        len(network.distances),
    )


def loose_points(network: Network) -> list[str]:
    """Points that the distances do not hold in place, whatever they measure.

    Parameters
    ----------
    network
        Anchors, distances and bearings.

    Returns
    -------
    list
        Their names; empty when every point is held.

    Notes
    -----
    Generic rigidity: the rank of the Jacobian at arbitrary places (Laman; Asimow and Roth 1978).
    """
    unknown = network.unknown
    if not unknown:
        return []
    random = np.random.default_rng(20)
    spread = random.uniform(-1.0, 1.0, (len(unknown), 2)) @ np.array([1.0, 1j])
    places = {**network.anchors, **dict(zip(unknown, spread * 300.0, strict=True))}
    jacobian = _jacobian(network, unknown, places, exact_mm=1.0)
    _, values, rows = np.linalg.svd(jacobian, full_matrices=True)
    rank = int(np.sum(values > 1e-9 * max(1.0, float(values.max(initial=0.0)))))
    moving = np.abs(rows[rank:]).max(axis=0, initial=0.0).reshape(len(unknown), 2).max(axis=1)
    return [name for name, size in zip(unknown, moving, strict=True) if size > 1e-7]


def _residuals(network: Network, unknown: list[str]) -> Callable[[FloatArray], FloatArray]:
    def residuals(vector: FloatArray) -> FloatArray:
        places = _unpacked(network, unknown, vector)
        rows = [(abs(places[row.b] - places[row.a]) - row.mm) / row.u_mm for row in network.distances]
        rows += [_across(bearing, places) / _bearing_u_mm(bearing, EXACT_MM) for bearing in network.bearings]
        return np.array(rows)

    return residuals


def _slopes(network: Network, unknown: list[str]) -> Callable[[FloatArray], FloatArray]:
    def slopes(vector: FloatArray) -> FloatArray:
        return _jacobian(network, unknown, _unpacked(network, unknown, vector))

    return slopes


def _unpacked(network: Network, unknown: list[str], vector: FloatArray) -> Places:
    points = vector.reshape(-1, 2) @ np.array([1.0, 1j])
    return {**network.anchors, **dict(zip(unknown, (complex(point) for point in points), strict=True))}


def _across(bearing: Bearing, places: Places) -> float:
    return ((places[bearing.b] - places[bearing.a]) * bearing.direction.conjugate()).imag


def _bearing_u_mm(bearing: Bearing, exact_mm: float) -> float:
    return bearing.mm * math.radians(bearing.u_deg) if bearing.u_deg > 0 else exact_mm


def _jacobian(network: Network, unknown: list[str], places: Places, exact_mm: float = EXACT_MM) -> FloatArray:
    """∂residual/∂coordinate; shape (distances and bearings, 2·points) [1/mm]."""
    column = {name: 2 * number for number, name in enumerate(unknown)}
    rows = []
    steps = [(row.a, row.b, (places[row.b] - places[row.a]), row.u_mm) for row in network.distances]
    directions = [(a, b, step / abs(step) if step else 0j, u) for a, b, step, u in steps]
    directions += [(one.a, one.b, 1j * one.direction, _bearing_u_mm(one, exact_mm)) for one in network.bearings]
    for a, b, direction, u in directions:
        row = np.zeros(2 * len(unknown))
        for name, sign in ((a, -1.0), (b, 1.0)):
            if name in column:
                row[column[name] : column[name] + 2] = np.array([direction.real, direction.imag]) * sign / u
        rows.append(row)
    return np.array(rows).reshape(len(rows), 2 * len(unknown))


def _refined(network: Network, start: Places) -> Solution:
    """The nearest arrangement by least squares from ``start``."""
    unknown = network.unknown
    places = dict(start)
    if unknown:
        from scipy.optimize import least_squares

        points = np.array([start[name] for name in unknown])
        begin = np.stack([points.real, points.imag], axis=-1).ravel()
        residuals, slopes = _residuals(network, unknown), _slopes(network, unknown)
        vector = least_squares(
            residuals, begin, jac=slopes, x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=200
        ).x
        places = _unpacked(network, unknown, vector)
    left = [row.mm - abs(places[row.b] - places[row.a]) for row in network.distances]
    return Solution(places, {}, left)


def _distinct(found: list[Solution]) -> list[Solution]:
    kept: list[Solution] = []
    for one in found:
        if all(max(abs(one.places[name] - other.places[name]) for name in one.places) > 1e-3 for other in kept):
            kept.append(one)
    return kept


def _opposite(bearing: Bearing, places: Places) -> bool:
    """Whether a bearing points the wrong way round, which its residual cannot see."""
    return ((places[bearing.b] - places[bearing.a]) * bearing.direction.conjugate()).real < 0


def _with_uncertainty(network: Network, solution: Solution) -> Solution:
    """The solution with first-order uncertainties; anchors enter with their own."""
    movable = [name for name, u in network.anchor_u_mm.items() if name in network.anchors and max(u) > 0]
    names = [*network.unknown, *movable]
    if not names:
        return solution
    priors = np.zeros((2 * len(movable), 2 * len(names)))
    for number, name in enumerate(movable):
        for axis in (0, 1):
            u = max(network.anchor_u_mm[name][axis], EXACT_MM)
            priors[2 * number + axis, 2 * (len(network.unknown) + number) + axis] = 1.0 / u
    jacobian = np.vstack([_jacobian(network, names, solution.places), priors])
    _, values, rows = np.linalg.svd(jacobian, full_matrices=False)
    if values[-1] * max(row.u_mm for row in network.distances) < BARELY_HELD:
        loose = np.abs(rows[-1]).reshape(-1, 2).max(axis=1)
        raise NetworkError("lacking", [names[int(loose.argmax())]])
    inverse = np.linalg.pinv(jacobian)
    u = np.sqrt((inverse**2).sum(axis=1)).reshape(-1, 2)
    pairs = {name: (float(row[0]), float(row[1])) for name, row in zip(names, u, strict=True)}
    moves = inverse[0::2] + 1j * inverse[1::2]
    parts = {name: tuple(complex(value) for value in row) for name, row in zip(names, moves, strict=True)}
    return Solution(solution.places, pairs, solution.residuals_mm, parts)
