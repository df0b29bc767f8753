"""The day a belt is due again, as a file for any calendar (iCalendar, RFC 5545)."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta

from twoturn.errors import TwoTurnError
from twoturn.report.handed_over import INVENTED, HandedOver

LONGEST_LINE = 75
"""Octets of a line without its end (RFC 5545, section 3.1)."""
AHEAD_DAYS = 30
"""How long before the day the calendar speaks up [days]."""


def due_calendar(handed: HandedOver, moment: datetime, seed: str = "") -> bytes:
    """The day the belt is due, as an all-day entry that reminds a month before.

    Parameters
    ----------
    handed
        The job.
    moment
        The time the file carries.
    seed
        What tells this shop from another; the same job of the same shop always has the same UID, so that a calendar
        replaces the entry instead of showing two.

    Returns
    -------
    bytes
        UTF-8, as RFC 5545 has it.

    Raises
    ------
    TwoTurnError
        The drive file gives no months, so that there is no day.
    """
    due = handed.due
    if due is None or due.on is None:
        raise TwoTurnError(
            "there is no day on which the belt is due: the drive file gives no months",
            next_step="add months to its [interval], or count the distance",
        )
    facts = handed.facts
    who = facts.registration or facts.model or handed.drive.name
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//twoturn//timing belt due//EN",
        "BEGIN:VEVENT",
        f"UID:{_uid(handed, seed)}",
        f"DTSTAMP:{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"SEQUENCE:{handed.checkpoint.entries}",
        f"DTSTART;VALUE=DATE:{due.on:%Y%m%d}",
        f"DTEND;VALUE=DATE:{due.on + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{_text(f'Timing belt due: {who}')}",
        f"DESCRIPTION:{_text(_description(handed))}",
        "TRANSP:TRANSPARENT",
        "BEGIN:VALARM",
        "ACTION:DISPLAY",
        f"DESCRIPTION:{_text(f'Timing belt due in a month: {who}')}",
        f"TRIGGER:-P{AHEAD_DAYS}D",
        "END:VALARM",
        "END:VEVENT",
        "END:VCALENDAR",
    ]
    return b"".join(_folded(line) for line in lines)


def _description(handed: HandedOver) -> str:
    due, facts = handed.due, handed.facts
    fitted = f"Fitted {handed.fitted.isoformat()}" + (f" at {handed.km_words}" if handed.km_words else "")
    said = [fitted, f"Next due: {handed.due_words}"]
    if due is not None:
        said.append(f"Interval from: {due.source}")
        said += [f"Under hard use earlier: {due.severe}"] if due.severe else []
    said += [f"Workshop: {facts.shop}"] if facts.shop else []
    said += [handed.record_words, *([INVENTED] if handed.is_invented else [])]
    return "\n".join(said)


def _uid(handed: HandedOver, seed: str) -> str:
    facts = handed.facts
    told = "\n".join([seed, str(facts.number), facts.registration, handed.drive.name])
    return f"{hashlib.sha256(told.encode()).hexdigest()[:32]}@twoturn.invalid"


def _text(text: str) -> str:
    """A text value, escaped (RFC 5545, section 3.3.11)."""
    plain = "".join(sign if sign.isprintable() or sign in "\n\u00a0" else " " for sign in text).replace("\u00a0", " ")
    for sign, escaped in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        plain = plain.replace(sign, escaped)
    return plain


def _folded(line: str) -> bytes:
    """A line with its end, folded so that no line is too long and no character is cut (RFC 5545, section 3.1)."""
    out, room = b"", LONGEST_LINE
    for sign in line:
        octets = sign.encode()
        if len(octets) > room:
            out += b"\r\n "
            room = LONGEST_LINE - 1
        out += octets
        room -= len(octets)
    return out + b"\r\n"
