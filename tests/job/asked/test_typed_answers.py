"""What a person types becomes an entry: comma and point, his own units, nothing guessed by a factor, every fault told.

Conversions are exact by definition (ISO 80000-4: pound-force foot; inch 25.4 mm; mile 1609.344 m); 1 lbf·ft =
1.355818 N·m as every torque chart prints it.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.job.asked.answering import ENGINES, KNOWN, Bench, engine, plan_of

from twoturn.errors import FileFaults, TwoTurnError
from twoturn.job.asked.model import Asked, Choice, Field, Given, Units
from twoturn.job.asked.steps import asked
from twoturn.job.asked.typed import in_units, quick_row, row_of, understood
from twoturn.job.rows import entry_of_row

IMPERIAL = Units("lbf·ft", "in", "°F", "mi")
LENGTH = Field("value_mm", "Width", "number", "mm", low=0, high=200)


def question(name: str, asked_id: str) -> Asked:
    return Bench(name).every[asked_id]


def faults(asked_one: Asked, said: dict[str, Given], units: Units | None = None) -> dict[str, str]:
    with pytest.raises(FileFaults) as refused:
        row_of(asked_one, said, units or Units())
    return {fault.key: fault.sentence for fault in refused.value.faults}


@pytest.mark.parametrize(
    ("text", "words", "value"),
    [
        ("12,5", "understood: 12.5 mm", 12.5),
        ("12.5", "understood: 12.5 mm", 12.5),
        (" 12,5 mm ", "understood: 12.5 mm", 12.5),
        ("1,25 cm", "understood: 1.25 cm = 12.5 mm", "1.25 cm"),
        ("1/2 in", "understood: 0.5 in = 12.7 mm", "0.5 in"),
        ("1,234", "understood: 1.234 mm", 1.234),
    ],
)
def test_a_number_is_told_back_with_its_unit(text: str, words: str, value: float | str) -> None:
    found = understood(LENGTH, text)
    assert (found.ok, found.words, found.value) == (True, words, value)


def test_two_meanings_are_settled_by_what_is_possible_or_both_are_named() -> None:
    km = Field("km", "Odometer", "number", "km", low=0, high=5e6)
    refused = understood(km, "118.400")
    assert not refused.ok
    assert "118.4 km or 118400 km" in refused.words
    assert understood(replace(km, likely=(118000, 2e6)), "118.400").words == "understood: 118400 km"
    assert understood(replace(LENGTH, high=2000), "1.234").words.count("1.234") >= 2
    assert understood(LENGTH, "1.234").value == 1.234


@pytest.mark.parametrize("text", ["", "  ", (), None])
def test_an_empty_field_is_told_nothing_of(text: Given) -> None:
    assert understood(LENGTH, text).words == ""
    assert not understood(LENGTH, text).ok
    assert understood(replace(LENGTH, required=False), text).ok


@pytest.mark.parametrize("text", ["abc", "12 kg", "-3", "201", "1.2.3", "12 5", "nan", "inf", "1e400", "5" * 200])
def test_what_is_no_such_number_is_refused_in_one_sentence(text: str) -> None:
    found = understood(LENGTH, text)
    assert not found.ok
    assert found.words.startswith("Width: found ")
    assert "inf" not in found.words.replace('"inf"', "").replace("'inf'", "")
    assert found.value is None


def test_numbers_without_a_unit_are_in_the_persons_units() -> None:
    tool = question("alder-one-cam", "lay-out-parts/tool")
    said: dict[str, Given] = {"tool": "K", "low_nm": "4", "high_nm": "60 N·m", "calibrated": "2025-10-14"}
    row = row_of(tool, said, IMPERIAL)
    assert (row["low_nm"], row["high_nm"]) == ("4 lbf·ft", 60.0)
    assert entry_of_row(row).low_nm == pytest.approx(4 * 1.355818, abs=1e-5)  # type: ignore[attr-defined]
    assert understood(tool.fields[1], "18", IMPERIAL).words == "understood: 18 lbf·ft = 24.4 N·m"
    km = question("alder-one-cam", "identify-vehicle/odometer")
    row = row_of(km, {"km": "74,000"}, IMPERIAL)
    assert entry_of_row(row).km == pytest.approx(74000 * 1.609344)  # type: ignore[attr-defined]
    air = question("alder-one-cam", "cool-and-temperature/temperature/shop-air")
    row = row_of(air, {"temperature_c": "68"}, IMPERIAL)
    assert entry_of_row(row).temperature_c == pytest.approx(20)  # type: ignore[attr-defined]


def test_what_the_drawer_fills_in_stays_in_its_unit_for_someone_who_uses_others() -> None:
    tool = question("alder-one-cam", "lay-out-parts/tool/a")
    shown = in_units(tool, IMPERIAL)
    assert shown.filled["low_nm"] == "5 N·m"
    entry = entry_of_row(row_of(shown, shown.quick_values, IMPERIAL))
    assert entry == entry_of_row(quick_row(tool))
    assert entry.low_nm == 5.0  # type: ignore[attr-defined]
    assert in_units(tool, Units()) is tool


def test_a_number_with_three_decimals_is_kept_so_that_it_is_read_again_alike() -> None:
    row = row_of(question("alder-one-cam", "look-at-old-belt/measured/width"), {"value": "0.7481 in"})
    assert entry_of_row(row).number[0] == pytest.approx(0.7481 * 25.4)  # type: ignore[attr-defined]
    row = row_of(
        question("fir-vee-six", "prove-setting/protrusion/protrusion-tensioner"), {"protrusion_mm": "1,2340 cm"}
    )
    assert entry_of_row(row).protrusion_mm == pytest.approx(12.34)  # type: ignore[attr-defined]


def test_stages_are_typed_as_the_paper_has_them() -> None:
    row = question("cedar-common-rail", "fit-covers/torque")
    key = "row.crankshaft bolt"
    typed = row_of(row, {key: "80; loosen 180°; 60 N·m + 120°", "tool": ("A", "B")})
    assert typed["row"] == {"crankshaft bolt": ["80 N·m", "loosen 180°", "60 N·m", "120°"]}
    typed = row_of(row, {key: "59; loosen 180; 44,5, then 120°", "tool": ("A",)}, IMPERIAL)
    assert typed["row"] == {"crankshaft bolt": ["59 lbf·ft", "loosen 180 °", "44,5 lbf·ft", "120°"]}
    assert list(faults(row, {key: "tight", "tool": ("A",)})) == [key]


def test_every_fault_names_its_field_and_all_are_told_at_once() -> None:
    belt = question("alder-one-cam", "thread-belt/belt-fitted")
    told = faults(belt, {"teeth": "a lot", "arrow": "sideways", "width_mm": "12 kg", "colour": "black"})
    assert set(told) == {"teeth", "teeth_from", "arrow", "width_mm", "colour"}
    assert told["colour"].startswith("The belt on: colour: found an unknown key; expected one of teeth")
    assert '"with travel"' in told["arrow"]


def test_a_fault_of_the_whole_entry_is_told_at_the_field_to_fill_in() -> None:
    pointer = question("birch-two-cams", "prove-setting/pointer/pointer-tensioner")
    assert list(faults(pointer, {"reads": "short"})) == ["widths"]
    assert row_of(pointer, {"reads": "short", "off_deg": "2,5"})["off_deg"] == 2.5
    assert row_of(pointer, {"reads": "past", "widths": "0.5"})["widths"] == 0.5
    hidden = row_of(pointer, {"reads": "in the notch", "widths": "2", "off_deg": "3"})
    assert "widths" not in hidden
    assert "off_deg" not in hidden
    tool = question("alder-one-cam", "lay-out-parts/tool")
    told = faults(tool, {"tool": "K", "low_nm": "60", "high_nm": "5", "calibrated": "2025-10-14"})
    assert list(told) == ["low_nm"]


def test_marks_and_yes_or_no_become_what_an_entry_holds() -> None:
    mark = question("alder-one-cam", "prove-timing/mark")
    row = row_of(mark, {"at": ("camshaft",), "reads": "half", "way": "late"})
    assert row == {"kind": "mark", "at": "camshaft", "reads": "half", "way": "late", "done": "prove-timing"}
    assert "way" not in row_of(mark, {"at": ("camshaft",), "reads": "on", "way": "late"})
    last = question("alder-one-cam", "hand-over/moved-at-end")
    assert row_of(last, {"moved": "no"})["moved"] is False
    left = question("alder-one-cam", "record-as-found/step-done")
    assert list(faults(left, {"yes": "no"})) == ["note"]
    assert row_of(left, {"yes": "no", "note": "towed in"})["yes"] is False
    assert list(faults(left, {"yes": "yes"})) == ["yes"]


def test_a_sensor_recording_keeps_how_the_engine_ran_in_a_table_of_its_own() -> None:
    capture = question("alder-one-cam", "crank-injection-off/capture")
    said: dict[str, Given] = {"file": "left.csv", "sha256": "AB" * 32, "regime.cranking": "yes", "regime.rpm": "210"}
    row = row_of(capture, said)
    assert row["regime"] == {"cranking": True, "rpm": 210.0}
    assert row["sha256"] == "ab" * 32
    assert list(faults(capture, {"file": "left.csv", "sha256": "12"})) == ["sha256"]
    assert list(faults(question("alder-one-cam", "identify-vehicle/odometer"), {"km": "5", "sha256": "ab" * 32})) == [
        "sha256"
    ]


def test_what_stays_is_clear_but_for_what_is_named() -> None:
    stays = question("alder-one-cam", "check-what-stays/finding")
    row = row_of(stays, {"except": ("leak-oil",)})
    assert (row["finding"], row["present"], row["except"]) == ("all", False, "leak-oil")
    assert "except" not in quick_row(stays)


def test_one_tap_is_refused_where_something_is_left_to_say() -> None:
    with pytest.raises(FileFaults):
        quick_row(question("alder-one-cam", "identify-vehicle/odometer"))


@pytest.mark.parametrize("name", ENGINES)
def test_every_one_tap_answer_is_a_whole_entry(name: str) -> None:
    for one in Bench(name).every.values():
        if one.quick is not None:
            assert entry_of_row(quick_row(one)).kind == one.kind
            assert quick_row(one)["done"] == one.step


EVERY = [
    one
    for name in ENGINES
    for group in asked(engine(name), plan_of(name), (), KNOWN).values()
    for one in group
]  # fmt: skip
KINDS = list({(one.kind, tuple(field.key for field in one.fields)): one for one in EVERY}.values())
TYPED = st.one_of(
    st.text(max_size=40),
    st.from_regex(r"[+-]?[0-9]{0,7}[.,]?[0-9]{0,4} ?(mm|in|N·m|lbf·ft|°|°F|km|mi|turns|teeth)?", fullmatch=True),
    st.lists(st.text(max_size=12), max_size=4).map(tuple),
    st.sampled_from(
        ["on", "half", "short", "past", "yes", "no", "…", "?", "overnight", "12,5", "1.234", "\ud800", "\x00"]
    ),
)


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_whatever_is_typed_gives_an_entry_or_a_sentence(data: st.DataObject) -> None:
    one = data.draw(st.sampled_from(KINDS))
    keys = [field.key for field in one.every_field]
    said = data.draw(st.dictionaries(st.one_of(st.sampled_from([*keys, "sha256"]), st.text(max_size=5)), TYPED))
    units = data.draw(st.sampled_from([Units(), IMPERIAL]))
    row = None
    with suppress(TwoTurnError):
        row = row_of(one, said, units)
    if row is not None:
        assert entry_of_row(row).kind == one.kind
        assert None not in row.values()
    for field in one.every_field:
        found = understood(field, said.get(field.key), units)
        assert found.ok or found.words or field.required


@settings(max_examples=300, deadline=None)
@given(st.floats(0.001, 190).map(lambda value: round(value, 3)), st.sampled_from([".", ","]))
def test_a_number_typed_with_comma_or_point_is_the_same_number(value: float, mark: str) -> None:
    text = f"{value:.4f}".replace(".", mark)
    assert understood(LENGTH, text).value == pytest.approx(value)
    inches = understood(LENGTH, text + " in")
    if inches.ok:
        choice = Asked("x", "x", "measured", "x", {"kind": "measured", "quantity": "width", "unit": "mm"},
                       (replace(LENGTH, key="value"),))  # fmt: skip
        row = row_of(choice, {"value": text + " in"})
        assert entry_of_row(row).number[0] == pytest.approx(value * 25.4)  # type: ignore[attr-defined]


def test_a_choice_beside_typed_words_keeps_both() -> None:
    field = Field("how", "Cured by", "choice", choices=(Choice("seal renewed", "seal renewed"),), or_typed=True)
    assert understood(field, "seal renewed").value == "seal renewed"
    assert understood(field, "pump renewed and dry").value == "pump renewed and dry"
