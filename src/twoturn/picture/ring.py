"""A scheme for a drive without coordinates: its wheels in belt order round a loop, said to be not to scale."""

from __future__ import annotations

import numpy as np

from twoturn.drive.laid import LaidBelt
from twoturn.drive.parts import Belt, Pulley
from twoturn.drive.path import ComplexArray, FloatArray, belt_path, pulley_gaps, span_clearances

SMOOTH_MM = 24.0
PUSH_MM = 20.0


def schematic(belt: Belt) -> LaidBelt | None:
    """A belt laid on wheels at made-up places, in its true order and with its true sides.

    Parameters
    ----------
    belt
        The belt.

    Returns
    -------
    LaidBelt | None
        The driving sprocket at the bottom; None where no such loop closes.
    """
    radii = np.array([_radius(pulley) for pulley in belt.pulleys])
    inside = np.array([pulley.inside for pulley in belt.pulleys])
    if inside.sum() < 2:
        return None
    for push in (PUSH_MM, 0.5 * PUSH_MM, 2 * PUSH_MM):
        for spread in (1.0, 1.35, 1.8):
            centres = _places(belt, radii, push, spread)
            path = belt_path(centres, radii, inside, belt.sense)
            clear = np.all(pulley_gaps(centres, radii) > 6) and np.all(span_clearances(path, centres, radii) > 3)
            if bool(path.closed) and bool(clear) and bool(np.all(path.spans_mm > 6)):
                return LaidBelt(belt, centres, radii, path)
    return None


def _radius(pulley: Pulley) -> float:
    """A made-up radius that keeps the order of the tooth counts [mm]."""
    return SMOOTH_MM if pulley.teeth is None else float(np.clip(8 + 0.95 * pulley.teeth, 22, 60))


def _places(belt: Belt, radii: FloatArray, push: float, spread: float) -> ComplexArray:
    """Inside wheels on a circle, back wheels spread between their neighbours, pressed into the belt from outside."""
    count = len(belt.pulleys)
    around = np.pi + belt.sense * 2 * np.pi * np.arange(count) / count
    ring = spread * max(120.0, 2.0 * float(np.sum(radii)) / np.pi)
    centres = ring * (np.sin(around) + 1j * np.cos(around))
    inside = [at for at, pulley in enumerate(belt.pulleys) if pulley.inside]
    for before, after in zip(inside, [*inside[1:], inside[0]], strict=True):
        between = (after - before) % count - 1
        for number in range(between):
            at = (before + 1 + number) % count
            share = (number + 1) / (between + 1)
            start, end = (centres[other] + 0j for other in (before, after))
            outward = (end - start) / abs(end - start) * 1j * belt.sense
            line = start + outward * radii[before] * (1 - share) + outward * radii[after] * share
            sag = push * 4 * share * (1 - share)
            centres[at] = line + (end - start) * share + outward * (radii[at] - sag)
    return np.asarray(centres)
