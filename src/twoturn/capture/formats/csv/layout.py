"""How a text capture is laid out: encoding, separator, decimal sign, header, units, where the numbers begin."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, field
from itertools import pairwise

from twoturn.capture.formats.csv.cells import CLOCK, DATE, WORDS, cell_value, decimal_sign
from twoturn.capture.formats.csv.header import names_and_units

SEPARATORS = (";", "\t", "|", ",", " ")
COMMENTS = ("#", "//", "%", "!", "'")
LOOKED_AT = 2000
MOST_LABELS = 64
_SEP_LINE = re.compile(r'^"?sep=(.)"?$', re.IGNORECASE)


@dataclass(frozen=True)
class Layout:
    """The layout of a text capture.

    Attributes
    ----------
    encoding
        ``utf-8``, ``utf-16``, ``utf-16-le``, ``utf-16-be`` or ``latin-1``.
    separator
        One sign; a blank stands for any run of blanks and tabs.
    decimal
        The decimal sign, ``"*"`` where both are used.
    skip_lines
        Lines before the first row of numbers [-].
    columns
        Number of columns [-].
    header, units
        Names and units as written, one a column; empty where there are none.
    preamble
        The text before the numbers.
    rows
        Cells of some of the first rows.
    label
        The column that names a channel in every row, None where there is none.
    labels
        The names in it, as written, with a number each.
    returns
        Whether lines end in a carriage return alone.
    torn
        Leading columns whose decimal comma was taken for a separator; each is two fields of a line [-].
    """

    encoding: str
    separator: str
    decimal: str
    skip_lines: int
    columns: int
    header: tuple[str, ...]
    units: tuple[str, ...]
    preamble: str
    rows: tuple[tuple[str, ...], ...]
    label: int | None = None
    labels: dict[str, int] = field(default_factory=dict)
    returns: bool = False
    torn: int = 0

    def column_cells(self, column: int) -> list[str]:
        """The cells of one column in the rows looked at that are not empty."""
        return [row[column] for row in self.rows if column < len(row) and row[column]]

    def is_clock(self, column: int) -> bool:
        """Whether a column holds times of day."""
        cells = self.column_cells(column)
        return bool(cells) and all(":" in cell and CLOCK.match(cell) for cell in cells)

    def is_date(self, column: int) -> bool:
        """Whether a column holds dates alone."""
        cells = self.column_cells(column)
        return (
            bool(cells) and all(DATE.match(cell) for cell in cells) and not all(cell.count(".") == 1 for cell in cells)
        )


@dataclass(frozen=True)
class Block:
    """Rows of one width: where they begin, how many there are, and the column of names in them."""

    first: int
    columns: int
    count: int
    label: int | None = None


def probe(head: bytes) -> bool:
    """Whether the first bytes of a file are text."""
    if head[:2] in (b"\xff\xfe", b"\xfe\xff") or _bare_utf16(head):
        return True
    if b"\x00" in head:
        return False
    odd = sum(1 for byte in head[:4096] if byte < 32 and byte not in (9, 10, 12, 13, 26))
    return odd == 0


def _bare_utf16(head: bytes) -> str:
    """The two-byte encoding of a text without a mark at its beginning, or nothing."""
    part = head[: min(len(head), 2000) // 2 * 2]
    if len(part) < 8:
        return ""
    low, high = part[::2], part[1::2]
    if high.count(0) > 0.9 * len(high) and low.count(0) == 0:
        return "utf-16-le"
    return "utf-16-be" if low.count(0) > 0.9 * len(low) and high.count(0) == 0 else ""


def decoded(head: bytes) -> tuple[str, str]:
    """The text of the first bytes and the encoding they are in."""
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return head[: len(head) // 2 * 2].decode("utf-16", errors="replace"), "utf-16"
    if bare := _bare_utf16(head):
        return head[: len(head) // 2 * 2].decode(bare, errors="replace"), bare
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
    returns = "\n" not in text and "\r" in text
    lines = text.split("\r" if returns else "\n")
    if not whole and len(lines) > 1:
        lines.pop()
    lines = [line.rstrip("\r") for line in lines]
    told = next((match.group(1) for line in lines[:3] if (match := _SEP_LINE.match(line.strip()))), None)
    candidates = (told,) if told else SEPARATORS
    for with_names in (False, True):
        best = _best(lines, candidates, with_names)
        if best is not None:
            return _layout(lines, encoding, *best, returns=returns)
    return None


def _best(lines: list[str], candidates: tuple[str, ...], with_names: bool) -> tuple[str, Block] | None:
    """The separator that gives the most rows, and those rows."""
    found: list[tuple[tuple[int, int], str, Block]] = []
    for rank, separator in enumerate(candidates):
        block = _named_rows(lines, separator) if with_names else _rows(lines, separator)
        if block is not None:
            score = block.count if block.columns > 1 else block.count // 2
            found.append(((score, -rank), separator, block))
    if not found:
        return None
    _, separator, block = max(found, key=lambda item: item[0])
    if separator == "," and block.columns == 2 and _is_decimal_comma(lines[block.first :]):
        return " ", Block(block.first, 1, block.count)
    return separator, block


def _is_decimal_comma(lines: list[str]) -> bool:
    """Whether "0,012" in every line is one number with a decimal comma, not two numbers."""
    rows = [line.strip().split(",") for line in lines[:500] if line.strip()]
    if any(len(row) != 2 or not row[0].isdigit() or not row[1].isdigit() for row in rows):
        return False
    lengths = {len(row[1]) for row in rows}
    return len(rows) > 1 and min(lengths) >= 2 and (len(lengths) == 1 or any(row[1][0] == "0" for row in rows))


def split_fields(line: str, separator: str) -> list[str]:
    """The fields of one line, quotation marks and blanks taken off, a trailing separator ignored."""
    line = line.strip("\ufeff \r\n" if separator == "\t" else "\ufeff \t\r\n")
    if '"' in line and separator != " ":
        plain = line.replace("\r", " ").replace("\n", " ")
        fields = next(csv.reader([plain], delimiter=separator, skipinitialspace=True), [])
    else:
        fields = line.split() if separator == " " else line.split(separator)
    fields = [one.strip().strip('"').strip() for one in fields]
    if len(fields) > 1 and not fields[-1]:
        fields.pop()
    return fields


def _rows(lines: list[str], separator: str) -> Block | None:
    """Rows of numbers of the most frequent width; None without any."""
    widths = [_width(line, separator) for line in lines[:LOOKED_AT]]
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
    while columns > 1 and first and 1 < widths[first - 1] < columns:
        first -= 1  # cells at the end of a row may be blank
    text = sum(1 for line in lines[first:LOOKED_AT] if line.strip() and not line.lstrip().startswith(COMMENTS))
    told = sum(1 for width in widths[first:] if width)
    return Block(first, columns, told) if 2 * told > text or told > 50 else None


def _width(line: str, separator: str) -> int:
    """Number of fields of a row of numbers (blank ones count); 0 for any other line."""
    if not line.strip() or line.lstrip().startswith(COMMENTS):
        return 0
    fields = split_fields(line, separator)
    kinds = [_is_value(one) for one in fields if one]
    if not kinds or not all(kinds) or (not fields[0] and len(kinds) < 2):
        return 0
    if all(one.lower() in WORDS or not any(letter.isdigit() for letter in one) for one in fields if one):
        return 0
    return len(fields)


def _is_value(cell: str) -> bool:
    """Whether a cell of unknown decimal sign says anything."""
    return cell_value(cell, "*") is not None


def _named_rows(lines: list[str], separator: str) -> Block | None:
    """Rows that name a channel in one column among numbers; None where there are none."""
    seen: dict[tuple[int, int], list[int]] = {}
    names: dict[tuple[int, int], set[str]] = {}
    for number, line in enumerate(lines[:LOOKED_AT]):
        if not line.strip() or line.lstrip().startswith(COMMENTS):
            continue
        fields = split_fields(line, separator)
        texts = [place for place, one in enumerate(fields) if one and not _is_value(one)]
        if len(texts) == 1 and 2 <= len(fields) <= 6 and len(fields[texts[0]]) <= 32:
            key = (len(fields), texts[0])
            seen.setdefault(key, []).append(number)
            names.setdefault(key, set()).add(fields[texts[0]])
    if not seen:
        return None
    key = max(seen, key=lambda one: len(seen[one]))
    rows = seen[key]
    plain = sum(1 for line in lines[rows[0] : LOOKED_AT] if line.strip())
    if len(rows) < 4 or 2 * len(rows) < plain or 2 * len(names[key]) > len(rows) or len(names[key]) > MOST_LABELS:
        return None
    return Block(rows[0], key[0], len(rows), key[1])


def _layout(lines: list[str], encoding: str, separator: str, block: Block, *, returns: bool) -> Layout:
    """Header, units and decimal sign of the rows found."""
    before = lines[: block.first]
    shown = [line for line in lines[block.first : block.first + 500] if line.strip()]
    rows = [split_fields(line, separator) for line in shown if not line.lstrip().startswith(COMMENTS)]
    rows = [row for row in rows if any(_is_value(one) for one in row if one)]
    torn = _torn_columns(rows, before, separator, block)
    rows = [mended_fields(row, torn) for row in rows]
    columns = block.columns - torn
    header, units = names_and_units(before, separator, columns, split_fields)
    labels: dict[str, int] = {}
    if block.label is not None:
        for line in lines[block.first :]:
            fields = split_fields(line, separator)
            if len(fields) > block.label and len(fields) == block.columns and not line.lstrip().startswith(COMMENTS):
                labels.setdefault(fields[block.label], len(labels))
    decimal = "." if separator == "," and '"' not in "".join(shown[:50]) else _decimal(rows, block)
    return Layout(
        encoding, separator, decimal, block.first, columns, header, units, "\n".join(before),
        tuple(tuple(row) for row in rows), block.label, labels, returns, torn,
    )  # fmt: skip


def mended_fields(fields: list[str], torn: int) -> list[str]:
    """Fields of a line with so many leading pairs put together as whole part and fraction.

    Parameters
    ----------
    fields
        Fields as split.
    torn
        Number of pairs [-].
    """
    if not torn or len(fields) < 2 * torn:
        return fields
    return [f"{fields[2 * n]}.{fields[2 * n + 1]}" for n in range(torn)] + fields[2 * torn :]


def _torn_columns(rows: list[list[str]], before: list[str], separator: str, block: Block) -> int:
    """How many leading columns a decimal comma tears in two: the heading has fewer names than rows have fields."""
    if separator != "," or block.label is not None or not rows:
        return 0
    for torn in (1, block.columns // 2):
        if torn < 1 or (torn > 1 and 2 * torn != block.columns):
            continue
        names, _ = names_and_units(before, separator, block.columns - torn, split_fields)
        fits = len(names) == block.columns - torn and all(names)
        parts = [row[2 * n + 1] for row in rows for n in range(torn) if len(row) > 2 * n + 1]
        whole = [row[2 * n] for row in rows for n in range(torn) if len(row) > 2 * n]
        if fits and all(part.isdecimal() for part in parts) and all(one.lstrip("+-").isdecimal() for one in whole):
            widths = {len(row[1]) for row in rows if len(row) > 1}
            if len(widths) == 1 and min(widths) > 1:
                return torn
    return 0


def _decimal(rows: list[list[str]], block: Block) -> str:
    """The decimal sign; where "1,234" may be either, the one by which the first column grows."""
    sign = decimal_sign([one for row in rows for place, one in enumerate(row) if place != block.label])
    if sign == "*":
        return sign
    first = [row[0] for row in rows if row and row[0]]
    marked = [cell for cell in first if sign in cell]
    other = "," if sign == "." else "."
    if not marked or any(re.fullmatch(r"[+-]?[1-9]\d{0,2}[.,]\d{3}", cell) is None for cell in marked):
        return sign
    fixed = len(marked) < len(first)  # three digits behind every mark, and none behind "0": it parts thousands
    return other if (fixed or not _grows(first, sign)) and _grows(first, other) else sign


def _grows(cells: list[str], decimal: str) -> bool:
    """Whether numbers grow from cell to cell."""
    values = [cell_value(cell, decimal) for cell in cells]
    return all(a is not None and b is not None and a <= b for a, b in pairwise(values))
