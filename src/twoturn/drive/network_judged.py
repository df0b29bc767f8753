"""Residuals of a least-squares fit, each judged against its own standard uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

UNCONTROLLED = 1e-6
ALIKE = 0.02


@dataclass(frozen=True)
class Judged:
    """Residuals of measured rows against what they should be.

    Attributes
    ----------
    ratios
        |residual| over its own standard uncertainty u·√redundancy; 0 where nothing checks a row; shape (rows,) [-].
    redundancy
        Share of an error of a row that shows in its own residual, 0 to 1; shape (rows,) [-].
    """

    ratios: FloatArray
    redundancy: FloatArray

    @property
    def worst(self) -> float:
        """The greatest ratio [-]; 0 without rows."""
        return float(self.ratios.max(initial=0.0))

    @property
    def suspects(self) -> list[int]:
        """Rows whose ratio is the greatest, or so near it that they cannot be told apart; in file order."""
        return [int(row) for row in np.nonzero(self.ratios >= (1 - ALIKE) * self.worst)[0]]

    def without_itself(self, row: int, residual_mm: float) -> float:
        """How far a row is from what the other rows say [mm]; ``residual_mm`` is its residual in the common fit."""
        return residual_mm / max(float(self.redundancy[row]), UNCONTROLLED)


def judged(residuals: FloatArray, slopes: FloatArray, anchored: FloatArray, rows: int) -> Judged:
    """Residuals of the first ``rows`` observations of a weighted least-squares fit, judged one by one.

    Parameters
    ----------
    residuals
        Residual over the standard uncertainty of its observation; shape (rows,) [-].
    slopes
        ∂(observation/u)/∂unknown; shape (observations, unknowns) [1/mm].
    anchored
        ∂(observation/u)/∂anchor times the anchor's standard uncertainty; shape (observations, anchors) [-].
    rows
        How many observations are distances; the others are bearings [-].

    Notes
    -----
    Normalised residual w = r/(u·√q) with q the diagonal of I − H, H the projection on the columns of the Jacobian
    (Baarda 1968, "A testing procedure for use in geodetic networks"; from memory). Anchors that carry an uncertainty
    of their own widen it.
    """
    base, values, _ = np.linalg.svd(slopes, full_matrices=False)
    base = base[:, values > 1e-13 * values.max(initial=1.0)]
    left = np.eye(slopes.shape[0]) - base @ base.T
    spread = left @ (np.eye(slopes.shape[0]) + anchored @ anchored.T) @ left.T
    variance = np.diag(spread)[:rows]
    ratios = np.abs(residuals) / np.sqrt(np.maximum(variance, UNCONTROLLED))
    return Judged(np.where(variance > UNCONTROLLED, ratios, 0.0), np.diag(left)[:rows])
