"""A reading: a measured value with its standard uncertainty, its unit and where it came from."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from twoturn.errors import QuantityError


@lru_cache(maxsize=1024)
def coverage_factor(dof: float, probability: float = 0.95) -> float:
    """Two-sided Student factor t that holds ``probability`` with ``dof`` degrees of freedom.

    Parameters
    ----------
    dof
        Effective degrees of freedom [-], at least 1; infinity gives the normal factor.
    probability
        Coverage probability [-], between 0 and 1.

    Returns
    -------
    float
        The factor k [-] of the expanded uncertainty U = k·u.

    Raises
    ------
    QuantityError
        Fewer than one degree of freedom.

    References
    ----------
    JCGM 100:2008, annex G.3 and table G.2.
    """
    from scipy.special import ndtri, stdtrit

    if not dof >= 1:
        raise QuantityError(f"{dof:g} degrees of freedom carry no uncertainty", allowed="1 or more")
    upper = 0.5 + probability / 2
    return float(ndtri(upper)) if math.isinf(dof) else float(stdtrit(dof, upper))


@dataclass(frozen=True)
class Reading:
    """A measured quantity.

    Attributes
    ----------
    value
        Best estimate, in ``unit``.
    u
        Standard uncertainty, in ``unit``; 0 for a counted or exact value.
    unit
        Unit as printed, such as ``"N·m"``, ``"Hz"``, ``"°"``; never empty (``"-"`` for a plain number).
    dof
        Effective degrees of freedom of ``u`` [-].
    interval
        95 % interval where it was found directly (Monte Carlo), in ``unit``; otherwise derived from u and dof.
    source
        Where the reading came from, in a few words.
    """

    value: float
    u: float
    unit: str
    dof: float = math.inf
    interval: tuple[float, float] | None = None
    source: str = ""

    def __post_init__(self) -> None:
        if not self.unit:
            raise QuantityError(f"the reading {self.value:g} has no unit", allowed="a unit, or '-' for a plain number")
        if not (math.isfinite(self.value) and math.isfinite(self.u) and self.u >= 0):
            raise QuantityError(
                f"a reading of {self.value:g} with standard uncertainty {self.u:g} {self.unit} means nothing",
                allowed="finite numbers, the uncertainty 0 or more",
            )

    @property
    def expanded(self) -> float:
        """Half width U of the 95 % interval, in ``unit``: t(0.975, dof)·u, or half the given interval."""
        if self.interval is not None:
            return (self.interval[1] - self.interval[0]) / 2
        return coverage_factor(self.dof) * self.u if self.u else 0.0

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval, in ``unit``."""
        return self.interval[0] if self.interval is not None else self.value - self.expanded

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval, in ``unit``."""
        return self.interval[1] if self.interval is not None else self.value + self.expanded

    def scaled(self, factor: float, unit: str) -> Reading:
        """The same reading in another unit: everything times ``factor`` [new unit per old unit]."""
        ends = None if self.interval is None else tuple(sorted(end * factor for end in self.interval))
        interval = None if ends is None else (ends[0], ends[1])
        return replace(self, value=self.value * factor, u=self.u * abs(factor), unit=unit, interval=interval)

    def as_json(self) -> dict[str, float | str]:
        """Keys ``value``, ``u``, ``low``, ``high``, ``unit`` for the command line's JSON."""
        return {"value": self.value, "u": self.u, "low": self.low, "high": self.high, "unit": self.unit}
