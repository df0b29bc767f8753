"""The record shows every change: an entry altered, dropped, added in between, swapped or cut."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.job.canonical import CanonicalError, canonical_json
from twoturn.job.chain import START, Checkpoint, checkpoint, entry_hash, matches

VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
ENTRIES = st.lists(
    st.dictionaries(st.text(min_size=1, max_size=6), VALUES, min_size=1, max_size=4), min_size=1, max_size=6
)


@given(VALUES)
def test_canonical_text_reads_back_as_the_same_value(value: object) -> None:
    try:
        text = canonical_json(value)
    except CanonicalError:  # hypothesis may draw a lone surrogate
        return
    again = json.loads(text, parse_int=float)  # a JSON number is a double
    assert again == value
    assert canonical_json(again) == text


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 2**53 + 1, 10**400, "\ud800", {1: 2}, {1, 2}, b"x"])
def test_what_json_cannot_hold_is_refused(bad: object) -> None:
    with pytest.raises(CanonicalError):
        canonical_json({"value": bad})


def test_hash_is_sha256_of_the_canonical_text_and_the_hash_before() -> None:
    entry = {"kind": "remark", "text": "straße", "entered": datetime(2026, 3, 2, 10, 5, tzinfo=UTC)}
    text = '{"entered":"2026-03-02T10:05:00+00:00","kind":"remark","text":"straße"}'
    assert entry_hash(entry, START) == hashlib.sha256((text + "0" * 64).encode()).hexdigest()


@given(ENTRIES, st.data())
def test_every_change_of_the_past_shows_against_a_sheet(entries: list[dict[str, object]], data: st.DataObject) -> None:
    sheet = checkpoint(entries)
    assert matches(entries, sheet)
    assert matches([*entries, {"kind": "remark"}], sheet)
    at = data.draw(st.integers(0, len(entries) - 1))
    assert not matches(entries[:at] + entries[at + 1 :], sheet) or entries[:at] + entries[at + 1 :] == entries
    assert not matches([*entries[:at], {**entries[at], "~": 1}, *entries[at + 1 :]], sheet)
    assert not matches([*entries[:at], {"~": 1}, *entries[at:]], sheet)
    swapped = [*entries]
    swapped[0], swapped[at] = swapped[at], swapped[0]
    assert matches(swapped, sheet) == (canonical_json(swapped) == canonical_json(entries))


def test_an_empty_record_has_a_checkpoint_too() -> None:
    assert checkpoint([]) == Checkpoint(0, START)
    assert matches([], Checkpoint(0, START))
    assert checkpoint([{"a": 1}]).short.startswith("1-")
