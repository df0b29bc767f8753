"""What a text capture says of its time axis: unit, sample numbers, rate."""

from __future__ import annotations

import re
from dataclasses import dataclass

from twoturn.capture.csv.layout import Layout

SECONDS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9}
_SPELT = {
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "msec": "ms", "millisecond": "ms", "milliseconds": "ms",
    "usec": "us", "µs": "us", "μs": "us", "µsec": "us", "μsec": "us", "microsecond": "us", "microseconds": "us",
    "nsec": "ns", "nanosecond": "ns", "nanoseconds": "ns",
}  # fmt: skip
_TIME_NAMES = re.compile(r"\b(time|zeit|temps|tiempo|tempo|czas|t|x-axis|seconds|timestamp)\b", re.IGNORECASE)
_COUNT_NAMES = re.compile(
    r"^\W*(sample(s|\s*(no|nr|number|index))?\.?|index|idx|n|nr|no|#|i|count|point)\W*$", re.IGNORECASE
)
_RATE = re.compile(
    r"(?:sample\s*rate|sampling\s*(?:rate|frequency)|samplerate|frequency|rate|fs)\W*?([\d.,]+(?:e[+-]?\d+)?)\s*"
    r"([kM]?)\s*(?:Hz|S/s|Sa/s|sps|samples)?",
    re.IGNORECASE,
)
_STEP = re.compile(
    r"(?:interval|increment|sample\s*period|period|delta\s*t|dt)\W*?([\d.,]+(?:e[+-]?\d+)?)\s*([nmuµμ]?s(?:ec)?)?\b",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class TimeAxis:
    """What the header says of time.

    Attributes
    ----------
    column
        The column named as time or sample number, None where none is named.
    scale_s
        Seconds of one unit [s]; None where no unit is stated.
    counts
        Whether the column counts samples.
    rate_hz
        Samples a second from the preamble [Hz], None where not stated.
    """

    column: int | None
    scale_s: float | None
    counts: bool
    rate_hz: float | None


def time_axis(layout: Layout) -> TimeAxis:
    """Find the time column, its unit and the sampling rate in header and preamble."""
    rate = stated_rate_hz(layout.preamble)
    for column, name in enumerate(layout.header):
        unit = unit_of(layout.units[column]) if column < len(layout.units) else None
        unit = unit or unit_of(name)
        plain = re.sub(r"[_\[\](){}/]", " ", name)
        if _COUNT_NAMES.match(name) and unit is None:
            return TimeAxis(column, 1 / rate if rate else None, True, rate)
        if _TIME_NAMES.search(plain) or (column == 0 and unit is not None):
            return TimeAxis(column, SECONDS[unit] if unit else None, False, rate)
    return TimeAxis(None, None, False, rate)


def unit_of(text: str) -> str | None:
    """The unit of time named in a header, as ``s``, ``ms``, ``us`` or ``ns``; None where none is."""
    for word in reversed(re.findall(r"[A-Za-zµμ]+", text)):
        plain: str = _SPELT.get(word.lower(), word.lower())
        if plain in SECONDS:
            return plain
    return None


def stated_rate_hz(preamble: str) -> float | None:
    """Samples a second that the text before the numbers states [Hz]; None where it states none."""
    if match := _RATE.search(preamble):
        value = _plain(match.group(1)) * {"": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "m": 1e6}[match.group(2)]
        return value if value > 0 else None
    if match := _STEP.search(preamble):
        unit = unit_of(match.group(2) or "s") or "s"
        value = _plain(match.group(1)) * SECONDS[unit]
        return 1 / value if value > 0 else None
    return None


def _plain(text: str) -> float:
    """A number written with point or comma; 0 where it is none."""
    try:
        return float(text.replace(",", ".").rstrip("."))
    except ValueError:
        return 0.0
