"""The drawer of torque tools: what they reach, and until when their calibration holds."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import IO, TYPE_CHECKING

from twoturn.acts.shop.forms import FormReader, one_of, past_day
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.shop import Shop
from twoturn.acts.understood import Wanted, number_of
from twoturn.errors import TwoTurnError
from twoturn.fastener.torque_tools import CALIBRATION_MONTHS, TOOL_KINDS
from twoturn.job.asked.model import Units
from twoturn.store.faults import NotFound
from twoturn.store.files import keep_file, path_of
from twoturn.store.records import evidence
from twoturn.store.records import tools as kept
from twoturn.store.records.rows import lock_name

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from twoturn.fastener.certificate.model import TorqueCertificate

TYPES = ("torque wrench", "torque screwdriver", "angle gauge", "other")
MOST_NM = 5000.0
MOST_CERTIFICATE_BYTES = 20_000_000
SOON_DAYS = 30
_NUMBER = re.compile(r"[0-9]{1,9}")
MEDIA_TYPES = {"pdf": "application/pdf", "xml": "application/xml", "jpg": "image/jpeg", "png": "image/png"}


@dataclass(frozen=True)
class ToolLine:
    """A tool in the drawer.

    Attributes
    ----------
    tool
        The tool.
    calibrations
        Its calibrations, newest first.
    until
        Last day on which the newest holds, None without one.
    state
        ``holds``, ``soon`` (it ends within 30 days), ``ended`` or ``none``.
    """

    tool: kept.Tool
    calibrations: tuple[kept.Calibration, ...]
    until: date | None
    state: str


@dataclass(frozen=True)
class ReadCertificate:
    """A calibration certificate that was kept.

    Attributes
    ----------
    sha256, name
        SHA-256 and name of the file.
    certificate
        What it says; None for a paper one (PDF or photo), which people read.
    months
        For how long it says it holds [months]; None where it does not say.
    """

    sha256: str
    name: str
    certificate: TorqueCertificate | None
    months: int | None = None


@dataclass(frozen=True)
class Paper:
    """A file that somebody sends: open for reading in binary, and its name on the sender's device."""

    stream: IO[bytes]
    name: str


@dataclass(frozen=True)
class CertificateFile:
    """The file of a certificate: where it is, its name and media type."""

    path: Path
    name: str
    media_type: str


def tools_page(shop: Shop) -> tuple[ToolLine, ...]:
    """Every tool, those in use first, by name."""
    today = shop.now().astimezone().date()
    with shop.reading() as connection:
        found = [(tool, kept.calibrations(connection, tool.id)) for tool in kept.tools(connection)]
    lines = [_line(tool, done, today) for tool, done in found]
    return tuple(sorted(lines, key=lambda line: not line.tool.active))


def tool_page(shop: Shop, tool_id: int) -> ToolLine:
    """One tool with its calibrations.

    Raises
    ------
    NotFound
        There is no such tool.
    """
    with shop.reading() as connection:
        tool = kept.tool(connection, tool_id)
        done = kept.calibrations(connection, tool_id)
    return _line(tool, done, shop.now().astimezone().date())


def save_tool(
    shop: Shop, actor: Actor, texts: Mapping[str, str], tool_id: int | None = None, units: Units | None = None
) -> kept.Tool:
    """Keep a tool as a form says.

    Parameters
    ----------
    shop, actor
        The record, and who writes: a technician or a lead.
    texts
        What was typed: ``name``, ``type``, ``class``, ``low``, ``high``, ``number``, ``active``.
    tool_id
        The tool to change; None for a new one.
    units
        Units of the person.

    Raises
    ------
    NotAllowed, NotFound, FormRefused
        The role is too low; no such tool; fields that cannot be.
    """
    allow(actor, "tools")
    form = FormReader(texts)
    tool = _read_tool(form, tool_id or 0, units or Units())
    form.settle()
    with shop.writing() as connection:
        _check_name(connection, form, tool)
        if tool_id is None:
            return kept.add(connection, tool)
        kept.change(connection, tool)
        return tool


def _named(connection: Connection, name: str) -> kept.Tool | None:
    """The tool of a name, however it is written; no other can come meanwhile."""
    lock_name(connection, f"torque tool {name.casefold()}")
    return next((one for one in kept.tools(connection) if one.name.casefold() == name.casefold()), None)


def _check_name(connection: Connection, form: FormReader, tool: kept.Tool) -> None:
    same = _named(connection, tool.name)
    if same is not None and same.id != tool.id:
        form.refuse("name", f'There is a tool of the name "{tool.name}" already; entries tell tools by it.')
        form.settle()


