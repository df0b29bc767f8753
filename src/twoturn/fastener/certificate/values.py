"""Numbers of a certificate with their units and uncertainties, from every shape the schema has for them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from twoturn.fastener.certificate.units import share, torque_nm
from twoturn.fastener.certificate.xml import SI, text_of

MOST_VALUES = 2000
UNCERTAINTIES = (
    ("expandedUnc", "uncertainty"),  # D-SI 1 and 2.0
    ("measurementUncertaintyUnivariate", "valueExpandedMU"),  # D-SI 2.1 and later
)


@dataclass(frozen=True)
class Number:
    """One number of a certificate.

    Attributes
    ----------
    value
        As written [unit].
    unit
        As the Digital System of Units writes it.
    expanded
        Expanded uncertainty [unit]; None where not stated.
    coverage
        Coverage factor k [-]; None where not stated.
    """

    value: float
    unit: str
    expanded: float | None = None
    coverage: float | None = None

    @property
    def torque_nm(self) -> float | None:
        """As a torque [N·m]; None where it is none."""
        return torque_nm(self.value, self.unit)

    @property
    def share(self) -> float | None:
        """As a share [-]; None where it is none."""
        return share(self.value, self.unit)


def numbers_of(quantity: Element) -> list[Number]:
    """The numbers of one quantity, in order; of a value told in several units, those of a torque."""
    told = [list(_shape(shape)) for shape in _shapes(quantity)]
    torques = [numbers for numbers in told if any(number.torque_nm is not None for number in numbers)]
    return (torques or told or [[]])[0][:MOST_VALUES]


def _shapes(quantity: Element) -> Iterator[Element]:
    """The elements that hold a quantity's numbers; those of a hybrid one after the other."""
    for child in quantity:
        if child.tag == f"{SI}hybrid":
            yield from child
        elif child.tag.startswith(SI):
            yield child


def _shape(shape: Element) -> Iterator[Number]:
    if shape.tag in (f"{SI}real", f"{SI}constant"):
        expanded, coverage = _uncertainty(shape, "")
        value = _first(_floats(text_of(shape, f"{SI}value")))
        if value is not None:
            yield Number(value, text_of(shape, f"{SI}unit"), _first(expanded), _first(coverage))
    elif shape.tag == f"{SI}list":
        for real in shape.findall(f"{SI}real"):
            yield from _shape(real)
    elif shape.tag == f"{SI}realListXMLList":
        values = _floats(_whole(shape, "valueXMLList"))
        units = _whole(shape, "unitXMLList").split()
        expanded, coverage = _uncertainty(shape, "XMLList")
        for at, value in enumerate(values):
            if value is not None and units:
                yield Number(value, units[min(at, len(units) - 1)], _at(expanded, at), _at(coverage, at))


def _uncertainty(shape: Element, ending: str) -> tuple[list[float | None], list[float | None]]:
    """Expanded uncertainties [unit] and coverage factors [-]; empty where not stated."""
    for outer, inner in UNCERTAINTIES:
        found = shape.find(f"{SI}{outer}{ending}")
        if found is not None:
            expanded = next(iter(found.iter(f"{SI}{inner}{ending}")), None)
            factor = next(iter(found.iter(f"{SI}coverageFactor{ending}")), None)
            return _floats(_text(expanded)), _floats(_text(factor))
    return [], []


def _whole(shape: Element, name: str) -> str:
    return _text(shape.find(f"{SI}{name}"))


def _text(element: Element | None) -> str:
    return "" if element is None else (element.text or "")


def _floats(text: str) -> list[float | None]:
    """Numbers as XML schema writes them, at most as many as are read; None for what is none."""
    return [_float(word) for word in text.split()[:MOST_VALUES]]


def _float(word: str) -> float | None:
    try:
        value = float(word)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _first(values: list[float | None]) -> float | None:
    return values[0] if values else None


def _at(values: list[float | None], place: int) -> float | None:
    """The value at a place; one alone stands for all."""
    if len(values) == 1:
        return values[0]
    return values[place] if place < len(values) else None
