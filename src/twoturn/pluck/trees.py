"""How the evidence for a pluck is weighed: small decision trees, each adding a little to the log-odds.

A weighted sum cannot tell a weak lone tone, which is a pluck when it starts at once and rings long, from one tone of a
knock; trees of two questions can. They were grown, not written: gradient boosting on 5240 simulated recordings of two
generators that know nothing of each other, 2716 of them without a pluck, lone tones counted five times and rings
longer than a belt's twice (``tools/grow_evidence.py`` draws such recordings and grows such trees). More share, strength
and series and less that was there before never speak against a pluck. The bench uses other seeds. The limits in
``read`` were set with the cross-validation and the real knocks in view.

The trees stand in ``grown_trees.txt``, one a line: ``first question | question and answers where it is not above | the
same where it is above``; a question is a quantity and a limit, its answers are what is added where the quantity is not
above it and where it is.

References
----------
J. H. Friedman, Greedy function approximation: a gradient boosting machine, Ann. Statist. 29 (2001) 1189-1232.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources

import numpy as np

FEATURES = (
    "series",
    "share",
    "band_share",
    "count",
    "attack",
    "older",
    "low",
    "bright",
    "quality",
    "unsure",
    "first",
    "strength",
    "pitch",
    "decay",
    "astray",
    "other",
    "unlike",
    "longer",
    "glide",
    "rung",
)
CONSTANT = -0.6774
TABLE = resources.files("twoturn.pluck").joinpath("grown_trees.txt").read_text(encoding="utf-8")


def _parsed() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Numbers of the quantities asked for, shape (trees, 3); limits, shape (trees, 3); answers, shape (trees, 4)."""
    asked, limits, answers = [], [], []
    for line in TABLE.splitlines():
        first, left, right = (part.split() for part in line.split("|"))
        asked.append([FEATURES.index(part[0]) for part in (first, left, right)])
        limits.append([float(part[1]) for part in (first, left, right)])
        answers.append([float(value) for part in (left, right) for value in part[2:]])
    return np.array(asked), np.array(limits), np.array(answers)


ASKED, LIMITS, ANSWERS = _parsed()
TREES = np.arange(len(ASKED))


def grown_log_odds(evidence: Mapping[str, float]) -> float:
    """Sum of what the trees add [-].

    Parameters
    ----------
    evidence
        The quantities by name; every one of ``FEATURES`` must be there.

    Returns
    -------
    float
        Log-odds that an event is a pluck.
    """
    value = np.array([evidence[name] for name in FEATURES])
    above = (value[ASKED] > LIMITS).astype(np.int64)
    side = above[:, 0]
    answer = ANSWERS[TREES, 2 * side + above[TREES, 1 + side]]
    return float(CONSTANT + answer.sum())