def torque_wanted(units: Units) -> Wanted:
    """What number a field for an end of a range wants."""
    return Wanted(units.torque, 0.01, MOST_NM if units.torque == "N·m" else MOST_NM / 1.3558)


def _read_tool(form: FormReader, tool_id: int, units: Units) -> kept.Tool:
    form.needed("name", "A tool is told by its name, such as A; paint it on the grip.")
    wanted = torque_wanted(units)
    low = form.read("low", lambda text: number_of(text, wanted, "N·m"))
    high = form.read("high", lambda text: number_of(text, wanted, "N·m"))
    if low is not None and high is not None and low >= high:
        form.refuse("high", f"A range from {low:g} to {high:g} N·m is upside down.")
    return kept.Tool(
        id=tool_id,
        name=form.text("name", 40) or "",
        type=form.read("type", one_of(*TYPES)) or TYPES[0],
        class_=form.read("class", one_of(*TOOL_KINDS)),
        low_nm=low,
        high_nm=high,
        number=form.text("number", 60),
        active=form.read("active", one_of("yes", "no")) != "no",
    )


def read_certificate(shop: Shop, actor: Actor, stream: IO[bytes], name: str) -> ReadCertificate:
    """Keep a calibration certificate, and read it where it is a digital one; slow, so call it in a thread.

    Parameters
    ----------
    shop, actor
        The record, and who sends it: a technician or a lead.
    stream
        The file, open for reading in binary.
    name
        Its name on the sender's device.

    Raises
    ------
    NotAllowed
        The role is too low.
    CertificateError, StoreError
        XML that is no certificate of a torque tool; too large.
    """
    from twoturn.acts.shop.evidence import plain_name
    from twoturn.fastener.certificate.read import read_certificate as read

    allow(actor, "tools")
    plain = plain_name(name, "certificate")
    kind = plain.rpartition(".")[2].replace("jpeg", "jpg")
    if kind not in MEDIA_TYPES:
        raise TwoTurnError(f"{plain} is no certificate", allowed=", ".join(MEDIA_TYPES))
    content = stream.read(MOST_CERTIFICATE_BYTES + 1)
    found = read(content, plain) if kind == "xml" and len(content) <= MOST_CERTIFICATE_BYTES else None
    filed = keep_file(shop.place, io.BytesIO(content), MOST_CERTIFICATE_BYTES)
    if filed.size == 0:
        raise TwoTurnError(f"{plain} is empty", next_step="choose another file")
    with shop.writing() as connection:
        new = evidence.Evidence(filed.sha256, filed.size, MEDIA_TYPES[kind], plain, actor.name, shop.now())
        evidence.add(connection, new)
    return ReadCertificate(filed.sha256, plain, found, _months(found))


def add_calibration(
    shop: Shop, actor: Actor, tool_id: int, texts: Mapping[str, str], paper: Paper | None = None
) -> kept.Calibration:
    """One more calibration of a tool; one that it has already, just the same, is not added twice.

    Parameters
    ----------
    shop, actor
        The record, and who writes: a technician or a lead.
    tool_id
        The tool.
    texts
        What was typed: ``on``, ``months``, ``source``, ``certificate`` (SHA-256 of a file kept before). What a digital
        certificate says itself need not be typed.
    paper
        The certificate's file, None without.

    Raises
    ------
    NotAllowed, NotFound, FormRefused
        The role is too low; no such tool or file; fields that cannot be.
    CertificateError, StoreError
        As :func:`read_certificate`.
    """
    allow(actor, "tools")
    typed = {name: text for name, text in texts.items() if text.strip()}
    if paper is not None:
        typed = certificate_texts(read_certificate(shop, actor, paper.stream, paper.name)) | typed
    new = _read_calibration(shop, typed, tool_id)
    with shop.writing() as connection:
        _calibrated(connection, kept.tool(connection, tool_id), new)
    return new


def _calibrated(connection: Connection, tool: kept.Tool, new: kept.Calibration) -> None:
    """Add a calibration that the tool does not have yet."""
    lock_name(connection, f"calibrations of torque tool {tool.id}")
    if new.certificate is not None and evidence.evidence(connection, new.certificate) is None:
        raise NotFound("the certificate's file is not in the record", next_step="send it again")
    if new not in kept.calibrations(connection, tool.id):
        kept.add_calibration(connection, new)


