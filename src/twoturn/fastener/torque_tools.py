"""Torque tools: class, range, calibration, and the setting with an extension."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import DomainError

Numbers = float | NDArray[np.float64]

TOOL_KINDS: Final[dict[str, tuple[float, float]]] = {
    "I A": (0.06, 0.06), "I B": (0.04, 0.06), "I C": (0.04, 0.06), "I D": (0.06, 0.06), "I E": (0.04, 0.06),
    "II A": (0.04, 0.06), "II B": (0.04, 0.06), "II C": (0.04, 0.06), "II D": (0.06, 0.06), "II E": (0.06, 0.06),
    "II F": (0.06, 0.06), "II G": (0.06, 0.06),
}  # fmt: skip
"""Permissible deviation [-] by type and class: greatest torque over 10 N·m, and up to 10 N·m (ISO 6789-1).

Type I shows the torque (A bending bar, B dial or display, C electronic, D and E screwdrivers); type II clicks at a set
one (A adjustable with scale, B fixed, C adjustable without scale, D to F screwdrivers, G bending bar)."""

SMALL_TOOL_NM: Final = 10.0
CALIBRATION_MONTHS: Final = 12
CALIBRATION_CYCLES: Final = 5000

USUAL_RANGES_NM: Final = (
    (0.4, 2.0), (1.0, 5.0), (2.0, 10.0), (5.0, 25.0), (10.0, 50.0), (20.0, 100.0), (40.0, 200.0), (60.0, 300.0),
    (100.0, 500.0), (200.0, 1000.0), (400.0, 2000.0),
)  # fmt: skip
"""Ranges in which wrenches are usually sold [N·m], a fifth of the greatest torque upward (common practice)."""


@dataclass(frozen=True)
class TorqueTool:
    """A torque wrench or screwdriver of the workshop.

    Attributes
    ----------
    name
        What the workshop calls it.
    low_nm, high_nm
        Range: from the lowest marked value to the greatest.
    kind
        Type and class after ISO 6789, such as "II A".
    calibrated
        Day of the last calibration; None where unknown.
    due
        Day until which the certificate or the workshop says it holds; None where only the usual interval counts.
    cycles
        Operations since the calibration [-]; None where nobody counts them.
    """

    name: str
    low_nm: float
    high_nm: float
    kind: str = "II A"
    calibrated: date | None = None
    due: date | None = None
    cycles: int | None = None

    def __post_init__(self) -> None:
        if not 0 < self.low_nm < self.high_nm < math.inf:
            raise DomainError(
                f"{self.name}: a range from {self.low_nm:g} to {self.high_nm:g} N·m",
                allowed="from the lowest marked value, above 0, to the greatest",
            )
        if self.kind not in TOOL_KINDS:
            raise DomainError(f"{self.name}: type and class {self.kind!r}", allowed=", ".join(TOOL_KINDS))

    @property
    def permissible_deviation(self) -> float:
        """Greatest deviation of a tool in order [share of the torque]."""
        return permissible_deviation(self.kind, self.high_nm)


@dataclass(frozen=True)
class ToolRange:
    """A torque tool a job needs.

    Attributes
    ----------
    low_nm, high_nm
        Its range.
    torques_nm
        The torques of the job that it is for, rising.
    """

    low_nm: float
    high_nm: float
    torques_nm: tuple[float, ...]


def permissible_deviation(kind: str, high_nm: float) -> float:
    """Greatest permissible deviation of a hand torque tool.

    Parameters
    ----------
    kind
        Type and class, such as "II A".
    high_nm
        Greatest torque of its range [N·m].

    Returns
    -------
    float
        Share of the torque [-]: 0.04 or 0.06.

    Raises
    ------
    DomainError
        A type or class the standard does not have.

    References
    ----------
    ISO 6789-1:2017, 5.1.5 (values of ISO 6789:2003).
    """
    if kind not in TOOL_KINDS:
        raise DomainError(f"type and class {kind!r} are not in ISO 6789", allowed=", ".join(TOOL_KINDS))
    large, small = TOOL_KINDS[kind]
    return large if high_nm > SMALL_TOOL_NM else small


def calibration_end(tool: TorqueTool) -> date | None:
    """Last day on which a tool's calibration holds; None where no calibration is known.

    The date given with the tool rules; without one, twelve months from the calibration (ISO 6789:2003, 6.1).
    """
    if tool.due is not None or tool.calibrated is None:
        return tool.due
    months = tool.calibrated.month - 1 + CALIBRATION_MONTHS
    year, month = tool.calibrated.year + months // 12, months % 12 + 1
    last = (date(year + month // 12, month % 12 + 1, 1) - date.resolution).day
    return date(year, month, min(tool.calibrated.day, last))


def unfit(tool: TorqueTool, torque_nm: float, day: date) -> list[str]:
    """Why a tool cannot prove a torque on a day.

    Parameters
    ----------
    tool
        The tool.
    torque_nm
        What the tool is set to [N·m]; with an extension the corrected setting, not the torque at the bolt.
    day
        The day it was used.

    Returns
    -------
    list of str
        One sentence a reason; empty when the tool is fit.
    """
    reasons = []
    if not tool.low_nm <= torque_nm <= tool.high_nm:
        reasons.append(
            f"{torque_nm:g} N·m is outside the range of {tool.name}, {tool.low_nm:g} to {tool.high_nm:g} N·m."
        )
    end = calibration_end(tool)
    if end is None:
        reasons.append(f"No calibration of {tool.name} is on record.")
    elif day > end:
        reasons.append(f"The calibration of {tool.name} ended on {end.isoformat()}.")
    if tool.calibrated is not None and day < tool.calibrated:
        reasons.append(f"{tool.name} was calibrated on {tool.calibrated.isoformat()}, after the work.")
    if tool.due is None and tool.cycles is not None and tool.cycles > CALIBRATION_CYCLES:
        reasons.append(
            f"{tool.name} has done {tool.cycles} cycles since its calibration ({CALIBRATION_CYCLES} allowed)."
        )
    return reasons


def choose_tool(torque_nm: float, tools: Sequence[TorqueTool]) -> TorqueTool | None:
    """The workshop's tool that suits a torque best.

    Parameters
    ----------
    torque_nm
        Torque to set [N·m].
    tools
        The tools at hand.

    Returns
    -------
    TorqueTool or None
        The one whose range holds the torque nearest its middle on a ratio scale; None when none holds it.
    """
    fitting = [tool for tool in tools if tool.low_nm <= torque_nm <= tool.high_nm]
    return min(fitting, key=lambda tool: _off_middle(torque_nm, (tool.low_nm, tool.high_nm)), default=None)


def tools_needed(torques: Iterable[float]) -> list[ToolRange]:
    """The fewest usual torque tools that cover all torques of a job.

    Parameters
    ----------
    torques
        Torques to be set [N·m], in any order.

    Returns
    -------
    list of ToolRange
        Rising by range, each with the torques it is for. Of equally few, those that leave the torques nearest the
        middle of their ranges.

    Raises
    ------
    DomainError
        A torque no usual tool reaches.
    """
    wanted = sorted(set(torques))
    least, most = USUAL_RANGES_NM[0][0], USUAL_RANGES_NM[-1][1]
    for torque in wanted:
        if not least <= torque <= most:
            raise DomainError(f"no usual torque tool reaches {torque:g} N·m", allowed=f"{least:g} to {most:g} N·m")
    if not wanted:
        return []
    ranges = _fewest_ranges(wanted)
    homes = {torque: _home(torque, ranges) for torque in wanted}
    return [ToolRange(*one, tuple(t for t in wanted if homes[t] == one)) for one in ranges if one in homes.values()]


def extension_setting(torque_nm: Numbers, wrench_mm: float, extension_mm: float, angle_deg: float = 0.0) -> Numbers:
    """What to set on a wrench that carries an extension, so that the bolt gets the torque wanted.

    Parameters
    ----------
    torque_nm
        Torque wanted at the bolt [N·m], any shape.
    wrench_mm
        From the wrench's square to the middle of the hand on its grip [mm].
    extension_mm
        From the wrench's square to the bolt's axis [mm]; negative where the extension points back to the hand.
    angle_deg
        Between extension and wrench [°]: 0 in line (longer), 90 square to it (no change).

    Returns
    -------
    float or numpy.ndarray
        Setting [N·m]: T·L/(L + E·cosθ).

    Raises
    ------
    DomainError
        Lengths that make no lever.

    References
    ----------
    US Army TM 9-254 (L = lT + lA·cos α); the usual formula of torque-wrench manuals.
    """
    if not (0 < wrench_mm <= 3000 and abs(extension_mm) <= 3000 and math.isfinite(angle_deg)):
        raise DomainError(
            f"a wrench of {wrench_mm:g} mm with an extension of {extension_mm:g} mm at {angle_deg:g}°",
            allowed="a wrench of more than 0 mm, both at most 3000 mm",
        )
    reach = wrench_mm + extension_mm * math.cos(math.radians(angle_deg))
    if reach < 0.1 * wrench_mm:
        raise DomainError(
            f"an extension of {extension_mm:g} mm at {angle_deg:g}° takes a wrench of {wrench_mm:g} mm its lever",
            allowed=f"at most {0.9 * wrench_mm:g} mm back towards the hand",
        )
    return torque_nm * wrench_mm / reach


def _off_middle(torque_nm: float, one: tuple[float, float]) -> float:
    """Distance from the middle of a range on a ratio scale: 0 in the middle, 1 at an end."""
    low, high = one
    return abs(math.log(torque_nm * torque_nm / (low * high))) / math.log(high / low)


def _home(torque: float, ranges: Iterable[tuple[float, float]]) -> tuple[float, float]:
    holding = (one for one in ranges if one[0] <= torque <= one[1])
    return min(holding, key=lambda one: _off_middle(torque, one))


def _fewest_ranges(wanted: Sequence[float]) -> tuple[tuple[float, float], ...]:
    for count in range(1, len(USUAL_RANGES_NM) + 1):
        covering = [
            ranges
            for ranges in combinations(USUAL_RANGES_NM, count)
            if all(any(low <= torque <= high for low, high in ranges) for torque in wanted)
        ]
        if covering:
            return min(covering, key=lambda ranges: _strain(wanted, ranges))
    raise AssertionError(wanted)  # pragma: no cover - the usual ranges overlap from end to end


def _strain(wanted: Sequence[float], ranges: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Worst and summed distance of the torques from the middle of their tool."""
    off = [_off_middle(torque, _home(torque, ranges)) for torque in wanted]
    return max(off), sum(off)
