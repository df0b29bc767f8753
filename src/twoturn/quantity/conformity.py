"""The decision rule: what a reading proves against its requirement, and how verdicts add up."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from twoturn.errors import QuantityError
from twoturn.quantity.reading import Reading

COARSE_SHARE = 0.25
"""U beyond this share of a requirement's width is noted as "tool or method too coarse" [-]."""

_ROUNDING = 1e-9


class Verdict(StrEnum):
    """The outcome of a check."""

    PROVEN = "proven"
    NOT_SHOWN = "not shown"
    NOT_MET = "not met"


_BADNESS = {Verdict.PROVEN: 0, Verdict.NOT_SHOWN: 1, Verdict.NOT_MET: 2}


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of several verdicts, in the order proven < not shown < not met.

    Parameters
    ----------
    verdicts
        Any number of verdicts; none at all shows nothing.

    Returns
    -------
    Verdict
        The worst one; "not shown" when there is none.
    """
    return max(verdicts, key=_BADNESS.__getitem__, default=Verdict.NOT_SHOWN)


@dataclass(frozen=True)
class Limits:
    """What a requirement allows: from ``low`` to ``high``, both ends included.

    Attributes
    ----------
    low
        Lower limit, in ``unit``; None when there is none.
    high
        Upper limit, in ``unit``; None when there is none.
    unit
        Unit as printed; never empty (``"-"`` for a plain number).
    """

    low: float | None
    high: float | None
    unit: str

    def __post_init__(self) -> None:
        if not self.unit:
            raise QuantityError("a requirement without a unit means nothing", allowed="a unit, or '-'")
        given = [limit for limit in (self.low, self.high) if limit is not None]
        if not given:
            raise QuantityError("a requirement without a limit means nothing", allowed="a low or a high limit")
        if not all(math.isfinite(limit) for limit in given):
            raise QuantityError(f"limits {self.low} and {self.high} {self.unit}", allowed="finite numbers")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise QuantityError(
                f"the low limit {self.low:g} lies above the high limit {self.high:g} {self.unit}",
                next_step="swap them",
            )

    @property
    def width(self) -> float:
        """Distance from limit to limit, in ``unit``; infinite when one is absent."""
        return math.inf if self.low is None or self.high is None else self.high - self.low

    @property
    def slack(self) -> float:
        """What rounding in the last digits may shift a limit by, in ``unit``."""
        return _ROUNDING * max(abs(limit) for limit in (self.low, self.high) if limit is not None)

    def room(self, value: float) -> float:
        """Distance from ``value`` to the nearest limit, in ``unit``: positive inside, negative outside."""
        below = math.inf if self.high is None else self.high - value
        above = math.inf if self.low is None else value - self.low
        return min(below, above)


def decide(reading: Reading, limits: Limits) -> Verdict:
    """What a measured value proves, with its expanded uncertainty U as guard band on each limit.

    Parameters
    ----------
    reading
        The measured value with its 95 % interval (value ± U, or the interval it carries).
    limits
        What is required, in the same unit.

    Returns
    -------
    Verdict
        Proven when the whole interval lies inside the limits, not met when it lies wholly outside, otherwise not shown.

    Raises
    ------
    QuantityError
        Reading and limits differ in unit.

    References
    ----------
    ISO 14253-1:2017, 5.2 and 5.3; JCGM 106:2012, 8.3.2 (guarded acceptance) and 8.3.3 (guarded rejection).
    """
    _same_unit(reading.unit, limits)
    low = -math.inf if limits.low is None else limits.low - limits.slack
    high = math.inf if limits.high is None else limits.high + limits.slack
    if reading.low >= low and reading.high <= high:
        return Verdict.PROVEN
    if reading.high < low or reading.low > high:
        return Verdict.NOT_MET
    return Verdict.NOT_SHOWN


def accept_simple(value: float, limits: Limits) -> Verdict:
    """What a value set or read "as prescribed" proves: simple acceptance, without a guard band.

    Parameters
    ----------
    value
        The value as set or read [unit of ``limits``].
    limits
        What is prescribed, both ends included.

    Returns
    -------
    Verdict
        Proven inside the limits, not met outside.

    References
    ----------
    JCGM 106:2012, 8.2 (decision by simple acceptance).
    """
    if not math.isfinite(value):
        raise QuantityError(f"the value {value} means nothing", allowed="a finite number")
    return Verdict.PROVEN if limits.room(value) >= -limits.slack else Verdict.NOT_MET


def decide_yes_no(answers: Iterable[bool]) -> Verdict:
    """What signed yes and no answers to one question prove together: any no wins.

    Parameters
    ----------
    answers
        True for yes, False for no; those of one state only.

    Returns
    -------
    Verdict
        Not met with any no, proven with at least one yes and no no, not shown without an answer.
    """
    return worst(Verdict.PROVEN if answer else Verdict.NOT_MET for answer in answers)


def too_coarse(reading: Reading, limits: Limits) -> bool:
    """Whether U is over a quarter of the requirement's width: a note, never a verdict.

    Parameters
    ----------
    reading
        The measured value.
    limits
        What is required, in the same unit; a one-sided requirement has no width and is never called coarse.

    Returns
    -------
    bool
        True when tool or method is too coarse for this requirement.

    Raises
    ------
    QuantityError
        Reading and limits differ in unit.
    """
    _same_unit(reading.unit, limits)
    return reading.expanded > COARSE_SHARE * limits.width * (1 + _ROUNDING)


def settling_uncertainty(reading: Reading, limits: Limits) -> float:
    """The largest expanded uncertainty U at which this value would be decided, in the reading's unit.

    Parameters
    ----------
    reading
        The measured value.
    limits
        What is required, in the same unit.

    Returns
    -------
    float
        Distance from the value to the nearest limit, 0 or more: inside, a U no larger proves the check; outside, a U
        that is smaller shows it as not met.

    Raises
    ------
    QuantityError
        Reading and limits differ in unit.
    """
    _same_unit(reading.unit, limits)
    outside = [limit for limit in (limits.low, limits.high) if limit is not None]
    return min(abs(reading.value - limit) for limit in outside)


def _same_unit(unit: str, limits: Limits) -> None:
    if unit != limits.unit:
        raise QuantityError(
            f"a reading in {unit} cannot be held against limits in {limits.unit}",
            next_step=f"convert one of them, so that both are in {limits.unit}",
        )
