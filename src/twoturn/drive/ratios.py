"""Exact ratios of every shaft, along belts and links from the crankshaft."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming

TOLERATED = 0.006


@dataclass(frozen=True)
class _Step:
    """One way a shaft's turning follows from another's: ratio(to) = ratio(of)·factor."""

    of: str
    to: str
    factor: Fraction
    path: tuple[str | int, ...]
    words: str


def is_inside(file: DriveFile, index: int) -> bool:
    """Whether the belt's toothed side touches the pulley; smooth pulleys that say nothing run under the back."""
    pulley = file.pulley[index]
    return pulley.belt_side == "teeth" if pulley.belt_side else pulley.teeth is not None


def settle_ratios(file: DriveFile, names: Naming, faults: FaultList) -> dict[str, Fraction | None]:
    """Turns per crank turn of every shaft.

    Parameters
    ----------
    file
        The drive file as written.
    names
        Its names, settled.
    faults
        Where contradictions, belts that nothing drives and wrong stated ratios are collected.

    Returns
    -------
    dict
        Ratio [-] by shaft id, exact, negative against the crankshaft; None for what turns only by a smooth pulley.

    Notes
    -----
    A toothed pulley of z teeth on a belt driven by z₀ teeth turns z₀/z times its driver, the other way when one of
    the two sits under the back of the belt. Chain links keep the sense, gears reverse it.
    """
    ratios: dict[str, Fraction] = {
        shaft: Fraction(1) for shaft in names.shaft_ids if names.shaft_roles[shaft] == "crankshaft"
    }
    _spread(ratios, _steps(file, names), faults)
    stated = _stated(file, names)
    for shaft, (value, _) in stated.items():
        if shaft not in ratios:
            ratios[shaft] = Fraction(str(value)).limit_denominator(400)
    _spread(ratios, _steps(file, names), faults)
    _check_stated(file, names, ratios, faults)
    _check_reached(file, names, ratios, faults)
    return {shaft: ratios.get(shaft) for shaft in names.shaft_ids}


def _steps(file: DriveFile, names: Naming) -> list[_Step]:
    steps = []
    for belt in names.belt_ids:
        pulleys = names.pulleys_on(belt)
        first = pulleys[0] if pulleys else -1
        driver_teeth = file.pulley[first].teeth if pulleys else None
        for index in pulleys[1:]:
            teeth = file.pulley[index].teeth
            if driver_teeth is None or teeth is None:
                continue
            sign = 1 if is_inside(file, index) == is_inside(file, first) else -1
            factor = Fraction(sign * driver_teeth, teeth)
            path = ("pulley", index, "teeth")
            steps.append(_Step(names.shaft_of[first], names.shaft_of[index], factor, path, f'the belt "{belt}"'))
    for index, link in enumerate(file.link):
        factor = Fraction(link.teeth_from, link.teeth_to) * (-1 if link.kind == "gears" else 1)
        path = ("link", index, "teeth_to")
        steps.append(_Step(link.from_, link.to, factor, path, f"link[{index + 1}]"))
        steps.append(_Step(link.to, link.from_, 1 / factor, path, f"link[{index + 1}]"))
    return steps


def _spread(ratios: dict[str, Fraction], steps: list[_Step], faults: FaultList) -> None:
    """Follow the steps until no further shaft is reached, then compare every step with what was found."""
    news = True
    while news:
        news = False
        for step in steps:
            if step.of in ratios and step.to not in ratios:
                ratios[step.to] = ratios[step.of] * step.factor
                news = True
    for step in steps:
        if step.of in ratios and ratios[step.to] != ratios[step.of] * step.factor:
            found = f"a ratio of {ratios[step.of] * step.factor} for {step.to} by {step.words}"
            faults.refuse("ratio-two-ways", step.path, found, other=f"another way makes it {ratios[step.to]}")
            return


def _stated(file: DriveFile, names: Naming) -> dict[str, tuple[float, tuple[str | int, ...]]]:
    stated: dict[str, tuple[float, tuple[str | int, ...]]] = {}
    for index, shaft in enumerate(file.shaft):
        if shaft.ratio is not None:
            stated.setdefault(shaft.id, (shaft.ratio, ("shaft", index, "ratio")))
    for index, pulley in enumerate(file.pulley):
        if pulley.ratio is not None:
            stated.setdefault(names.shaft_of[index], (pulley.ratio, ("pulley", index, "ratio")))
    return stated


def _check_stated(file: DriveFile, names: Naming, ratios: dict[str, Fraction], faults: FaultList) -> None:
    given = [(row.id, row.ratio, ("shaft", index)) for index, row in enumerate(file.shaft)]
    given += [(names.shaft_of[index], row.ratio, ("pulley", index)) for index, row in enumerate(file.pulley)]
    for shaft, value, path in given:
        if value is None or shaft not in ratios:
            continue
        if not agrees(value, ratios[shaft]):
            ratio = ratios[shaft]
            text = str(ratio) if ratio.denominator == 1 else f"{ratio} = {float(ratio):.4g}"
            faults.refuse("ratio-contradicts", (*path, "ratio"), shown(value), ratio=text)


def agrees(stated: float, ratio: Fraction) -> bool:
    """Whether a ratio written in a file agrees with the exact one.

    Parameters
    ----------
    stated
        The number written [-]; its sign is compared only where it is negative.
    ratio
        The exact ratio [-].

    Returns
    -------
    bool
        True within half of the last digit written, at most 0.6 % (one tooth of 160).
    """
    if stated == 0 or (stated < 0 < ratio):
        return False
    digits = str(abs(stated)).partition(".")[2]
    half_digit = 0.5 * 10.0 ** -(len(digits) if "e" not in digits else 0)
    size = abs(float(ratio))
    return abs(abs(stated) - size) <= min(half_digit, TOLERATED * size) + 1e-9


def _check_reached(file: DriveFile, names: Naming, ratios: dict[str, Fraction], faults: FaultList) -> None:
    for belt in names.belt_ids:
        pulleys = names.pulleys_on(belt)
        if pulleys and names.shaft_of[pulleys[0]] not in ratios:
            found = shown(file.pulley[pulleys[0]].id)
            faults.refuse("driver-unreached", ("pulley", pulleys[0], "id"), found)
    carried = {*names.shaft_of, *(link.to for link in file.link), *(link.from_ for link in file.link)}
    for index, shaft in enumerate(file.shaft):
        if shaft.id not in carried and shaft.id not in ratios:
            faults.refuse("shaft-empty", ("shaft", index, "id"), shown(shaft.id))
