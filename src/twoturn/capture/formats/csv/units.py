"""What a text capture says of its time axis: unit, sample numbers, rate."""

from __future__ import annotations

import re

from twoturn.capture.formats.csv.cells import NUMBER, plain_number
from twoturn.capture.formats.csv.layout import Layout

SECONDS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60.0}
_LONG = {
    "s": "sec secs second seconds sekunde sekunden sek seconde secondes segundo segundos secondi",
    "ms": "msec msecs millis millisecond milliseconds millisekunden",
    "us": "usec usecs micros µs μs µsec μsec microsecond microseconds mikrosekunden",
    "ns": "nsec nanos nanosecond nanoseconds nanosekunden",
}
_SPELT = {word: unit for unit, words in _LONG.items() for word in words.split()}
TIME_NAMES = re.compile(
    r"\b(time|times|zeit|temps|tiempo|tempo|czas|tid|tijd|t|x-axis|x|seconds|timestamp|clock|elapsed|uhrzeit)\d{0,3}\b",
    re.IGNORECASE,
)
COUNT_NAMES = re.compile(
    r"^\W*(samples?(\s*(no|nr|number|index|#))?\.?|index|idx|n|nr|no|#|i|count|points?|row|line)\W*$", re.IGNORECASE
)
_RATE_KEY = re.compile(
    r"sampl\w*[\s_-]*(?:rate|freq\w*|speed)|abtast(?:rate|frequenz)|samples?\s*(?:per|/)\s*s(?:ec\w*)?\b"
    r"|\b(?:fs|srate|rate|sps)\b|fr[eé]quence d.[eé]chantillonnage|frecuencia de muestreo"
    r"|frequenza di campionamento|(?:acquisition|record\w*)\s*(?:rate|freq\w*)"
    r"|^\W*frequency",
    re.IGNORECASE,
)
_NO_RATE = re.compile(r"baud|bit\s*rate|frame|refresh|cut-?off|filter|engine|trigger", re.IGNORECASE)
_STEP_KEY = re.compile(
    r"(?:sampl\w*|time|x|horizontal)?[\s_-]*(?:interval|increment|step|spacing)\b|sampl\w*[\s_-]*(?:period|time)|time[\s_-]*resolution"
    r"|^\W*period|abtast(?:interval\w*|zeit|period\w*)|\bdelta[\s_-]*[tx]\b|\bd[tx]\b|\bts\b|xincr\w*"
    r"|(?:time|s|sec|seconds)\s*(?:per|/)\s*(?:sample|point)",
    re.IGNORECASE,
)
_VALUE = re.compile(
    r"(?P<value>[+-]?\d[\d.,' ]*(?:[eE][+-]?\d+)?)[\s,;\t\"]*"
    r"(?P<unit>[kKMGmunµμ]?(?:Hz|S/s|Sa/s|sps|samples|s(?:ec)?)\b)?"
)
_KEY_UNIT = re.compile(r"[(\[]\s*([kKMGmunµμ]?(?:Hz|S/s|Sa/s|s(?:ec)?)|samples?/s)\s*[)\]]")
_TIME_UNIT = re.compile(
    r"(?:time|x|zeit)[\s_-]*(?:axis)?[\s_-]*(?:unit|units|einheit)\W+(s|sec|seconds|ms|us|µs|μs|ns)\b", re.IGNORECASE
)
PREFIXES = {"": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9, "m": 1e-3, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "n": 1e-9}
FASTEST_HZ = 1e10


def unit_of(text: str) -> str | None:
    """The unit of time named in a header, as ``s``, ``ms``, ``us`` or ``ns``; None where none is."""
    for word in reversed(re.findall(r"[A-Za-zµμ]+", text)):
        plain: str = _SPELT.get(word.lower(), word.lower())
        if plain in SECONDS:
            return plain
    return None


def column_unit_s(layout: Layout, column: int) -> float | None:
    """Seconds of one unit of a column by its units row or its name [s]; None where none is stated.

    Parameters
    ----------
    layout
        Layout of the file.
    column
        Number of the column, from 0.
    """
    unit = unit_of(layout.units[column]) if column < len(layout.units) else None
    if unit is None and column < len(layout.header):
        unit = unit_of(layout.header[column])
    return SECONDS[unit] if unit else None


def preamble_unit_s(preamble: str) -> float | None:
    """Seconds of the unit of time that the text before the numbers states [s]; None where it states none."""
    match = _TIME_UNIT.search(preamble.replace('"', " "))
    unit = unit_of(match.group(1)) if match else None
    return SECONDS[unit] if unit else None


def stated_rate_hz(preamble: str, decimal: str = ".") -> float | None:
    """Samples a second that the text before the numbers states [Hz]; None where it states none.

    Parameters
    ----------
    preamble
        That text.
    decimal
        The decimal sign of the file.
    """
    lines = preamble.split("\n")
    for key, inverse in ((_RATE_KEY, False), (_STEP_KEY, True)):
        for line, below in zip(lines, [*lines[1:], ""], strict=True):
            match = key.search(line)
            if match is None or (not inverse and _NO_RATE.search(line)):
                continue
            value = _quantity(line[match.end() :], decimal)
            if value is None:
                value = _quantity(_cell_below(line, match.start(), below), decimal)
            if value is not None and value > 0:
                rate = 1 / value if inverse else value
                if rate <= FASTEST_HZ:
                    return rate
    return None


def _cell_below(line: str, place: int, below: str) -> str:
    """The cell of the next line under the one that begins at or before a place; empty where lines do not match."""
    separator = next((mark for mark in ";\t,|" if mark in line), None)
    if separator is None or abs(line.count(separator) - below.count(separator)) > 1:
        return ""
    cells = below.split(separator)
    number = line[:place].count(separator)
    return cells[number] if number < len(cells) else ""


def _quantity(text: str, decimal: str) -> float | None:
    """The first number of a text with its unit, in hertz or seconds; None without one."""
    match = _VALUE.search(text)
    if match is None:
        return None
    plain = plain_number(match["value"].strip().rstrip(".,"), decimal)
    if not NUMBER.match(plain):
        return None
    before = _KEY_UNIT.search(text[: match.start()])
    unit = match["unit"] or (before.group(1) if before else "")
    prefix = unit[:1] if len(unit) > 1 and unit[0] in "kKMGmunµμ" else ""
    scale = PREFIXES[prefix]
    if prefix == "m" and unit.endswith(("Hz", "S/s", "Sa/s")):
        scale = 1e6  # nobody samples at millihertz
    return float(plain) * scale
