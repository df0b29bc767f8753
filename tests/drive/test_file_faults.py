"""Files with one fault each: the key, the line, and words that say what would be right."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.drive.file_texts import LIST, MEASURED, WHOLE, Bad, changed, check_one_fault, faults_of, line_of

from twoturn.drive.load import load_drive
from twoturn.errors import FileFaults

SYNTAX = {
    "bracket": Bad(LIST, "[drive]", "[drive", "[drive", "[drive", "closing ]"),
    "quotation mark": Bad(LIST, 'source = "invented', "source = invented", "source", "source =", "quotation marks"),
    "open text": Bad(LIST, 'grade = "8.8"', 'grade = "8.8', "grade", "grade =", "ends on its own line"),
    "key twice": Bad(LIST, "teeth = 104", "teeth = 104\nteeth = 105", "teeth", "teeth = 105", "once only"),
    "table twice": Bad(LIST, "[[belt]]", "[drive]\n[[belt]]", "[drive]", "[drive]\n", "once only"),
    "decimal comma": Bad(LIST, "teeth = 104", "teeth = 104,5", "teeth", "104,5", "decimal point"),
    "no value": Bad(LIST, "teeth = 104", "teeth =", "teeth", "teeth =\n", "12.5"),
    "no key": Bad(LIST, "teeth = 104", "= 104", "text", "= 104", "key = value"),
    "sentence": Bad(LIST, "teeth = 104", "a belt of 104 teeth", "text", "a belt of", "key = value"),
}
TYPES = {
    "teeth in quotes": Bad(LIST, "teeth = 104", 'teeth = "104"', "belt[1].teeth", '"104"', "without quotation marks"),
    "teeth broken": Bad(LIST, "teeth = 104", "teeth = 104.5", "belt[1].teeth", "104.5", "whole number from 10 to 1000"),
    "teeth true": Bad(LIST, "teeth = 104", "teeth = true", "belt[1].teeth", "teeth = true", "a whole number"),
    "teeth a date": Bad(LIST, "teeth = 104", "teeth = 2026-01-02", "belt[1].teeth", "2026-01-02", "a whole number"),
    "too few teeth": Bad(LIST, "teeth = 104", "teeth = 3", "belt[1].teeth", "teeth = 3", "from 10 to 1000"),
    "wrong way": Bad(LIST, '"clockwise"', '"right"', "drive.crank_turns", '"right"', '"counter-clockwise"'),
    "wrong role": Bad(LIST, '"camshaft"', '"cam"', "pulley[3].role", '"cam"\nteeth', "injection pump"),
    "wrong kind": Bad(LIST, '"locked eccentric"', '"spring"', "tensioner[1].kind", '"spring"', "hydraulic"),
    "no kind": Bad(LIST, 'kind = "locked eccentric"\n', "", "tensioner[1].kind", "[[tensioner]]", "double eccentric"),
    "unknown key": Bad(
        LIST,
        'mark_deg = 0\n\n[[pulley]]\nid = "ten',
        'mark_dg = 0\n\n[[pulley]]\nid = "ten',
        "pulley[1].mark_dg",
        "mark_dg",
        "mark_deg, if that is meant",
    ),
    "key of another kind": Bad(WHOLE, "tang = true", "ram_n = 200", "tensioner[1].ram_n", "ram_n", '"hydraulic"'),
    "unknown table": Bad(LIST, "[[fastener]]", "[[fasteners]]", "fasteners", "[[fasteners]]", "fastener, if"),
    "one bracket": Bad(LIST, "[[belt]]", "[belt]", "belt", "[belt]", "double brackets"),
    "two brackets": Bad(LIST, "[drive]", "[[drive]]", "drive", "[[drive]]", "single brackets"),
    "no name": Bad(LIST, 'name = "Invented 1.4, eight valves"\n', "", "drive.name", "[drive]", "a text"),
    "no source": Bad(LIST, 'source = "invented for this page"\n', "", "drive.source", "[drive]", "a text"),
    "empty source": Bad(LIST, '"invented for this page"', '""', "drive.source", '""', "a text"),
    "no belt teeth": Bad(LIST, "teeth = 104\n", "", "belt[1].teeth", "[[belt]]", "a whole number"),
    "one coordinate": Bad(WHOLE, "[64.0, 150.0]", "[64.0]", "pulley[4].at_mm", "[64.0]", "two numbers"),
    "three coordinates": Bad(WHOLE, "[64.0, 150.0]", "[1, 2, 3]", "pulley[4].at_mm", "[1, 2, 3]", "two numbers"),
    "not finite": Bad(WHOLE, "[64.0, 150.0]", "[inf, 1]", "pulley[4].at_mm[1]", "[inf, 1]", "a number"),
    "negative arm": Bad(WHOLE, "arm_mm = 6.0", "arm_mm = -6.0", "tensioner[1].arm_mm", "-6.0", "above 0"),
    "grade as number": Bad(LIST, 'grade = "8.8"', "grade = 8.8", "fastener[1].grade", "grade = 8.8", '"8.8"'),
    "two in a stage": Bad(
        LIST,
        "torque_nm = 22",
        "torque_nm = 22, angle_deg = 90",
        "fastener[1].stages[1]",
        "torque_nm = 22",
        "one of torque_nm",
    ),
    "empty act": Bad(LIST, "{ turns = 2 }", "{}", "tensioner[1].setting[3]", "setting =", "what to do"),
    "negative u": Bad(
        WHOLE, "stiffness_n_u = 84e3", "stiffness_n_u = -1", "belt[1].stiffness_n_u", "= -1", "0 or more"
    ),
    "u in words": Bad(WHOLE, "at_mm_u = 0.3", 'at_mm_u = "0.3"', "pulley[3].at_mm_u", '"0.3"', "0 or more"),
    "u of teeth": Bad(LIST, "teeth = 104", "teeth = 104\nteeth_u = 1", "belt[1].teeth_u", "teeth_u", "exact"),
    "low above high": Bad(WHOLE, "low = 96", "low = 110", "requirement[2].low", "low = 110", "low at or below high"),
    "wrong quantity": Bad(WHOLE, '"frequency"', '"hertz"', "requirement[2].quantity", '"hertz"', '"frequency"'),
    "colon in an id": Bad(LIST, 'id = "cam"', 'id = "ca:m"', "pulley[3].id", "ca:m", "without a colon"),
    "key of another table": Bad(
        LIST, "teeth = 19", "teeth = 19\ndouble_sided = true", "pulley[4].double_sided", "double_sided", "in [[belt]]"
    ),
    "from_": Bad(WHOLE, 'from = "inlet cam"', 'from = "inlet cam"\nfrom_ = "x"', "link[1].from_", "from_", "from, if"),
    "uncertainties": Bad(
        LIST, "teeth = 104", "teeth = 104\nuncertainties = {}", "belt[1].uncertainties", "uncertainties", "<key>_u"
    ),
    "valve list order": Bad(WHOLE, "[1, 3, 4, 2]", "[1, 3, 3, 2]", "engine.firing_order", "[1, 3, 3, 2]", "1 to 4"),
}
ALONE = {
    "u alone": Bad(
        WHOLE, "width_mm = 25.4", "expansion_per_k_u = 1e-6", "belt[1].expansion_per_k_u", "expansion_per_k_u", "alone"
    ),
    "two u for one": Bad(
        WHOLE, "stiffness_n_u = 84e3", "stiffness_n_u = [1, 2]", "belt[1].stiffness_n_u", "[1, 2]", "one number"
    ),
    "u twice": Bad(
        MEASURED, "bearing_deg = 0", "bearing_deg = 0\nu_mm = 1", "distance[1].u_mm", "\nu_mm = 1".strip(), "not both"
    ),
    "designation teeth": Bad(WHOLE, '"114 ZA 25"', '"113 ZA 25"', "belt[1].designation", "113 ZA", "114 teeth"),
    "designation pitch": Bad(WHOLE, '"114 ZA 25"', '"114 YU 25"', "belt[1].designation", "114 YU", "9.525 mm pitch"),
    "designation width": Bad(WHOLE, '"114 ZA 25"', '"114 ZA 19"', "belt[1].designation", "114 ZA", "25.4 mm width"),
    "mark beyond": Bad(WHOLE, "marks = [0, 47]", "marks = [0, 114]", "belt[1].marks[2]", "[0, 114]", "0 to 113"),
    "mark twice": Bad(WHOLE, "marks = [0, 47]", "marks = [47, 47]", "belt[1].marks[2]", "[47, 47]", "once"),
    "mass twice": Bad(
        WHOLE,
        "mass_kg_per_m = 0.13",
        "mass_kg_per_m = 0.13\nweighed_g = 140",
        "belt[1].weighed_g",
        "weighed_g",
        "not both",
    ),
    "window turned": Bad(
        WHOLE,
        "window_deg = [-6, 6]",
        "window_deg = [6, -6]",
        "tensioner[1].window_deg",
        "[6, -6]",
        "smaller number first",
    ),
    "window beyond": Bad(
        WHOLE, "window_deg = [-6, 6]", "window_deg = [-6, 40]", "tensioner[1].window_deg", "[-6, 40]", "[-35, 35]"
    ),
    "notch beyond": Bad(
        WHOLE,
        "stops_deg = [-35, 35]",
        "stops_deg = [1, 35]",
        "tensioner[1].stops_deg",
        "[1, 35]",
        "both sides of the notch",
    ),
    "adjuster beyond": Bad(
        WHOLE,
        "adjuster_deg = 30.0",
        "adjuster_deg = 120.0",
        "tensioner[1].adjuster_deg",
        "adjuster_deg = 120",
        "[-30, 90]",
    ),
    "adjuster range": Bad(WHOLE, "[-30, 90]", "[90, 90]", "tensioner[1].adjuster_range_deg", "[90, 90]", "clockwise"),
    "set beyond": Bad(
        MEASURED, "set_deg = 0", "set_deg = 50\nstops_deg = [-9, 9]", "tensioner[1].set_deg", "set_deg = 50", "[-9, 9]"
    ),
    "short rod": Bad(WHOLE, "stroke_mm = 81.4", "stroke_mm = 81.4\nrod_mm = 40", "engine.rod_mm", "rod_mm", "40.7"),
    "thread": Bad(LIST, '"M8"', '"M8x"', "fastener[1].thread", '"M8x"', "M10x1.25"),
    "no limits": Bad(
        WHOLE, "low = 96\nhigh = 108\n", "", "requirement[2].low", '[[requirement]]\nid = "note"', "low, high or both"
    ),
}
ALL = {**TYPES, **ALONE}


@pytest.mark.parametrize("bad", SYNTAX.values(), ids=SYNTAX)
def test_text_that_is_no_toml(bad: Bad) -> None:
    text = bad.text.replace(bad.old, bad.new, 1)
    (fault,) = faults_of(text)
    assert fault.key == bad.key
    assert bad.says in fault.expected
    assert fault.line is not None
    assert bad.at.strip() in text.split("\n")[fault.line - 1]


@pytest.mark.parametrize("bad", ALL.values(), ids=ALL)
def test_one_fault(bad: Bad) -> None:
    check_one_fault(bad)


def test_all_faults_are_told_in_file_order() -> None:
    text = changed(changed(LIST, "teeth = 104", 'teeth = "104"'), '"clockwise"', '"right"')
    text = changed(text, "torque_nm = 22", "torque_nm = 0")
    faults = faults_of(text)
    assert [fault.key for fault in faults] == ["drive.crank_turns", "belt[1].teeth", "fastener[1].stages[1].torque_nm"]
    assert [fault.line for fault in faults] == [
        line_of(text, '"right"'),
        line_of(text, '"104"'),
        line_of(text, "= 0 }"),
    ]


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"", "begin with a copy"),
        (b"# only a remark\n", "begin with a copy"),
        (b"\xff\xfe[\x00d\x00", "saved as UTF-8"),
        (b'[drive]\nname = "stra\xdfe"\n', "saved as UTF-8"),
        (b"a = " + b"[" * 5000 + b"]" * 5000, "hundreds deep"),
        (b"a = " + b"9" * 6000, "means something"),
        (b"# " + b"x" * 1_100_000, "few kB"),
        (b"a." * 20_000 + b"b = 1", "drive"),
        (b"teeth = 0x" + b"f" * 9000, "drive"),
        (b"\x00", "key = value"),
    ],
)
def test_files_that_are_no_drive_file(tmp_path: Path, raw: bytes, says: str) -> None:
    path = tmp_path / "file.toml"
    path.write_bytes(raw)
    with pytest.raises(FileFaults) as caught:
        load_drive(path)
    assert says in " ".join(fault.sentence for fault in caught.value.faults)
    assert all(len(fault.sentence) < 900 for fault in caught.value.faults)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    for path, found in [(tmp_path / "none.toml", "no such file"), (tmp_path, "a folder"), ("a\0b", "cannot be opened")]:
        with pytest.raises(FileFaults, match=found):
            load_drive(path)


def test_byte_order_mark_and_windows_line_ends_are_fine(tmp_path: Path) -> None:
    path = tmp_path / "drive.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    assert load_drive(path).belts[0].table.teeth == 114


def test_a_key_that_nobody_wrote_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text("\n" + "a.b" * 13_333 + "c = 1")
    with pytest.raises(FileFaults, match="line 2: text: found a key of 40001 characters"):
        load_drive(path)
