"""The declarations of a value change dump: unit of time, scopes and variables (IEEE 1364-2005, clause 18.2)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import BinaryIO

from twoturn.errors import RecordingError

MOST_HEADER_BYTES, MOST_VARIABLES = 16_000_000, 100_000
UNITS_S = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "ns": 1e-9, "ps": 1e-12, "fs": 1e-15}
KEYWORDS = (b"$date", b"$version", b"$timescale", b"$scope", b"$var", b"$comment", b"$enddefinitions", b"$attrbegin")
_TIMESCALE = re.compile(r"^(\d+(?:\.\d*)?)([munpfµ]?s)$", re.IGNORECASE)
_END = re.compile(rb"\$enddefinitions\s+(?:[^$]*\s)?\$end(?=\s|$)")


@dataclass(frozen=True)
class Variable:
    """One variable of a dump.

    Attributes
    ----------
    path
        The scopes round it, outermost first, and its name.
    code
        The sign or signs that stand for it in the changes.
    width
        Bits [-].
    kind
        Its type as written, such as ``wire``, ``reg``, ``real``, ``integer`` or ``event``.
    """

    path: tuple[str, ...]
    code: bytes
    width: int
    kind: str


@dataclass(frozen=True)
class Header:
    """What a dump declares before its changes.

    Attributes
    ----------
    scale_s
        Seconds of one unit of time [s]; None where none is stated.
    variables
        Its variables, in their order.
    body
        What was read beyond the declarations: the first bytes of the changes.
    """

    scale_s: float | None
    variables: tuple[Variable, ...]
    body: bytes


def probe(head: bytes) -> bool:
    """Whether the first bytes of a file are those of a value change dump."""
    plain = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    word = plain.split(None, 1)[0] if plain else b""
    return word.startswith(KEYWORDS)


def read_header(file: BinaryIO, name: str) -> Header:
    """Read the declarations.

    Parameters
    ----------
    file
        The file at its beginning; left behind the declarations and what else was read.
    name
        Its name, for the error sentence.

    Returns
    -------
    Header
        Unit of time, variables, and the bytes that follow.

    Raises
    ------
    RecordingError
        Declarations that do not end, or that declare nothing.
    """
    data = b""
    while (found := _END.search(data)) is None:
        more = file.read(max(65_536, len(data)))
        data += more
        if not more or len(data) > MOST_HEADER_BYTES:
            found = _END.search(data)
            if found is None:
                raise RecordingError(
                    f"{name} is a value change dump whose declarations do not end",
                    allowed="$enddefinitions $end before the first change",
                    next_step="export it again",
                )
    text = data[: found.start()].removeprefix(b"\xef\xbb\xbf").decode("utf-8", errors="replace")
    scale_s, variables = _declared(text.split(), name)
    if not variables:
        raise RecordingError(f"{name} is a value change dump that declares no channel", next_step="export it again")
    return Header(scale_s, tuple(variables), data[found.end() :])


def _declared(words: list[str], name: str) -> tuple[float | None, list[Variable]]:
    """Unit of time and variables out of the words of the declarations."""
    scale_s: float | None = None
    scopes: list[str] = []
    variables: list[Variable] = []
    for key, body in _sections(words):
        if key == "$timescale":
            scale_s = _scale_s("".join(body), name)
        elif key == "$scope":
            scopes.append(body[-1] if body else "")
        elif key == "$upscope" and scopes:
            scopes.pop()
        elif key == "$var":
            variables.append(_variable(body, scopes, name))
            if len(variables) > MOST_VARIABLES:
                raise RecordingError(f"{name} declares more than {MOST_VARIABLES} channels")
    return scale_s, variables


def _sections(words: list[str]) -> list[tuple[str, list[str]]]:
    """Keywords with the words up to their ``$end``."""
    out: list[tuple[str, list[str]]] = []
    inside: list[str] | None = None
    for word in words:
        if inside is None:
            if word.startswith("$") and word != "$end":
                inside = []
                out.append((word, inside))
        elif word == "$end":
            inside = None
        else:
            inside.append(word)
    return out


def _scale_s(text: str, name: str) -> float:
    """Seconds of one unit of time."""
    match = _TIMESCALE.match(text)
    value = float(match.group(1)) * UNITS_S[match.group(2).lower()] if match else 0.0
    if value <= 0.0:
        raise RecordingError(
            f"{name} states “{text[:20]}” as its unit of time", allowed="a number and s, ms, us, ns, ps or fs"
        )
    return value


def _variable(body: list[str], scopes: list[str], name: str) -> Variable:
    """One declaration: type, bits, sign, name and, for part of a vector, its bits in brackets."""
    if len(body) < 3 or not body[1].isdecimal() or len(body[1]) > 6:
        raise RecordingError(
            f"{name} holds a declaration that cannot be read: “$var {' '.join(body)[:40]}”",
            allowed="type, bits, sign and name",
            next_step="export it again",
        )
    label = body[3] if len(body) > 3 else body[2]
    width = int(body[1])
    if len(body) > 4 and (width == 1 or ":" not in body[4]):
        label += "".join(body[4:])
    return Variable((*scopes, label.removeprefix("\\")), body[2].encode(), width, body[0].lower())
