"""The decision rule: readings scattered about a value that lies exactly on a limit, and how many are called proven."""

from __future__ import annotations

import math

import numpy as np

from bench.table import Row
from twoturn.quantity.conformity import Limits, Verdict, decide
from twoturn.quantity.reading import Reading

DRAWS = 1_000_000
CASES = (
    ("low of two limits", Limits(10.0, 30.0, "N"), 10.0),
    ("high of two limits", Limits(10.0, 30.0, "N"), 30.0),
    ("low limit alone", Limits(10.0, None, "N"), 10.0),
    ("high limit alone", Limits(None, 30.0, "N"), 30.0),
)


def measure() -> list[Row]:
    """Rows for a known uncertainty and for one estimated from three readings."""
    return [_row(math.inf, "u known"), _row(2.0, "u from three readings, dof 2")]


def _row(dof: float, words: str) -> Row:
    shares = {}
    for number, (name, limits, truth) in enumerate(CASES):
        rng = np.random.default_rng([78, number, int(min(dof, 99))])
        values = truth + rng.standard_normal(DRAWS)
        us = np.ones(DRAWS) if math.isinf(dof) else np.sqrt(rng.chisquare(dof, DRAWS) / dof)
        readings = zip(values.tolist(), us.tolist(), strict=True)
        proven = sum(decide(Reading(value, u, "N", dof=dof), limits) is Verdict.PROVEN for value, u in readings)
        shares[name] = proven / DRAWS
    most = max(shares.values())
    figure = ", ".join(f"{name} {100 * share:.3f} %" for name, share in shares.items())
    how = f"10⁶ simulated readings of a value on the limit, {words}"
    return Row("decision rule: called proven on the limit", how, figure, "2.55 %", most <= 0.0255)
