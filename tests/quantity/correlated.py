"""How two results computed from the same inputs go together."""

from __future__ import annotations

import numpy as np

from twoturn.quantity.budget import Budget


def output_correlation(first: Budget, second: Budget) -> float:
    """Correlation coefficient of two results (JCGM 100:2008, H.2.3, equation (H.9)); 0 where one is exact."""
    slope_1, slope_2 = (np.array([line.sensitivity for line in budget.lines]) for budget in (first, second))
    scale = first.u_c * second.u_c
    return float(slope_1 @ first.covariance @ slope_2) / scale if scale else 0.0
