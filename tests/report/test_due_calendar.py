"""The calendar file, held to RFC 5545 by a strict reader of its own; sections are named beside each rule."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.report.handed import FACTS, WHEN, of_rows, shipped

from twoturn.errors import TwoTurnError
from twoturn.report.due_calendar import due_calendar
from twoturn.report.handed_over import HandedOver

FITTED = {"kind": "belt fitted", "teeth": 109, "entered": "2026-03-02T12:00:00", "by": "Ida Brook"}
NAME = re.compile(r"[A-Za-z0-9-]+\Z")
TEXT = re.compile(r"(?:[^\\;,\x00-\x1f\x7f]|\\[\\;,nN])*\Z")
ONCE = {"UID", "DTSTAMP", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "TRANSP"}

Line = tuple[str, dict[str, str], str]


def read(data: bytes) -> list[Line]:
    """Content lines: name, parameters, value."""
    assert data.endswith(b"\r\n")
    raw = data[:-2].split(b"\r\n")
    for line in raw:
        assert len(line) <= 75, "3.1: lines should not be longer than 75 octets, without the line break"
        assert b"\r" not in line, "3.1: lines end with CRLF alone"
        assert b"\n" not in line, "3.1: lines end with CRLF alone"
        line.decode("utf-8")  # 3.1.4: UTF-8; a fold must not cut a character here
    unfolded = re.sub(rb"\r\n[ \t]", b"", data).decode("utf-8")  # 3.1: a fold is CRLF and one blank or tab
    return [_line(line) for line in unfolded.removesuffix("\r\n").split("\r\n")]


def _line(line: str) -> Line:
    head, colon, value = line.partition(":")  # no parameter here has a quoted value, so the first colon divides
    name, *given = head.split(";")
    assert colon, f"3.1: contentline = name *(;param) : value, found {line!r}"
    assert NAME.match(name), f"3.1: {name!r} is no name"
    assert not re.search(r"[\x00-\x08\x0a-\x1f\x7f]", value), "3.1: no control characters in a value"
    parameters = dict(one.split("=", 1) for one in given)
    return name, parameters, value


def component(lines: list[Line], kind: str) -> dict[str, Line]:
    """The one component of a kind, without those inside it; each property once."""
    values = [value for name, _, value in lines if name == "BEGIN"]
    assert values.count(kind) == 1
    start = lines.index(("BEGIN", {}, kind))
    end = lines.index(("END", {}, kind))
    found: dict[str, Line] = {}
    depth = 0
    for line in lines[start + 1 : end]:
        depth += line[0] == "BEGIN"
        if depth == 0:
            assert line[0] not in found, f"3.6.1: {line[0]} must not occur more than once"
            found[line[0]] = line
        depth -= line[0] == "END"
    assert depth == 0, "3.6: components are closed in the order they were opened"
    return found


def text(value: str) -> str:
    """A TEXT value without its escapes."""
    assert TEXT.match(value), f"3.3.11: backslash, semicolon, comma and line break are escaped: {value!r}"
    return re.sub(r"\\(.)", lambda found: "\n" if found.group(1) in "nN" else found.group(1), value)


def check(data: bytes) -> dict[str, Line]:
    """Hold a file to RFC 5545 and give its event."""
    lines = read(data)
    assert (lines[0], lines[-1]) == (("BEGIN", {}, "VCALENDAR"), ("END", {}, "VCALENDAR")), "3.4"
    calendar, event, alarm = (component(lines, kind) for kind in ("VCALENDAR", "VEVENT", "VALARM"))
    assert calendar["VERSION"][2] == "2.0", "3.7.4"
    assert text(calendar["PRODID"][2]), "3.7.3: PRODID is required"
    assert set(event) >= {"UID", "DTSTAMP"}, "3.6.1: both are required"
    assert set(event) <= ONCE
    assert re.fullmatch(r"\d{8}T\d{6}Z", event["DTSTAMP"][2]), "3.8.7.2: in UTC"
    assert re.fullmatch(r"\d+", event["SEQUENCE"][2]), "3.8.7.4: an integer from 0"
    for name in ("DTSTART", "DTEND"):
        assert event[name][1] == {"VALUE": "DATE"}, "3.3.4: a day by itself"
        assert re.fullmatch(r"\d{8}", event[name][2])
    assert _day(event["DTEND"]) > _day(event["DTSTART"]), "3.8.2.2: the end is later, and does not belong to it"
    assert event["TRANSP"][2] in ("OPAQUE", "TRANSPARENT"), "3.8.2.7"
    assert set(alarm) == {"ACTION", "DESCRIPTION", "TRIGGER"}, "3.6.6: what a display alarm must have"
    assert alarm["ACTION"][2] == "DISPLAY", "3.8.6.1"
    assert re.fullmatch(r"-P(\d+W|(\d+D)?(T(\d+H)?(\d+M)?)?)", alarm["TRIGGER"][2]), "3.3.6: a duration"
    for line in (event["SUMMARY"], event["DESCRIPTION"], event["UID"], alarm["DESCRIPTION"]):
        text(line[2])
    return event


def _day(line: Line) -> date:
    return datetime.strptime(line[2], "%Y%m%d").replace(tzinfo=UTC).date()


def _of(handed: HandedOver, seed: str = "shop") -> bytes:
    return due_calendar(handed, WHEN, seed)


def test_the_day_by_the_drives_interval() -> None:
    """Fitted 2026-03-02; 60 months by the invented Alder 8's schedule."""
    event = check(_of(of_rows("alder-one-cam", [FITTED, {"kind": "odometer", "km": 118420}])))
    assert _day(event["DTSTART"]) == date(2031, 3, 2)
    assert _day(event["DTEND"]) - _day(event["DTSTART"]) == timedelta(days=1)
    assert text(event["SUMMARY"][2]) == "Timing belt due: QX 10 DEMO"
    told = text(event["DESCRIPTION"][2]).split("\n")
    assert told[0] == "Fitted 2026-03-02 at 118 420 km"
    assert told[1] == "Next due: 2031-03-02, or at 208 420 km, whichever comes first"
    assert told[-1].startswith("Invented data")


