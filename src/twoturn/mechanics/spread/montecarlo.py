"""Tension and pointer with all tolerances of a drive: by draws, and to first order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.parts import Belt, Drive
from twoturn.drive.path import FloatArray
from twoturn.errors import DomainError
from twoturn.mechanics.rest.balances import NoPlace
from twoturn.mechanics.rest.numbers import Numbers
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.setting.settling import Set, settle
from twoturn.mechanics.spread.cases import Cases, rest_of_cases
from twoturn.mechanics.spread.inputs import UncertainInput, uncertain_inputs
from twoturn.quantity.montecarlo import symmetric_interval

TEMPERATURE = ("drive", "", "temperature_c")
NOT_NEGATIVE = ("stiffness_n", "diameter_mm", "arm_mm", "adjuster_mm", "spring_nm", "spring_n", "ram_n", "ram_arm_mm")
STEP = 0.01


@dataclass(frozen=True)
class Spread:
    """What the tolerances leave of a rest position.

    Attributes
    ----------
    tension_n, tension_u_n, tension_interval_n
        Mean, standard deviation and 95 % interval of the tension [N].
    pointer, pointer_u, pointer_interval
        The same of the pointer [° or mm].
    kept
        Share of the draws that can be set at all [-]; the others (the notch out of reach, over dead centre) are not
        counted, since the belt was set.
    cases
        The draws themselves.
    """

    tension_n: float
    tension_u_n: float
    tension_interval_n: tuple[float, float]
    pointer: float
    pointer_u: float
    pointer_interval: tuple[float, float]
    kept: float
    cases: Cases


@dataclass(frozen=True)
class Sensitivity:
    """What one uncertain input does.

    Attributes
    ----------
    item
        The input.
    tension_n, pointer
        Change of tension [N] and pointer [° or mm] a unit of it.
    """

    item: UncertainInput
    tension_n: float
    pointer: float

    @property
    def tension_u_n(self) -> float:
        """Its part of the tension's standard uncertainty [N]."""
        return abs(self.tension_n) * self.item.u


def spread_of_rest(
    drive: Drive,
    belt: Belt,
    generator: np.random.Generator,
    *,
    warmer_k: float = 0.0,
    temperature_u_k: float = 0.0,
    draws: int = 100_000,
) -> Spread:
    """Tension and pointer of a belt with one tensioner, all its tolerances drawn.

    Parameters
    ----------
    drive, belt
        The drive and the belt.
    generator
        Source of random numbers.
    warmer_k, temperature_u_k
        Temperature above the reference temperature and its standard uncertainty [K].
    draws
        How many [-].

    Returns
    -------
    Spread
        Settings (adjuster on the notch, target, closure) are solved anew in every draw, as a fitter sets them.

    Raises
    ------
    DomainError
        No rest position with the numbers as written, or none in most draws.

    References
    ----------
    JCGM 101:2008, clause 7; normal distributions.
    """
    nominal = _nominal(drive, belt)
    inputs = uncertain_inputs(drive, belt, temperature_u_k)
    columns = {item.key: item.value + item.u * generator.standard_normal(draws) for item in inputs}
    cases = _solved(nominal, columns, warmer_k, draws)
    good = cases.good
    if good.mean() < 0.05:
        raise DomainError(
            f"with these tolerances the belt {belt.id} can be set in {good.mean():.0%} of the draws only",
            next_step="give the centres with smaller uncertainties, or close the belt at the notch",
        )
    tension, pointer = cases.tension_n[good], cases.pointer[good]
    return Spread(
        tension_n=float(tension.mean()),
        tension_u_n=float(tension.std(ddof=1)),
        tension_interval_n=symmetric_interval(tension),
        pointer=float(pointer.mean()),
        pointer_u=float(pointer.std(ddof=1)),
        pointer_interval=symmetric_interval(pointer),
        kept=float(good.mean()),
        cases=cases,
    )


def sensitivities(
    drive: Drive, belt: Belt, *, warmer_k: float = 0.0, temperature_u_k: float = 0.0
) -> list[Sensitivity]:
    """What every uncertain input does to tension and pointer, the greatest part of the tension's uncertainty first.

    Parameters
    ----------
    drive, belt
        The drive and the belt.
    warmer_k, temperature_u_k
        Temperature above the reference temperature and its standard uncertainty [K].

    Raises
    ------
    DomainError
        No rest position with the numbers as written.
    """
    nominal = _nominal(drive, belt)
    inputs = uncertain_inputs(drive, belt, temperature_u_k)
    count = len(inputs)
    push = np.concatenate([np.eye(count), -np.eye(count)])
    columns = {item.key: item.value + STEP * item.u * push[:, index] for index, item in enumerate(inputs)}
    cases = _solved(nominal, columns, warmer_k, 2 * count)
    answer = []
    for index, item in enumerate(inputs):
        ahead, behind = index, count + index
        both = 2 * STEP * item.u
        tension = float(cases.tension_n[ahead] - cases.tension_n[behind]) / both
        pointer = float(cases.pointer[ahead] - cases.pointer[behind]) / both
        answer.append(Sensitivity(item, tension, pointer))
    return sorted(answer, key=lambda row: -row.tension_u_n)


def _nominal(drive: Drive, belt: Belt) -> Set:
    if len(belt.tensioners) != 1 or not belt.has_coordinates or belt.table.stiffness_n is None:
        raise DomainError(
            f"the belt {belt.id} cannot be drawn", allowed="one tensioner, coordinates and stiffness_n of the belt"
        )
    found = settle(Stand(drive, belt, belt.tensioners[0]))
    if isinstance(found, NoPlace):
        raise DomainError(found.why)
    return found


def _solved(nominal: Set, columns: dict[tuple[str, str, str], FloatArray], warmer_k: float, count: int) -> Cases:
    columns = {
        key: np.maximum(values, 1e-3 * abs(float(np.median(values)))) if key[2] in NOT_NEGATIVE else values
        for key, values in columns.items()
    }
    shift = columns.pop(TEMPERATURE, None)
    return rest_of_cases(nominal, Numbers(columns), warmer_k if shift is None else warmer_k + shift, count)
