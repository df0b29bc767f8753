"""Monte Carlo over all tolerances of a drive: pointer and tension of every draw, settings solved anew."""

from __future__ import annotations

import math

import numpy as np

from bench.shipped import DRIVES, short
from bench.table import Row, best_of
from twoturn.drive.load import read_drive
from twoturn.mechanics.spread.inputs import uncertain_inputs
from twoturn.mechanics.spread.montecarlo import sensitivities, spread_of_rest

DRAWS = 100_000
WARMER_K, TEMPERATURE_U_K = 20.0, 4.0
SPREAD = {"warmer_k": WARMER_K, "temperature_u_k": TEMPERATURE_U_K}


def measure() -> list[Row]:
    """Rows of time, and of the draws' spread beside the one to first order."""
    times: dict[str, float] = {}
    spreads: dict[str, str] = {}
    least, most = math.inf, 0
    for path in DRIVES:
        drive = read_drive(path.read_text(encoding="utf-8"), path.name)
        for belt in drive.belts:
            if not belt.has_coordinates:
                continue
            name = short(path) if len(drive.belts) == 1 else f"{short(path)} {belt.id}"

            def work(drive=drive, belt=belt):  # type: ignore[no-untyped-def]
                return spread_of_rest(drive, belt, np.random.default_rng(73), draws=DRAWS, **SPREAD)

            times[name] = best_of(work, 2)
            drawn, rows = work(), sensitivities(drive, belt, **SPREAD)
            first_n = math.sqrt(sum(row.tension_u_n**2 for row in rows))
            spreads[name] = f"{drawn.tension_u_n:.0f} N by draws, {first_n:.0f} N to first order"
            count = len(uncertain_inputs(drive, belt, TEMPERATURE_U_K))
            least, most = min(least, count), max(most, count)
    how = f"10⁵ draws of {least:.0f} to {most} uncertain inputs of one belt, {WARMER_K:.0f} K warmer, settings too"
    each = ", ".join(f"{name} {seconds:.2f} s" for name, seconds in times.items())
    both = ", ".join(f"{name} {words}" for name, words in spreads.items())
    met = max(times.values()) < 2
    return [
        Row("Monte Carlo over all tolerances of a drive", how, each, "2 s each", met),
        Row("the spread of the tension by draws and to first order", "the same", both, "none", None),
    ]
