"""Temperatures of an engine as people tell them: taken only where an engine can be that cold or warm."""

from __future__ import annotations

from twoturn.errors import DomainError
from twoturn.job.entries.numbers import COLDEST_C, WARMEST_C


def check_engine(temperature_c: float | None) -> None:
    """Refuse a temperature that no engine block has.

    Parameters
    ----------
    temperature_c
        The temperature of the block [°C]; None where nobody told it.

    Raises
    ------
    DomainError
        It lies outside −40 to 130 °C.
    """
    if temperature_c is None or COLDEST_C <= temperature_c <= WARMEST_C:
        return
    raise DomainError(
        f"{temperature_c:g} °C is no temperature of an engine block".replace("-", "−"),
        allowed=f"{COLDEST_C:g} to {WARMEST_C:g} °C".replace("-", "−"),
        next_step="give the block's temperature, such as 18",
    )
