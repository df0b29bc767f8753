"""Reading a digital calibration certificate (DCC) of a torque tool."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from xml.etree.ElementTree import Element

from twoturn.fastener.certificate.model import CertificateError, Point, TorqueCertificate
from twoturn.fastener.certificate.points import points_of
from twoturn.fastener.certificate.values import numbers_of
from twoturn.fastener.certificate.xml import (
    ASK,
    DCC,
    MOST_BYTES,
    SIGNATURE,
    every,
    read_xml,
    text_of,
    types_of,
    words_of,
)

ROOT = f"{DCC}digitalCalibrationCertificate"
BY_HAND = "enter the tool's range and calibration date by hand"
SERIAL = ("serial", "serien")


def read_certificate(source: bytes | Path, name: str = "") -> TorqueCertificate:
    """Read a calibration certificate.

    Parameters
    ----------
    source
        The file's bytes, or where it is.
    name
        Its name, for the error sentences; the path's own when empty.

    Returns
    -------
    TorqueCertificate
        What it says, with sentences on what is missing or at odds.

    Raises
    ------
    CertificateError
        Not to be opened, not XML, hostile, no certificate of this schema, of several items, of no torque tool, or
        without a date.

    References
    ----------
    Digital Calibration Certificate (DCC), XML schema 2 and 3, and Digital System of Units (D-SI), both of the
    Physikalisch-Technische Bundesanstalt; types of its "good practice" certificates (``basic_…``).
    """
    name = name or (source.name if isinstance(source, Path) else "this file")
    root = read_xml(source if isinstance(source, bytes) else _bytes(source), name)
    if root.tag != ROOT:
        raise CertificateError(f"{name} is XML, but no digital calibration certificate", next_step=ASK)
    head = root.find(f"{DCC}administrativeData")
    item = _item(head, name)
    points, odd = points_of(root.find(f"{DCC}measurementResults"))
    stated = _stated_range(root)
    if not points and stated is None:
        told = words_of(item.find(f"{DCC}name")) or "something else"
        raise CertificateError(
            f"{name} is the certificate of: {told}; it holds no torque in N·m, so that it is no torque tool's",
            next_step=BY_HAND,
        )
    low, high = stated or _compared(points)
    core = None if head is None else head.find(f"{DCC}coreData")
    signed = root.find(f".//{SIGNATURE}") is not None
    return TorqueCertificate(
        number=text_of(core, f"{DCC}uniqueIdentifier"),
        laboratory=words_of(None if head is None else head.find(f"{DCC}calibrationLaboratory/{DCC}contact/{DCC}name")),
        calibrated=_calibrated(core, name),
        valid_until=_recalibration(root),
        item=words_of(item.find(f"{DCC}name")),
        manufacturer=words_of(item.find(f"{DCC}manufacturer/{DCC}name")),
        model=text_of(item, f"{DCC}model"),
        serial=_serial(item),
        low_nm=low,
        high_nm=high,
        range_stated=stated is not None,
        points=points,
        norms=_norms(root),
        conformity=_conformity(root),
        signed=signed,
        schema_version=root.get("schemaVersion", "")[:20],
        doubts=(*odd, *_doubts(points, stated is not None, signed)),
    )


def _bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as opened:
            return opened.read(MOST_BYTES + 1)
    except OSError as error:
        raise CertificateError(f"{path} cannot be opened: {error.strerror or error}") from error


def _item(head: Element | None, name: str) -> Element:
    """The one item that was calibrated."""
    items = [] if head is None else head.findall(f"{DCC}items/{DCC}item")
    if not items:
        raise CertificateError(f"{name} does not say what was calibrated", next_step=BY_HAND)
    if len(items) > 1:
        names = "; ".join(" ".join(filter(None, (words_of(one.find(f"{DCC}name")), _serial(one)))) for one in items[:5])
        raise CertificateError(
            f"{name} is a certificate of {len(items)} items ({names})",
            allowed="one torque tool a certificate",
            next_step=f"ask the laboratory for one each, or {BY_HAND}",
        )
    return items[0]


def _serial(item: Element) -> str:
    """The serial number: what is called so, else the maker's number, else the first number there is."""
    numbers = item.findall(f"{DCC}identifications/{DCC}identification")
    called = [
        one
        for one in numbers
        if any("serial" in word for word in types_of(one))
        or any((text_of(content).lower()).startswith(SERIAL) for content in one.findall(f"{DCC}name/{DCC}content"))
    ]
    maker = [one for one in numbers if text_of(one, f"{DCC}issuer") == "manufacturer"]
    return next((text for one in [*called, *maker, *numbers] if (text := text_of(one, f"{DCC}value"))), "")


def _calibrated(core: Element | None, name: str) -> date:
    found = _day(text_of(core, f"{DCC}endPerformanceDate")) or _day(text_of(core, f"{DCC}beginPerformanceDate"))
    if found is None:
        raise CertificateError(f"{name} does not say when the tool was calibrated", next_step=BY_HAND)
    return found


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None


def _statements(root: Element, word: str) -> list[Element]:
    return [
        one
        for tag in ("statement", "metaData")
        for one in every(root, f"{DCC}{tag}")
        if any(kind == word for kind in types_of(one))
    ]


def _recalibration(root: Element) -> date | None:
    days = [_day(text_of(one, f"{DCC}date")) for one in _statements(root, "recalibration")]
    return min((day for day in days if day is not None), default=None)


def _stated_range(root: Element) -> tuple[float, float] | None:
    """The range the certificate states [N·m]; None where it states none of torques."""
    ends: dict[str, float] = {}
    for quantity in every(root, f"{DCC}quantity"):
        for end in ("min", "max"):
            if types_of(quantity) & {f"validityrange{end}", f"measuringrange{end}", f"range{end}"}:
                torques = [n.torque_nm for n in numbers_of(quantity) if n.torque_nm is not None and n.torque_nm > 0]
                if torques:
                    ends[end] = torques[0]
    if len(ends) == 2 and ends["min"] < ends["max"]:
        return ends["min"], ends["max"]
    return None


def _compared(points: tuple[Point, ...]) -> tuple[float, float]:
    """Lowest and highest torque that was compared [N·m]; of one alone, from a fifth of it."""
    torques = [point.set_nm for point in points]
    low, high = min(torques), max(torques)
    return (low, high) if low < high else (high / 5, high)


def _norms(root: Element) -> tuple[str, ...]:
    found = (text_of(norm) for method in every(root, f"{DCC}usedMethod") for norm in method.iter(f"{DCC}norm"))
    return tuple(dict.fromkeys(text for text in found if text))[:10]


def _conformity(root: Element) -> str:
    said = [word for one in every(root, f"{DCC}conformity") if (word := text_of(one))]
    said += [word for one in every(root, f"{DCC}conformityXMLList") for word in text_of(one).split()]
    return next((word for word in said if word != "pass"), said[0] if said else "")


def _doubts(points: tuple[Point, ...], stated: bool, signed: bool) -> tuple[str, ...]:
    """What a reader should know that the certificate does not hold."""
    said = []
    after = [point for point in points if not point.before_adjustment]
    if not after:
        said.append("It holds no torque compared after adjustment.")
    if not stated and after:
        said.append("It does not state the range; it was taken from the torques that were compared.")
    if after and all(point.deviation is None for point in after):
        said.append("It states no deviation.")
    if after and all(point.expanded is None for point in after):
        said.append("It states no uncertainty.")
    said.append("Its signature was not verified." if signed else "It carries no electronic signature.")
    return tuple(said)
