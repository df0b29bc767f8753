"""The score of many first partials at once against its definition, tone by tone and partial by partial."""

from __future__ import annotations

import math

import numpy as np
import pytest

from twoturn.pluck.series import HEARD, PARTIALS, RANDOM, Tones, score_all


def plainly(tones: Tones, hertz: float, stiff: float, event: int) -> float:
    """One candidate and one event, by the words of the module: what each tone adds, and what silent partials cost."""
    partials = [hertz * n * math.sqrt((1 + stiff * n**2) / (1 + stiff)) for n in range(1, PARTIALS + 1)]
    total, heard = 0.0, set[int]()
    for k in np.flatnonzero(tones.event == event):
        away = [(tones.log_hertz[k] - math.log(one)) / tones.tolerance[k] for one in partials]
        near = min(range(PARTIALS), key=lambda n: abs(away[n]))
        density = math.exp(-0.5 * away[near] ** 2) / (math.sqrt(2 * math.pi) * tones.tolerance[k])
        total += tones.weight[k] * math.log(0.6 + 0.4 * density * HEARD[near] / sum(HEARD) / RANDOM)
        if abs(away[near]) < 2.5:
            heard.add(near)
    for n in range(max(heard, default=0) + 1):
        if n not in heard and partials[n] <= 1200:
            total += math.log(1 - (0.8 if partials[n] < 110 else 1.0) * HEARD[n])
    return total


def test_scores_are_those_of_their_definition() -> None:
    rng = np.random.default_rng(21)
    event = np.array([0] * 4 + [2] * 7 + [3])  # event 1 has no tone at all
    hertz = np.array([80, 161, 240.5, 610, 95, 190.4, 286, 383, 1210, 33, 700, 480.0])
    tones = Tones(np.log(hertz), rng.uniform(0.004, 0.03, 12), rng.uniform(0.3, 1, 12), event, np.arange(12), 4)
    first = np.concatenate([hertz / n for n in range(1, 7)])
    stiff = rng.choice([0.0, 0.002, 0.07], len(first))
    found = score_all(tones, first, stiff)
    direct = [[plainly(tones, f, b, e) for e in range(4)] for f, b in zip(first, stiff, strict=True)]
    assert found == pytest.approx(np.array(direct), abs=1e-9)
