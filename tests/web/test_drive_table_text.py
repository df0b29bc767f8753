"""Fields of a wheel write into the drive's text: the same value gives the same drive, another one only that value."""

from __future__ import annotations

import tomllib

import pytest
from playwright.sync_api import Page

from twoturn.acts.drive_files import shipped_drives

ROWS = """async ([text, heads]) => {
  const { plainKeys, withValue } = await import('/js/drive/table_text.js');
  const rows = heads.map((line) => plainKeys(text, line));
  let same = text;
  for (const row of rows.flat()) same = withValue(same, row, row.value);
  return { rows, same };
}"""
PUT = """async ([text, row, value]) => (await import('/js/drive/table_text.js')).withValue(text, row, value)"""


@pytest.mark.parametrize("name", sorted(shipped_drives()))
def test_the_same_values_written_again_are_the_same_drive(drive_page: Page, name: str) -> None:
    text = shipped_drives()[name]
    heads = [at for at, line in enumerate(text.splitlines(), 1) if line.strip() == "[[pulley]]"]
    drive_page.goto(f"/{name}")
    found = drive_page.evaluate(ROWS, [text, heads])
    assert tomllib.loads(found["same"]) == tomllib.loads(text)
    for table, rows in zip(tomllib.loads(text)["pulley"], found["rows"], strict=True):
        assert {row["key"] for row in rows} == set(table)


def test_only_the_value_is_put_and_what_moved_meanwhile_is_left_alone(drive_page: Page) -> None:
    table = '[[pulley]]\n  id = "a # b"  # name\nteeth=20#count\nat_mm = [ 1.0, 2.0 ]\nlong = [\n  1,\n]\n'
    text = table + "[[pulley]]\nteeth = 7\n"
    drive_page.goto("/alder-one-cam")
    (rows,) = drive_page.evaluate(ROWS, [text, [1]])["rows"]
    assert [(row["key"], row["value"]) for row in rows] == [("id", "a # b"), ("teeth", "20"), ("at_mm", "1.0, 2.0")]
    name, teeth, place = rows
    assert drive_page.evaluate(PUT, [text, name, 'c "d"']) == text.replace('"a # b"', '"c \\"d\\""')
    assert drive_page.evaluate(PUT, [text, teeth, "22"]) == text.replace("teeth=20#", "teeth=22#")
    assert drive_page.evaluate(PUT, [text, place, "3, 4"]) == text.replace("[ 1.0, 2.0 ]", "[3, 4]")
    assert drive_page.evaluate(PUT, [text, {**teeth, "line": 4}, "22"]) == text
    assert drive_page.evaluate(PUT, [text, {**teeth, "line": 40}, "22"]) == text
