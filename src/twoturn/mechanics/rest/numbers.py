"""Where a model takes its numbers from: the drive as written, with some of them replaced by trial values or draws."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from twoturn.drive.path import ComplexArray, FloatArray
from twoturn.mechanics.kinds.pose import Number

Key = tuple[str, str, str]
"""Table, id and key, such as ("pulley", "crank", "at_mm.x"), ("tensioner", "roller", "arm_mm")."""


@dataclass(frozen=True)
class Numbers:
    """The numbers of a drive, some replaced.

    Attributes
    ----------
    replaced
        Other values by key, plain or one for each case, in the unit of the key.
    """

    replaced: dict[Key, FloatArray] = field(default_factory=dict)

    def plain(self, table: str, name: str, key: str, written: float) -> Number:
        """The number of a key: its replacement, else as written."""
        return self.replaced.get((table, name, key), written)

    def point(self, table: str, name: str, key: str, written: tuple[float, float]) -> ComplexArray:
        """A point as x + i·y [mm]: each coordinate its replacement, else as written."""
        x = self.plain(table, name, f"{key}.x", written[0])
        y = self.plain(table, name, f"{key}.y", written[1])
        return np.asarray(x + 1j * y, dtype=np.complex128)


AS_WRITTEN = Numbers()
