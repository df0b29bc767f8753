"""How the engine turned while it was recorded: like is compared with like, else something is added to the doubt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

LIKE_SPEED: Final = 0.20
"""Speeds are alike within this share [-] (design of the comparison; common practice, no source)."""
LIKE_TEMPERATURE_K: Final = 15.0
"""Temperatures are alike within this [K] (common practice, no source)."""
BLOCK_DEG_PER_K: Final = 0.017
"""Shift of a cam by growth of the block [crank degrees per kelvin] on a common layout."""
UNKNOWN_TEMPERATURE_K: Final = 20.0
"""By how much two temperatures may differ that nobody noted [K], one standard uncertainty (judgement)."""
OTHER_TENSION_DEG: Final = 0.5
"""What tension, belt length and mesh play add in unlike regimes [crank degrees] (judgement)."""
SENSOR_DELAY_S: Final = 30e-6
"""How late a sensor's edge comes [s] (common practice, no source): its share of a turn grows with speed."""
CRANKED_RPM: Final = 450.0
"""A starter turns an engine slower than this, an engine that runs turns faster [1/min] (common practice, no source)."""


@dataclass(frozen=True)
class Regime:
    """How the engine turned.

    Attributes
    ----------
    rpm
        Mean speed [1/min]; None where unknown.
    temperature_c
        Temperature of the engine [°C]; None where nobody noted it.
    cranking
        Whether the starter turned it; None where that is not told.
    """

    rpm: float | None = None
    temperature_c: float | None = None
    cranking: bool | None = None

    @property
    def cranked(self) -> bool | None:
        """Whether the starter turned it: as told, else by the speed; None where neither is known."""
        if self.cranking is not None or self.rpm is None:
            return self.cranking
        return self.rpm < CRANKED_RPM


@dataclass(frozen=True)
class Unlike:
    """What a comparison of two regimes adds.

    Attributes
    ----------
    u
        Standard uncertainty added to a shift [crank degrees].
    why
        Sentences: what was added and why.
    alike
        Whether both are known and alike.
    """

    u: float
    why: tuple[str, ...]
    alike: bool


def unlike(now: Regime, then: Regime) -> Unlike:
    """What is added to the doubt of a shift between two recordings.

    Parameters
    ----------
    now, then
        The regimes of both.

    Returns
    -------
    Unlike
        Nothing where speed (within 20 %) and temperature (within 15 K) are alike; else growth of the block by the
        kelvin, tension, belt length and mesh play, and the sensors' delay by the speed.
    """
    heat, heat_words, same_heat = _heat(now, then)
    speed, speed_words, same_speed = _speed(now, then)
    other = 0.0 if same_heat is not False and same_speed is not False else OTHER_TENSION_DEG
    u = float(np.sqrt(heat**2 + speed**2 + other**2))
    if other:
        speed_words = (*speed_words, f"belt stretch, mesh play and growth of the block add u {u:.2f}° to the shift")
    return Unlike(u, (*heat_words, *speed_words), bool(same_heat and same_speed))


def like_speeds(now: Regime, then: Regime) -> bool:
    """Whether both speeds are known and alike, within 20 %."""
    if now.rpm is None or then.rpm is None:
        return False
    return abs(now.rpm - then.rpm) <= LIKE_SPEED * max(now.rpm, then.rpm)


def _heat(now: Regime, then: Regime) -> tuple[float, tuple[str, ...], bool | None]:
    """Growth of the block [crank degrees], words, and whether the temperatures are alike; None where unknown."""
    if now.temperature_c is None or then.temperature_c is None:
        u = BLOCK_DEG_PER_K * UNKNOWN_TEMPERATURE_K
        words = (
            f"the engine's temperature is not given for both recordings: taken as alike within "
            f"{UNKNOWN_TEMPERATURE_K:g} K (u {u:.2f}° by growth of the block)"
        )
        return u, (words,), None
    apart = abs(now.temperature_c - then.temperature_c)
    u = BLOCK_DEG_PER_K * apart
    if apart <= LIKE_TEMPERATURE_K:
        return u, (), True
    return u, (_heat_words(now.temperature_c, then.temperature_c, apart),), False


def _heat_words(now: float, then: float, apart: float) -> str:
    return (
        f"the temperatures are {apart:.0f} K apart ({now:.0f} and {then:.0f} °C, more than {LIKE_TEMPERATURE_K:g} K): "
        f"growth of the block alone may shift a camshaft by {BLOCK_DEG_PER_K * apart:.1f}°; record again at the same "
        "temperature"
    )


def _speed(now: Regime, then: Regime) -> tuple[float, tuple[str, ...], bool | None]:
    """Delay of the sensors [crank degrees], words, and whether the speeds are alike; None where unknown."""
    if now.rpm is None or then.rpm is None:
        return OTHER_TENSION_DEG, ("the speed of one recording is unknown: u 0.5° is added for it",), None
    if like_speeds(now, then):
        return 0.0, (), True
    delay = SENSOR_DELAY_S * abs(now.rpm - then.rpm) * 6
    how = ", one while cranking and one with the engine running" if now.cranked != then.cranked else ""
    words = (
        f"the speeds differ by more than a fifth ({now.rpm:.0f} and {then.rpm:.0f} rpm{how}): record again at the same "
        "speed"
    )
    return delay, (words,), False