@pytest.mark.parametrize("job", ["cedar-one-tooth-late", "damson-paper-alone", "fir-not-all-shown"])
def test_the_shipped_jobs(job: str) -> None:
    check(_of(shipped(job)))


@given(st.text(max_size=120), st.text(max_size=300))
def test_any_name_is_escaped_and_folded(registration: str, shop: str) -> None:
    facts = replace(FACTS, registration=registration, shop=shop)
    handed = of_rows("alder-one-cam", [FITTED], facts)
    event = check(_of(handed))
    clean = "".join(sign if sign.isprintable() or sign in "\n\u00a0" else " " for sign in registration)
    if registration:
        assert text(event["SUMMARY"][2]) == f"Timing belt due: {clean}".replace("\u00a0", " ")


def test_a_character_of_several_octets_is_never_cut() -> None:
    for length in range(40, 80):
        facts = replace(FACTS, registration="x" * length + "Ж€𝛑" * 30)
        check(_of(of_rows("alder-one-cam", [FITTED], facts)))


def test_the_uid_stays_and_tells_jobs_and_shops_apart() -> None:
    """3.8.4.7: globally unique and persistent; 3.8.7.4: the sequence rises with every revision."""
    first = of_rows("alder-one-cam", [FITTED])
    later = of_rows("alder-one-cam", [FITTED, {"kind": "odometer", "km": 5}])
    uids = [check(_of(first))["UID"], check(_of(later))["UID"]]
    assert uids[0] == uids[1]
    assert check(_of(later))["SEQUENCE"][2] > check(_of(first))["SEQUENCE"][2]
    assert check(_of(first, "other shop"))["UID"] != uids[0]
    other = of_rows("alder-one-cam", [FITTED], replace(FACTS, number=8))
    assert check(_of(other))["UID"] != uids[0]


def test_the_stamp_is_in_utc() -> None:
    moment = datetime(2026, 3, 9, 1, 30, tzinfo=timezone(timedelta(hours=2)))
    assert check(due_calendar(shipped("alder-proven"), moment))["DTSTAMP"][2] == "20260308T233000Z"


def test_without_months_there_is_no_day() -> None:
    handed = shipped("alder-proven")
    bare = handed.drive.file.model_copy(update={"interval": None})
    drive = type(handed.drive)(**{**vars(handed.drive), "file": bare})
    with pytest.raises(TwoTurnError, match="no day on which the belt is due"):
        _of(replace(handed, drive=drive))
