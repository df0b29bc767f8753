"""Real plucked strings and real knocks, where a folder holds them (TWOTURN_RECORDINGS)."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from bench.table import RECORDINGS, Row
from twoturn.pluck.read import read_pluck
from twoturn.recording.sound import load_sound

NAMED_HZ = {
    "01": (41.20, 41.200),
    "02": (55.00, 55.060),
    "03": (69.30, 69.143),
    "04": (49.00, 49.237),
    "05": (73.42, 73.250),
    "06": (46.25, 46.447),
    "07": (49.00, 49.194),
    "08": (61.74, 61.763),
    "09": (73.42, 73.246),
    "10": (87.31, 87.626),
    "11": (110.00, 109.928),
    "12": (130.81, 130.584),
}
"""Pitch as the player names it and first partial by an independent fit [Hz], by the number of the recording."""

UNSET = "no folder of real recordings is named (TWOTURN_RECORDINGS)"


def measure() -> list[Row]:
    """Rows of the real strings and knocks; a row that says so where there are none."""
    if not RECORDINGS or not (Path(RECORDINGS) / "sounds").is_dir():
        return [Row("pluck: real strings and knocks", UNSET, "not measured", "0.1 % of the fit on 95 %", None)]
    folder = Path(RECORDINGS) / "sounds"
    errors, octave, lost = [], 0, 0
    for number, (named, fit) in NAMED_HZ.items():
        result = read_pluck(load_sound(folder / f"note_{number}.flac"))
        if result.frequency is None:
            lost += 1
            continue
        octave += abs(result.frequency.value / named - 1) > 0.1
        errors.append(abs(result.frequency.value / fit - 1))
    error = np.array(errors)
    near = int((error <= 1e-3).sum())
    figure = f"{near} of {len(NAMED_HZ)} within 0.1 % of the fit, {lost} not found, {octave} on another partial"
    figure += f"; median {100 * np.median(error):.3f} %"
    met = octave == 0 and near >= 0.95 * len(NAMED_HZ)
    hits = sorted(folder.glob("hit_*.flac"))
    called = sum(read_pluck(load_sound(path)).found for path in hits)
    return [
        Row(
            "pluck: real plucked strings",
            "12 recordings; some weights of the reader were set with them in view",
            figure,
            "no octave error; 95 % within 0.1 %",
            met,
        ),
        Row(
            "pluck: real knocks called a pluck",
            f"{len(hits)} of hand percussion; some weights of the reader were set with them in view",
            f"{called}",
            "none",
            called == 0,
        ),
    ]
