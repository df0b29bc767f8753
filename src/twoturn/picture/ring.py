"""A scheme for a drive without coordinates: its wheels in belt order round a loop, said to be not to scale."""

from __future__ import annotations

import numpy as np

from twoturn.drive.laid import LaidBelt
from twoturn.drive.parts import Belt, Pulley
from twoturn.drive.path import belt_path

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
        centres = _places(belt, radii, push)
        path = belt_path(centres, radii, inside, belt.sense)
        if bool(path.closed) and bool(np.all(path.spans_mm > 6)):
            return LaidBelt(belt, centres, radii, path)
    return None


def _radius(pulley: Pulley) -> float:
    """A made-up radius that keeps the order of the tooth counts [mm]."""
    return SMOOTH_MM if pulley.teeth is None else float(np.clip(8 + 0.95 * pulley.teeth, 22, 60))


def _places(belt: Belt, radii: np.ndarray, push: float) -> np.ndarray:
    """Inside wheels on a circle, back wheels between their neighbours, pressed into the belt from outside."""
    count = len(belt.pulleys)
    around = np.pi + belt.sense * 2 * np.pi * np.arange(count) / count
    ring = max(120.0, 1.25 * float(np.sum(radii)) / np.pi * 1.6)
    outward = np.sin(around) + 1j * np.cos(around)
    centres = ring * outward
    inside = [at for at, pulley in enumerate(belt.pulleys) if pulley.inside]
    for at, pulley in enumerate(belt.pulleys):
        if pulley.inside:
            continue
        before = max((other for other in inside if other < at), default=inside[-1])
        after = min((other for other in inside if other > at), default=inside[0])
        centres[at] = _between(centres, radii, (before, at, after), outward[at], push)
    return np.asarray(centres)


def _between(
    centres: np.ndarray, radii: np.ndarray, trio: tuple[int, int, int], outward: complex, push: float
) -> complex:
    """Where the outer line over two inside wheels crosses a ray, moved out by the wheel less the push."""
    before, at, after = trio
    chord = centres[after] - centres[before]
    side = chord / abs(chord) * 1j
    side = side if (side * np.conj(outward)).real > 0 else -side
    start, end = (centres[other] + side * radii[other] for other in (before, after))
    line = end - start
    reach = (
        (np.conj(side) * start).real / (np.conj(side) * outward).real
        if abs((np.conj(side) * outward).real) > 1e-6
        else 0
    )
    share = np.clip(((reach * outward - start) * np.conj(line)).real / abs(line) ** 2, 0.2, 0.8)
    return complex(start + share * line + side * (radii[at] - push))
