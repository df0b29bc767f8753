"""Whatever stands in a file, loading gives a drive or plain sentences on what is wrong; nothing else comes out."""

from __future__ import annotations

import tomllib
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.drive.file_texts import EXAMPLES

from twoturn.drive.load import read_drive
from twoturn.drive.toml_text import decode
from twoturn.errors import Fault, FileFaults

SLOW = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
OPEN_TABLES = ("part", "tool", "fluids", "access", "relearn")


def _load(text: str) -> bool:
    """True when the text is a drive; its faults must be readable otherwise."""
    try:
        read_drive(text, "fuzz.toml")
    except FileFaults as error:
        _check_faults(error.faults, text.count("\n") + 1)
        return False
    return True


def _check_faults(faults: list[Fault], last_line: int) -> None:
    assert faults
    for fault in faults:
        assert fault.sentence.startswith("fuzz.toml")
        assert fault.found
        assert fault.expected
        assert "\n" not in fault.sentence
        assert len(fault.sentence) < 2000
        assert "pydantic" not in fault.sentence.lower()
        assert fault.line is None or 1 <= fault.line <= last_line
    lines = [fault.line for fault in faults if fault.line is not None]
    assert lines == sorted(lines)


def _toml(value: Any) -> str:
    """A value as TOML; tables inside become inline tables."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        plain = "".join(sign if sign.isprintable() else "·" for sign in value)
        return '"' + plain.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_toml(key)} = {_toml(item)}" for key, item in value.items()) + "}"
    return repr(value)


def _document(document: dict[str, Any]) -> str:
    return "\n".join(f"{_toml(key)} = {_toml(value)}" for key, value in document.items())


WORDS = st.sampled_from(
    ["crank", "cam", "tensioner", "coolant pump", "clockwise", "back", "teeth", "hydraulic", "slide", ""]
)
NUMBERS = st.one_of(
    st.integers(-3, 400), st.floats(allow_nan=True), st.sampled_from([10**30, -(10**400), 1e308, -0.0, 0.5, 1e-300])
)
SCALARS = st.one_of(st.booleans(), NUMBERS, WORDS, st.text(max_size=6))
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text("abc_", max_size=3), inner, max_size=2)
    ),
    max_leaves=5,
)


@SLOW
@given(st.binary(max_size=200))
def test_any_bytes(raw: bytes) -> None:
    try:
        text = decode(raw, "fuzz.toml")
    except FileFaults:
        return
    assert not _load(text)


@SLOW
@given(st.text(alphabet="[]{}=\"'.,#\n\r abx10-_\\", max_size=80))
def test_any_text_of_signs_that_mean_something(text: str) -> None:
    assert not _load(text)


@SLOW
@given(st.data(), st.sampled_from(EXAMPLES))
def test_letters_changed_in_a_good_file(data: st.DataObject, text: str) -> None:
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text) - 1))
        width = data.draw(st.integers(0, 5))
        put = data.draw(st.text(alphabet="0123456789.,-[]{}=\"' \nabcdeftmp_", max_size=3))
        text = text[:at] + put + text[at + width :]
    _load(text)


@SLOW
@given(st.data(), st.sampled_from(EXAMPLES))
def test_lines_dropped_doubled_and_moved(data: st.DataObject, text: str) -> None:
    lines = text.split("\n")
    for _ in range(data.draw(st.integers(1, 4))):
        a, b = (data.draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        act = data.draw(st.sampled_from(["drop", "double", "swap"]))
        if act == "swap":
            lines[a], lines[b] = lines[b], lines[a]
        elif act == "double":
            lines.insert(b, lines[a])
        elif len(lines) > 2:
            del lines[a]
    _load("\n".join(lines))


def _places(node: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) of a document."""
    keys = list(node) if isinstance(node, dict) else list(range(len(node))) if isinstance(node, list) else []
    return [place for key in keys for place in [(node, key), *_places(node[key])]]


@settings(max_examples=2000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), st.sampled_from(EXAMPLES))
def test_values_exchanged_in_a_good_file(data: st.DataObject, text: str) -> None:
    document = tomllib.loads(text)
    for _ in range(data.draw(st.integers(1, 3))):
        places = _places(document)
        if not places:
            return
        container, key = data.draw(st.sampled_from(places))
        container[key] = data.draw(VALUES)
    _load(_document(document))


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), st.sampled_from(EXAMPLES))
def test_numbers_moved_and_rows_reordered(data: st.DataObject, text: str) -> None:
    """Still a drive file by its types: only the checks between tables, the path and the network have to cope."""
    document = tomllib.loads(text)
    numbers = [(node, key) for node, key in _places(document) if type(node[key]) in (int, float)]
    for node, key in data.draw(st.lists(st.sampled_from(numbers), min_size=1, max_size=4, unique_by=str)):
        factor = data.draw(st.sampled_from([-1.0, 0.0, 1e-9, 0.5, 0.9, 1.1, 2.0, 10.0, 1e9]))
        node[key] = int(node[key] * factor) if isinstance(node[key], int) else node[key] * factor
    document["pulley"] = data.draw(st.permutations(document["pulley"]))
    _load(_document(document))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), st.sampled_from(EXAMPLES), st.sampled_from(OPEN_TABLES))
def test_open_tables_keep_what_they_do_not_know(data: st.DataObject, text: str, table: str) -> None:
    document = tomllib.loads(text)
    known = document.get(table, {})
    if table in ("part", "tool"):
        document[table] = [{"remark of ours": data.draw(VALUES)}]
    else:
        document[table] = {**known, "remark of ours": data.draw(VALUES)}
    assert _load(_document(document))
