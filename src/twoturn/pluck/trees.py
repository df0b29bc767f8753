"""How the evidence for a pluck is weighed: small decision trees, each adding a little to the log-odds.

A weighted sum cannot tell a weak lone tone, which is a pluck when it starts at once and rings long, from one tone of a
knock; trees of a few questions can. They were grown, not written: gradient boosting on 7044 simulated recordings of
three generators that know nothing of each other, 3504 of them without a pluck, lone tones counted twelvefold and rings
longer than a belt's twice (``tools/grow_evidence.py`` draws such recordings and grows such trees). More share, strength
and series and less that was there before never speak against a pluck. The bench uses other seeds. The limits in
``search`` were set with the cross-validation and the real knocks in view.

The trees stand in ``grown_trees.txt``, one a line: fifteen questions, ``|`` between them, then ``=`` and sixteen
answers. A question is a quantity and a limit; after question k comes question 2k where the quantity is not above the
limit and 2k + 1 where it is, counted from 1; the fourth question leads to what is added.

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
HELD_BACK = 0.5  # so that none of ten real knocks is taken for a pluck (set with them in view)
CONSTANT = -0.5590 - HELD_BACK
DECIMALS = 5  # of the quantities: a share of 1 and one of 0.999999999 are alike
DEPTH = 4  # questions asked of one event by one tree
TABLE = resources.files("twoturn.pluck").joinpath("grown_trees.txt").read_text(encoding="utf-8")


def _parsed() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Numbers of the quantities asked for, shape (trees, 15); limits, shape (trees, 15); answers, shape (trees, 16)."""
    asked, limits, answers = [], [], []
    for line in TABLE.splitlines():
        questions, added = line.split("=")
        parts = [part.split() for part in questions.split("|")]
        asked.append([FEATURES.index(name) for name, _ in parts])
        limits.append([float(limit) for _, limit in parts])
        answers.append([float(value) for value in added.split()])
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
    value = np.round([evidence[name] for name in FEATURES], DECIMALS)
    above = (value[ASKED] > LIMITS).astype(np.int64)
    place = np.zeros(len(TREES), dtype=np.int64)
    for _ in range(DEPTH):
        place = 2 * place + 1 + above[TREES, place]
    return float(CONSTANT + ANSWERS[TREES, place - len(LIMITS[0])].sum())
