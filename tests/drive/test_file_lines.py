"""On which line a key stands: against texts whose lines are known because the test wrote them."""

from __future__ import annotations

import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from twoturn.drive.toml_lines import LineMap

AWKWARD = '''\
# a remark with [brackets] = and "quotes"
[drive] # after the header
name = "a # no remark"
"quoted key" = 'single'
a.b.c = 1
[[pulley]]
id = """
several
lines"""
at_mm = [
  1.0, # first

  2.0,
]
[[pulley]]
phaser = { range_deg = 50, deep = { x = [1, { y = 2 }] } }
  [pulley.more]
  z = 1979-05-27T07:32:00Z
[[ "tensioner" ]]
setting = [{ to = "notch" },
           { turns = 2 }]
[[tensioner]]
last = \'\'\'x'\'\'\'
"esc\\u0061ped" = true
'''
LINES = {
    ("drive",): 2,
    ("drive", "name"): 3,
    ("drive", "quoted key"): 4,
    ("drive", "a", "b", "c"): 5,
    ("pulley", 0): 6,
    ("pulley", 0, "id"): 7,
    ("pulley", 0, "at_mm"): 10,
    ("pulley", 0, "at_mm", 0): 11,
    ("pulley", 0, "at_mm", 1): 13,
    ("pulley", 1): 15,
    ("pulley", 1, "phaser", "deep", "x", 1, "y"): 16,
    ("pulley", 1, "more"): 17,
    ("pulley", 1, "more", "z"): 18,
    ("tensioner", 0): 19,
    ("tensioner", 0, "setting", 0, "to"): 20,
    ("tensioner", 0, "setting", 1, "turns"): 21,
    ("tensioner", 1): 22,
    ("tensioner", 1, "last"): 23,
    ("tensioner", 1, "escaped"): 24,
}


def test_awkward_text_is_toml() -> None:
    tomllib.loads(AWKWARD)


def test_lines_of_an_awkward_text() -> None:
    lines = LineMap(AWKWARD)
    assert {path: lines.line(path) for path in LINES} == LINES


def test_a_key_that_is_not_there_has_the_line_of_its_table() -> None:
    assert LineMap(AWKWARD).line(("pulley", 1, "teeth")) == 15
    assert LineMap(AWKWARD).line(("engine", "bore_mm")) is None


def test_windows_line_ends_count_once() -> None:
    lines = LineMap(AWKWARD.replace("\n", "\r\n"))
    assert {path: lines.line(path) for path in LINES} == LINES


KEYS = st.text("abcxyz_-09", min_size=1, max_size=5)
TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"], exclude_characters="\x7f"), max_size=8)
SCALARS = st.one_of(
    st.integers(-(10**9), 10**9).map(str),
    st.booleans().map(lambda value: str(value).lower()),
    TEXTS.map(lambda text: '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'),
    TEXTS.filter(lambda text: "'" not in text).map(lambda text: f"'{text}'"),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: "[" + ", ".join(items) + "]"),
        st.dictionaries(KEYS, inner, max_size=3).map(
            lambda rows: "{" + ", ".join(f"{key} = {value}" for key, value in rows.items()) + "}"
        ),
    ),
    max_leaves=6,
)


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.tuples(KEYS, st.lists(st.tuples(KEYS, VALUES), max_size=4, unique_by=lambda row: row[0])), max_size=5)
)
def test_every_key_of_random_tables_is_found_on_its_line(tables: list[tuple[str, list[tuple[str, str]]]]) -> None:
    rows: list[str] = []
    expected = {}
    counts: dict[str, int] = {}
    for name, keys in tables:
        number = counts.get(name, 0)
        counts[name] = number + 1
        rows.append(f"[[{name}]]")
        expected[(name, number)] = len(rows)
        for key, value in keys:
            rows += ["", f"{key} = {value} # remark"]
            expected[(name, number, key)] = len(rows)
    text = "\n".join(rows)
    tomllib.loads(text)
    lines = LineMap(text)
    assert {path: lines.line(path) for path in expected} == expected
