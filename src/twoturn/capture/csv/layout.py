"""How a text capture is laid out: encoding, separator, decimal sign, header, units, where the numbers begin."""

from __future__ import annotations

import re
from dataclasses import dataclass

SEPARATORS = (";", "\t", "|", ",", " ")
WORDS = {"true": 1.0, "high": 1.0, "on": 1.0, "h": 1.0, "false": 0.0, "low": 0.0, "off": 0.0, "l": 0.0}
COMMENTS = ("#", "//", "%", "!", "'")
NUMBER = re.compile(r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$")
_SEP_LINE = re.compile(r'^"?sep=(.)"?$', re.IGNORECASE)


@dataclass(frozen=True)
class Layout:
    """The layout of a text capture.

    Attributes
    ----------
    encoding
        ``utf-8``, ``utf-16`` or ``latin-1``.
    separator
        One sign; a blank stands for any run of blanks and tabs.
    skip_lines
        Lines before the first row of numbers [-].
    columns
        Number of columns [-].
    header, units
        Names and units as written, one a column; empty where there are none.
    preamble
        The text before the numbers.
    quoted
        Whether fields stand in quotation marks.
    """

    encoding: str
    separator: str
    skip_lines: int
    columns: int
    header: tuple[str, ...]
    units: tuple[str, ...]
    preamble: str
    quoted: bool


def probe(head: bytes) -> bool:
    """Whether the first bytes of a file are text."""
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return True
    if b"\x00" in head:
        return False
    odd = sum(1 for byte in head[:4096] if byte < 32 and byte not in (9, 10, 12, 13, 26))
    return odd == 0


def decoded(head: bytes) -> tuple[str, str]:
    """The text of the first bytes and the encoding they are in."""
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return head[: len(head) // 2 * 2].decode("utf-16", errors="replace"), "utf-16"
    for cut in range(4):
        try:
            return head[: len(head) - cut].decode("utf-8-sig"), "utf-8"
        except UnicodeDecodeError:
            continue
    return head.decode("latin-1"), "latin-1"


def find_layout(head: bytes, *, whole: bool) -> Layout | None:
    """The layout of a text capture, from its first bytes.

    Parameters
    ----------
    head
        The beginning of the file.
    whole
        Whether that is the whole file (then its last line counts).

    Returns
    -------
    Layout or None
        None where no rows of numbers are found.
    """
    text, encoding = decoded(head)
    lines = text.split("\n")
    if not whole and len(lines) > 1:
        lines.pop()
    lines = [line.rstrip("\r") for line in lines]
    told = next((match.group(1) for line in lines[:3] if (match := _SEP_LINE.match(line.strip()))), None)
    best: tuple[int, int, str, int] | None = None
    for rank, separator in enumerate((told,) if told else SEPARATORS):
        found = _rows(lines, separator)
        if found is None:
            continue
        first, columns, count = found
        score = (count if columns > 1 else count // 2, -rank, separator, first)
        if best is None or score[:2] > best[:2]:
            best = score
            best_columns = columns
    if best is None:
        return None
    if best[2] == "," and best_columns == 2 and _is_decimal_comma(lines[best[3] :]):
        return _layout(lines[: best[3]], encoding, " ", 1, lines[best[3]])
    return _layout(lines[: best[3]], encoding, best[2], best_columns, lines[best[3]])


def _is_decimal_comma(lines: list[str]) -> bool:
    """Whether "0,012" in every line is one number with a decimal comma, not two numbers."""
    rows = [line.strip().split(",") for line in lines[:500] if line.strip()]
    if any(len(row) != 2 or not row[0].isdigit() or not row[1].isdigit() for row in rows):
        return False
    lengths = {len(row[1]) for row in rows}
    return len(rows) > 1 and min(lengths) >= 2 and (len(lengths) == 1 or any(row[1][0] == "0" for row in rows))


def split_fields(line: str, separator: str) -> list[str]:
    """The fields of one line, quotation marks and blanks taken off, a trailing separator ignored."""
    line = line.strip().strip("\ufeff")
    if '"' in line and separator == ",":
        line, separator = line.replace('","', "\x1f"), "\x1f" if '","' in line else ","
    fields = line.split() if separator == " " else line.split(separator)
    fields = [field.strip().strip('"').strip() for field in fields]
    if len(fields) > 1 and not fields[-1]:
        fields.pop()
    return fields


def number(field: str) -> float | None:
    """The number in one field (point or comma, or a word for a level), or None."""
    plain = field.replace(",", ".")
    if NUMBER.match(plain):
        return float(plain)
    return WORDS.get(field.lower())


def _rows(lines: list[str], separator: str) -> tuple[int, int, int] | None:
    """First row of numbers, its number of columns, and how many such rows follow; None without any."""
    widths = [_width(line, separator) for line in lines]
    counts: dict[int, int] = {}
    for width in widths:
        if width:
            counts[width] = counts.get(width, 0) + 1
    if not counts:
        return None
    columns = max(counts, key=lambda width: (counts[width], width))
    wide = [width for width in counts if width > columns and counts[width] >= 3]
    columns = max(wide, default=columns)
    first = widths.index(columns)
    return first, columns, counts[columns]


def _width(line: str, separator: str) -> int:
    """Number of fields of a row of numbers (blank ones count); 0 for any other line."""
    if not line.strip() or line.lstrip().startswith(COMMENTS):
        return 0
    fields = split_fields(line, separator)
    numbers = [number(field) for field in fields if field]
    if not numbers or any(value is None for value in numbers) or not fields[0]:
        return 0
    if all(field.lower() in WORDS for field in fields if field):
        return 0
    return len(fields)


def _layout(before: list[str], encoding: str, separator: str, columns: int, row: str) -> Layout:
    """Header and units out of the lines before the numbers."""
    rows: list[list[str]] = []
    for line in before:
        fields = split_fields(line.lstrip("#%!' ").removeprefix("//"), separator)
        if separator == " " and len(fields) != columns:
            fields = [field for field in re.split(r"\s{2,}|\t", line.strip()) if field]
        rows.append(fields)
    names = [fields for fields in rows[-4:] if len(fields) == columns or (columns > 1 and len(fields) == columns + 1)]
    header: list[str] = []
    units: list[str] = []
    if names:
        header = names[-1]
        if len(names) > 1 and all(_is_unit(field) for field in header):
            units, header = header, names[-2]
    return Layout(
        encoding,
        separator,
        len(before),
        columns,
        tuple(header[:columns]),
        tuple(units[:columns]),
        "\n".join(before),
        '"' in row,
    )


def _is_unit(field: str) -> bool:
    """Whether a field of the second header line is a unit (or empty)."""
    plain = field.strip("[]() ").lower()
    return plain in {
        "",
        "-",
        "s",
        "sec",
        "ms",
        "us",
        "µs",
        "μs",
        "ns",
        "v",
        "mv",
        "a",
        "ma",
        "volt",
        "volts",
        "bool",
        "logic",
    }
