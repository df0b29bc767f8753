"""What no drive can be: pulleys that overlap, a span through a pulley, wraps beyond their limits, a belt not closed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from twoturn.drive.parts import Belt
from twoturn.drive.path import pulley_gaps, span_clearances
from twoturn.mechanics.belt import Shape

LEAST_WRAP_DEG = 3.0
MOST_WRAP_DEG = 300.0


@dataclass(frozen=True)
class Breach:
    """Something that cannot be.

    Attributes
    ----------
    pulley
        Id of the pulley where it shows.
    found, expected
        What was found and what would be right.
    """

    pulley: str
    found: str
    expected: str


def breaches(belt: Belt, shape: Shape) -> list[Breach]:
    """Everything that cannot be in a belt at rest, in belt order; empty for a legal one."""
    overlaps = _overlaps(belt, shape)
    if overlaps or np.isnan(shape.path.length_mm):
        return overlaps or [_no_tangent(belt)]
    return _crossed_spans(belt, shape) + _wraps(belt, shape)


def _overlaps(belt: Belt, shape: Shape) -> list[Breach]:
    gaps = pulley_gaps(shape.centres, shape.radii_mm)
    found = []
    for a, b in zip(*np.nonzero(np.triu(gaps <= 0)), strict=True):
        one, other = belt.pulleys[a], belt.pulleys[b]
        at = one if one.is_tensioner else other
        least = shape.radii_mm[a] + shape.radii_mm[b]
        found.append(
            Breach(
                at.id,
                f"{least + gaps[a, b]:.2f} mm between the centres of {one.id} and {other.id}",
                f"more than {least:.2f} mm: they overlap",
            )
        )
    return found


def _no_tangent(belt: Belt) -> Breach:
    return Breach(belt.driver.id, "two neighbours that no straight span joins", "pulleys that do not overlap")


def _crossed_spans(belt: Belt, shape: Shape) -> list[Breach]:
    gaps = span_clearances(shape.path, shape.centres, shape.radii_mm)
    found = []
    for span, other in zip(*np.nonzero(gaps < -1e-9), strict=True):
        start, end = belt.pulleys[span], belt.pulleys[(span + 1) % len(belt.pulleys)]
        found.append(
            Breach(
                belt.pulleys[other].id,
                f"the span {start.id}:{end.id} runs through it, {-gaps[span, other]:.2f} mm deep",
                "spans clear of it: check its place, its belt_side and the order along travel",
            )
        )
    return found


def _wraps(belt: Belt, shape: Shape) -> list[Breach]:
    wraps = np.degrees(shape.path.wraps_rad)
    found = [
        Breach(
            pulley.id,
            f"a wrap of {wrap:.2f}°",
            f"a wrap of {LEAST_WRAP_DEG:g}° to {MOST_WRAP_DEG:g}°: check its place and its belt_side",
        )
        for pulley, wrap in zip(belt.pulleys, wraps, strict=True)
        if not LEAST_WRAP_DEG <= wrap <= MOST_WRAP_DEG
    ]
    total = float(np.degrees(shape.path.signed_wraps_rad.sum()))
    if not found and not math.isclose(total, 360.0, abs_tol=1e-4):
        words = "+360°: check the order along travel, crank_turns and every belt_side"
        found.append(Breach(belt.driver.id, f"signed wraps that add up to {total:.0f}°", words))
    return found
