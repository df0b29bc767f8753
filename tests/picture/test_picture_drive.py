"""The drawing of a drive: right in what it shows, whole as a document, the same for a browser and a typesetter."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drive.turning_drives import HEAD, SIX, drive_of, mirrored

import twoturn.demo
from twoturn.drive.load import load_drive
from twoturn.mechanics.belt import belt_at_rest
from twoturn.picture.drawing import DrawOptions, drive_svg
from twoturn.picture.scene import span_sides

DRIVES = sorted((Path(twoturn.demo.__path__[0]) / "drives").glob("*.toml"))
NS = "{http://www.w3.org/2000/svg}"


def drawn(drive, options: DrawOptions | None = None) -> str:
    return drive_svg(drive, [belt_at_rest(drive, belt) for belt in drive.belts], options or DrawOptions())


def words_of(document: str) -> list[str]:
    return [(element.text or "") for element in ET.fromstring(document).iter(f"{NS}text")]  # noqa: S314


@pytest.fixture(scope="module", params=DRIVES, ids=lambda path: path.stem)
def shipped(request: pytest.FixtureRequest):
    return load_drive(request.param)


def test_it_is_a_document_that_needs_nothing_else(shipped) -> None:
    document = drawn(shipped)
    root = ET.fromstring(document)  # noqa: S314
    assert root.find(f"{NS}title").text.endswith(shipped.name)
    assert len(root.find(f"{NS}desc").text) > 60
    for banned in ("foreignObject", "var(", "<style", "href", "<script", "url(", "<image", "nan", "inf"):
        assert banned not in document
    assert set(re.findall(r"(?:fill|stroke)=\"(#[0-9a-f]{6})\"", document)) <= {
        f"#{grey}{grey}{grey}" for grey in ("11", "ff", "bd", "e6", "dc", "8c")
    }


def test_every_wheel_span_and_tensioner_is_named_in_text(shipped) -> None:
    said = " ".join(words_of(drawn(shipped))).replace("\u00a0", " ")
    for belt in shipped.belts:
        for pulley in belt.pulleys:
            assert pulley.id in said
            if pulley.teeth:
                assert f"{pulley.teeth} teeth" in said
    assert "taut side" in said
    assert "slack side" in said


def test_words_stay_on_the_page(shipped) -> None:
    root = ET.fromstring(drawn(shipped))  # noqa: S314
    height = float(root.get("height"))
    for element in root.iter(f"{NS}text"):
        assert 0 <= float(element.get("x")) <= 360
        assert -20 <= float(element.get("y")) <= height + 60


def test_the_belt_has_as_many_teeth_as_are_counted(shipped) -> None:
    root = ET.fromstring(drawn(shipped))  # noqa: S314
    expected = [belt.table.teeth for belt in shipped.belts if belt.has_coordinates]
    trapezoids = [
        element.get("d").count("Z")
        for element in root.iter(f"{NS}path")
        if element.get("stroke") == "none" and element.get("d").count("Z") > 20
    ]
    assert sorted(trapezoids) == sorted(expected)


def test_a_list_drive_says_that_it_is_not_to_scale() -> None:
    listed = load_drive(next(path for path in DRIVES if path.stem.startswith("damson")))
    said = " ".join(words_of(drawn(listed)))
    assert "Not to scale" in said
    assert " mm" not in said
    assert "0, 42 and 72" in said


def test_counts_between_marks_are_written() -> None:
    alder = load_drive(next(path for path in DRIVES if path.stem.startswith("alder")))
    said = words_of(drawn(alder))
    assert "crankshaft mark to camshaft mark, along travel: 43\u00a0teeth" in said
    assert {"0", "43"} <= set(said)


def test_two_turns_later_the_wheels_look_the_same_but_the_painted_lines_do_not() -> None:
    """Common practice, no source: after two turns the marks meet, the painted lines need not."""
    drive = drive_of(SIX)
    first, later = (ET.fromstring(drawn(drive, DrawOptions(crank_deg=angle, legend=False))) for angle in (0, 720))  # noqa: S314

    def marks(root: ET.Element) -> list[str]:
        return [
            one.get("d")
            for one in root.iter(f"{NS}path")
            if one.get("fill") == "#111111" and one.get("stroke") == "#111111" and one.get("d").count("L") == 2
        ]

    def lines(root: ET.Element) -> list[str]:
        return [
            one.get("d")
            for one in root.iter(f"{NS}path")
            if one.get("fill") == "#ffffff" and one.get("d").count("L") == 3
        ]

    marked = len(drive.belts[0].marked)
    assert marks(first)[:marked] == marks(later)[:marked]
    assert lines(first) != lines(later)


def test_sides_follow_the_crank() -> None:
    drive = drive_of(SIX)
    assert span_sides(drive.belts[0]) == ["slack", "slack", "between", "taut", "taut"]
    assert span_sides(drive_of(mirrored(SIX)).belts[0]) == span_sides(drive.belts[0])


@given(
    st.lists(st.sampled_from(["camshaft", "coolant pump", "idler", "injection pump"]), min_size=1, max_size=7),
    st.integers(0, 6),
    st.sampled_from(["clockwise", "counter-clockwise"]),
    st.sampled_from(["back", "teeth"]),
)
@settings(max_examples=60, deadline=None)
def test_any_list_drive_is_drawn(roles: list[str], place: int, turns: str, side: str) -> None:
    text = HEAD.format(turns=turns) + '[[belt]]\nid = "b"\nteeth = 140\n'
    text += '[[pulley]]\nid = "crank"\nrole = "crankshaft"\nteeth = 20\nmark_deg = 0.0\n'
    rows = []
    for number, role in enumerate(roles):
        size = "diameter_mm = 60.0\n" if role == "idler" else "teeth = 40\n"
        where = f'belt_side = "{side}"\n' if role == "idler" else 'belt_side = "teeth"\n'
        rows.append(f'[[pulley]]\nid = "wheel {number}"\nrole = "{role}"\n{size}{where}')
    roller = '[[pulley]]\nid = "roller"\nrole = "tensioner"\ndiameter_mm = 60.0\nbelt_side = "back"\n'
    rows.insert(min(place, len(rows)), roller)
    text += "".join(rows) + '[[tensioner]]\npulley = "roller"\nkind = "double eccentric"\n'
    said = " ".join(words_of(drawn(drive_of(text)))).replace("\u00a0", " ")
    for number in range(len(roles)):
        assert f"wheel {number}" in said
    assert "Not to scale" in said or "no drawing possible" in said


def test_one_belt_can_be_drawn_alone() -> None:
    elder = load_drive(next(path for path in DRIVES if path.stem.startswith("elder")))
    alone = words_of(drawn(elder, DrawOptions(belt="balance")))
    assert "balance roller" in " ".join(alone)
    assert "guide roller" not in " ".join(alone)


def test_a_typesetter_takes_it_and_the_text_stays_text(shipped, tmp_path: Path) -> None:
    import typst

    (tmp_path / "drive.svg").write_text(drawn(shipped), encoding="utf-8")
    (tmp_path / "page.typ").write_text('#set page(width: 120mm, height: auto)\n#image("drive.svg", alt: "drive")')
    pdf = typst.compile(str(tmp_path / "page.typ"))
    assert pdf[:4] == b"%PDF"
    assert len(pdf) > 5000
