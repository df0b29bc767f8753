"""A sensor wheel: places round the wheel, which of them carry a tooth, and how it is written."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array

FEW_WIDE = 12
"""Wheels of no more places than this hardly lack two together [-]: common practice, no source."""
FEW_ODD, FEW_PLACES, MOST_GAPS = 3, 24, 3
"""Odd numbers of places from above the first to the second, and more gaps than the third, are hardly made [-]: common
practice, no source."""


@dataclass(frozen=True)
class Wheel:
    """A wheel as a repeating section of steps from tooth to tooth.

    Attributes
    ----------
    steps
        Places from each tooth to the next, beginning with the tooth that counts as 0 (the first after the longest
        gap), one section of the wheel [-].
    sections
        How often the section repeats in one turn of the crankshaft [-].
    """

    steps: tuple[int, ...]
    sections: int = 1

    @property
    def places(self) -> int:
        """Places in one turn [-]."""
        return sum(self.steps) * self.sections

    @property
    def teeth(self) -> int:
        """Teeth in one turn [-]."""
        return len(self.steps) * self.sections

    @property
    def normal_step(self) -> int:
        """The commonest step from tooth to tooth [places]."""
        return max(set(self.steps), key=lambda step: (self.steps.count(step), -step))

    @property
    def even(self) -> bool:
        """Whether every step is the same: nothing marks a place."""
        return len(set(self.steps)) == 1

    @property
    def usual(self) -> bool:
        """Whether it is a wheel as they are made: even, with whole places missing, or with one extra tooth.

        Among few places an odd number is hardly made, nor are more than three gaps, or three unlike ones, in a section:
        a strong swing of speed looks so.
        """
        whole = sum(self.steps) // self.normal_step
        if not self.even and FEW_ODD < whole <= FEW_PLACES and whole % 2:
            return False
        if self.even or self.normal_step == 1:
            gaps = [step for step in self.steps if step > 1]
            many = not self.even and (len(gaps) > MOST_GAPS or (len(gaps) == MOST_GAPS and len(set(gaps)) > 1))
            return not many and self.places <= 2 * self.teeth
        short = [step for step in self.steps if step < self.normal_step]
        return max(self.steps) == self.normal_step == sum(short) and len(short) == 2

    @property
    def wide(self) -> bool:
        """Whether few places, or an odd number of them, lack two or more together, which is hardly made.

        Such a wheel is told from one with a place less and a smaller gap by the speed alone.
        """
        whole = self.places // self.normal_step
        return self.normal_step == 1 and max(self.steps) > 2 and (whole <= FEW_WIDE or bool(whole % 2))

    @cached_property
    def section_angles(self) -> Array:
        """Angle of each tooth of a section as a share of the section, shape (teeth of a section,) [-]."""
        return np.concatenate([[0.0], np.cumsum(self.steps)[:-1]]) / sum(self.steps)

    @property
    def section_deg(self) -> float:
        """Angle of one section [crank degrees]."""
        return 360.0 / self.sections

    @property
    def pitch_deg(self) -> float:
        """Angle of one normal step [crank degrees]."""
        return 360.0 * self.normal_step / self.places

    @property
    def widest_deg(self) -> float:
        """Angle of the longest step [crank degrees]."""
        return 360.0 * max(self.steps) / self.places

    def angle_deg(self, tooth: NDArray[np.int64]) -> Array:
        """Unwrapped angle of teeth counted from the tooth 0 of a section.

        Parameters
        ----------
        tooth
            Running tooth numbers [-], any shape.

        Returns
        -------
        array
            Angles [crank degrees], same shape.
        """
        count = len(self.steps)
        section = np.floor_divide(tooth, count)
        return np.asarray((section + self.section_angles[tooth - section * count]) * self.section_deg)

    @property
    def gaps(self) -> list[dict[str, int]]:
        """Every gap of one turn: the place of the tooth before it, and the places missing [-]."""
        found = []
        place = 0
        for step in self.steps * self.sections:
            if step > self.normal_step:
                found.append({"after_place": place, "missing": step // self.normal_step - 1, "step_places": step})
            place += step
        return found

    @property
    def text(self) -> str:
        """The wheel as the trade writes it: ``60-2``, ``36-2-2-2``, ``12+1``, or in words."""
        normal = self.normal_step
        long = [step for step in self.steps if step > normal]
        short = [step for step in self.steps if step < normal]
        if self.even and self.teeth == 1:
            return "even teeth, no gap, number unknown"
        if self.even:
            return f"{self.teeth} places, no gap"
        if normal == 1 and not short:
            return f"{self.places}-" + "-".join(str(step - 1) for step in long * self.sections)
        if not long and sum(short) == normal and self.sections == 1:
            return f"{self.places // normal}+{len(short) - 1}"
        if self.teeth > 24:
            return f"{self.places} places, {self.teeth} teeth at uneven steps"
        steps = ", ".join(str(step) for step in self.steps * self.sections)
        return f"{self.places} places, {self.teeth} teeth with steps {steps}"

    def as_json(self) -> dict[str, Any]:
        """The wheel as a structured answer."""
        place, teeth = 0, []
        for step in self.steps * self.sections:
            teeth.append(place)
            place += step
        return {"places": self.places, "teeth": self.teeth, "tooth_places": teeth, "gaps": self.gaps}


def from_zero(steps: tuple[int, ...]) -> tuple[tuple[int, ...], int]:
    """Shortest repeating part of a round of steps, beginning at the tooth that counts as 0.

    That is the first tooth after the longest gap; among several, the one whose following steps are the smallest in
    order (the longest run of teeth, or the extra tooth first).

    Parameters
    ----------
    steps
        Steps from tooth to tooth of one or more sections [-].

    Returns
    -------
    tuple
        The section's steps, and by how many teeth it was rotated [-].
    """
    count = len(steps)
    period = next(p for p in range(1, count + 1) if count % p == 0 and steps == steps[:p] * (count // p))
    section = steps[:period]
    longest = max(section)
    starts = [i for i in range(period) if section[i - 1] == longest]
    best = min(starts, key=lambda i: section[i:] + section[:i])
    return section[best:] + section[:best], best