def keep_certified(shop: Shop, actor: Actor, texts: Mapping[str, str], units: Units | None = None) -> kept.Tool:
    """Keep what a certificate says: as calibration of the tool numbered ``tool``, or of a new one where that is empty.

    The tool and its calibration are kept together or not at all; the same sent once more changes nothing.

    Raises
    ------
    NotAllowed, NotFound, FormRefused
        As :func:`save_tool` and :func:`add_calibration`.
    """
    allow(actor, "tools")
    new = _read_calibration(shop, texts, 0)
    chosen, form = texts.get("tool", ""), FormReader(texts)
    wanted = None if chosen else _read_tool(form, 0, units or Units())
    form.settle()
    with shop.writing() as connection:
        if wanted is None:
            tool = kept.tool(connection, int(chosen) if _NUMBER.fullmatch(chosen) else 0)
        else:
            tool = _of_before(connection, wanted, new) or _added(connection, form, wanted)
        _calibrated(connection, tool, replace(new, tool_id=tool.id))
    return tool


def _of_before(connection: Connection, wanted: kept.Tool, new: kept.Calibration) -> kept.Tool | None:
    """The tool that the same certificate has made before."""
    same = _named(connection, wanted.name)
    if same is None or new.certificate is None:
        return None
    return same if replace(new, tool_id=same.id) in kept.calibrations(connection, same.id) else None


def _added(connection: Connection, form: FormReader, wanted: kept.Tool) -> kept.Tool:
    _check_name(connection, form, wanted)
    return kept.add(connection, wanted)


def certificate_texts(read: ReadCertificate) -> dict[str, str]:
    """What a certificate says, as the fields of forms hold it; only its file's SHA-256 for a paper one."""
    found = read.certificate
    if found is None:
        return {"certificate": read.sha256}
    said = {
        "certificate": read.sha256,
        "on": found.calibrated.isoformat(),
        "months": "" if read.months is None else str(read.months),
        "source": ", ".join(part for part in (found.laboratory, found.number) if part)[:120],
        "low": f"{found.low_nm:g} N·m",
        "high": f"{found.high_nm:g} N·m",
        "number": " ".join(part for part in (found.manufacturer, found.model, found.serial) if part)[:60],
    }
    return {name: text for name, text in said.items() if text}


def _read_calibration(shop: Shop, texts: Mapping[str, str], tool_id: int) -> kept.Calibration:
    form = FormReader(texts)
    form.needed("on", "Type the day of the calibration, as the certificate says.")
    on = form.read("on", past_day(shop.now().astimezone().date()))
    months = form.read("months", lambda text: int(number_of(text, Wanted("-", 1, 60, whole=True), "-")))
    source = form.text("source", 120)
    form.settle()
    certificate = texts.get("certificate", "").strip() or None
    return kept.Calibration(tool_id, on or date.min, months or CALIBRATION_MONTHS, certificate, source)


def certificate_file(shop: Shop, tool_id: int, sha256: str) -> CertificateFile:
    """The file of a tool's certificate.

    Raises
    ------
    NotFound
        The tool has no such certificate, or its file is gone.
    """
    with shop.reading() as connection:
        named = any(one.certificate == sha256 for one in kept.calibrations(connection, tool_id))
        noted = evidence.evidence(connection, sha256) if named else None
    if noted is None or not path_of(shop.place, sha256).is_file():
        raise NotFound("this tool has no such certificate", next_step="choose one from the tool's page")
    return CertificateFile(path_of(shop.place, sha256), noted.first_name, noted.media_type)


def _line(tool: kept.Tool, done: tuple[kept.Calibration, ...], today: date) -> ToolLine:
    last = done[-1] if done else None
    if last is None:
        return ToolLine(tool, (), None, "none")
    until = months_after(last.on, last.valid_months or CALIBRATION_MONTHS)
    days = (until - today).days
    state = "ended" if days < 0 else "soon" if days <= SOON_DAYS else "holds"
    return ToolLine(tool, tuple(reversed(done)), until, state)


def months_after(day: date, months: int) -> date:
    """The same day so many months later, or the month's last."""
    month = day.month - 1 + months
    year, month = day.year + month // 12, month % 12 + 1
    last = (date(year + month // 12, month % 12 + 1, 1) - date.resolution).day
    return date(year, month, min(day.day, last))


def _months(found: TorqueCertificate | None) -> int | None:
    """Whole months from the calibration to the day the certificate names, give or take one; None without."""
    if found is None or found.valid_until is None:
        return None
    on, until = found.calibrated, found.valid_until
    months = (until.year - on.year) * 12 + until.month - on.month
    return max(1, min(60, months - (months_after(on, months) > until + date.resolution)))
