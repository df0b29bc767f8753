"""The torques of a certificate: what was set, what the reference measured, the deviation and its uncertainty."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from twoturn.fastener.certificate.model import Point
from twoturn.fastener.certificate.values import Number, numbers_of
from twoturn.fastener.certificate.xml import DCC, every, types_of

SET = ("nominalvalue", "setvalue", "indicatedvalue", "calibrationvalue", "measuredvalue")
"""What the tool was set to or showed, best first; "measured value" is the tool's beside a reference value."""
REFERENCE = ("referencevalue",)
DEVIATION = ("measurementerror", "measurementerror_error", "measurementdeviation", "relativemeasurementerror")
AT_ODDS = 0.002
"""A stated deviation this far [-] from the computed one is more than rounding."""


def points_of(results: Element | None) -> tuple[tuple[Point, ...], tuple[str, ...]]:
    """Every torque of a certificate's results, and sentences on what is at odds."""
    points: list[Point] = []
    doubts: list[str] = []
    for result in every(results, f"{DCC}result"):
        before = any("before" in word and "adjust" in word for word in types_of(result))
        for group in _groups(result):
            for point, doubt in _points(group):
                points.append(Point(**{**vars(point), "before_adjustment": before}))
                doubts += [doubt] if doubt and doubt not in doubts else []
    return tuple(points), tuple(doubts)


def _groups(result: Element) -> Iterator[list[Element]]:
    """The quantities of a result that belong together: those of one list or of the result itself."""
    for data in result.findall(f"{DCC}data"):
        yield data.findall(f"{DCC}quantity")
        for one in data.iter(f"{DCC}list"):
            yield one.findall(f"{DCC}quantity")


def _points(group: list[Element]) -> Iterator[tuple[Point, str]]:
    roles = {word: quantity for quantity in group for word in types_of(quantity)}
    reference = _role(roles, REFERENCE)
    names = SET if reference else SET[:-1]
    shown = _role(roles, names)
    if not reference and shown:
        reference = _role(roles, SET[-1:])  # what was measured while the tool was set
    if not shown and not reference:
        shown = _untyped(group)
    deviation = _role(roles, DEVIATION)
    for at in range(max(len(shown), len(reference))):
        point = _point(_number(shown, at), _number(reference, at), _number(deviation, at))
        if point is not None:
            yield point


def _untyped(group: list[Element]) -> list[Number]:
    """The first torques of a group whose quantities do not say what they are."""
    for quantity in group:
        numbers = numbers_of(quantity)
        if not quantity.get("refType") and any(number.torque_nm is not None for number in numbers):
            return numbers
    return []


def _role(roles: dict[str, Element], names: tuple[str, ...]) -> list[Number]:
    return next((numbers_of(roles[name]) for name in names if name in roles), [])


def _number(numbers: list[Number], at: int) -> Number | None:
    return numbers[at] if at < len(numbers) else None


def _point(shown: Number | None, reference: Number | None, told: Number | None) -> tuple[Point, str] | None:
    """One point and what is at odds in it; None where it holds no torque above 0."""
    set_nm = shown.torque_nm if shown else None
    reference_nm = reference.torque_nm if reference else None
    base = reference_nm or set_nm
    if base is None or base <= 0:
        return None
    computed = None if set_nm is None or not reference_nm else (set_nm - reference_nm) / reference_nm
    stated, expanded, coverage = _stated(told, base)
    doubt = ""
    if stated is not None and computed is not None and abs(stated - computed) > AT_ODDS:
        doubt = (
            f"At {base:g} N·m the certificate states a deviation of {100 * stated:.1f} %, and its torques give "
            f"{100 * computed:.1f} %."
        )
    if expanded is None:
        expanded, coverage = _from_torque(reference or shown, base)
    found = stated if computed is None else computed
    return Point(set_nm if set_nm is not None else base, reference_nm, found, expanded, coverage), doubt


def _stated(told: Number | None, base: float) -> tuple[float | None, float | None, float | None]:
    """Deviation and its expanded uncertainty as shares [-], and k [-], of a number in per cent or in N·m."""
    if told is None:
        return None, None, None
    as_share = told.share
    factor = as_share / told.value if as_share is not None and told.value else None
    if as_share is None:
        torque = told.torque_nm
        if torque is None:
            return None, None, None
        as_share = torque / base
    if factor is None:
        unit = Number(1.0, told.unit)
        one = unit.share if unit.share is not None else (unit.torque_nm or 0.0) / base
        factor = one
    return as_share, None if told.expanded is None else told.expanded * factor, told.coverage


def _from_torque(number: Number | None, base: float) -> tuple[float | None, float | None]:
    """Expanded uncertainty of a torque as a share [-] of it, and k [-]."""
    if number is None or number.expanded is None:
        return None, None
    size = Number(number.expanded, number.unit).torque_nm
    return (None if size is None else size / base), number.coverage
