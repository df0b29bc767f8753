"""The printed plan: its text comes out again, nothing of it is lost, its fonts and standards are as promised."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime
from functools import cache

import pytest
from pypdf import PdfReader
from tests.plan.plan_drives import FOLDER, KNOWN, SIX, demo, demo_plan

from twoturn.acts.plan import plan_sheet
from twoturn.plan import VehicleFacts, make_plan
from twoturn.report.plan_pdf import plan_pdf
from twoturn.report.typeset import SheetError, typeset

WHEN = datetime(2026, 3, 2, 17, 40, tzinfo=UTC)
SIGNS = "ä ö ü ß ø Å ł Ł Ж я µ ° ² ± × − → ☐ Ω ≤ “ ” ’ – N·m é ñ"


@cache
def _reader(name: str) -> PdfReader:
    return PdfReader(io.BytesIO(plan_sheet(demo_plan(name), str(FOLDER / f"{name}.toml"), WHEN)))


def _plain(text: str) -> str:
    return re.sub(r"\s+", "", text)


@cache
def _text(name: str) -> str:
    """The text of all pages without spaces and line ends, which a reader places as it likes."""
    return _plain(" ".join(page.extract_text() for page in _reader(name).pages))


@pytest.mark.parametrize("name", SIX)
def test_every_step_comes_out_of_the_pdf_again(name: str) -> None:
    text, lost = _text(name), []
    for step in demo_plan(name).steps:
        parts = [step.title, *(value.value for value in step.values), *(record.what for record in step.records)]
        lost += [(step.id, part) for part in parts if _plain(part) not in text]
    assert lost == []


@pytest.mark.parametrize("name", SIX)
def test_acts_and_cautions_come_out_again(name: str) -> None:
    # an act may run over a page's end, where header and footer stand between: its first words are enough
    text = _text(name)
    for step in demo_plan(name).steps:
        for sentence in [*step.acts, *(caution.text for caution in step.cautions)]:
            assert _plain(" ".join(sentence.split()[:5])) in text, step.id


@pytest.mark.parametrize("name", SIX)
def test_the_lists_source_deference_and_page_numbers_are_printed(name: str) -> None:
    text, plan = _text(name), demo_plan(name)
    assert all(_plain(part.name) in text for part in plan.parts)
    assert all(_plain(pin.id) in text for pin in plan.pins)
    pages = _reader(name).pages
    for number, page in enumerate(pages, 1):
        printed = _plain(page.extract_text())
        assert f"page{number}of{len(pages)}" in printed
        assert _plain(plan.source) in printed
        assert "Thevehiclemaker'sprocedureandvaluescomefirst" in printed.replace("’", "'")
        assert "Inventeddataforpractice" in printed


def test_the_pdf_is_tagged_titled_and_carries_the_time_it_was_given() -> None:
    reader = _reader("birch-two-cams")
    assert reader.metadata is not None
    assert reader.metadata.title == "Plan: Birch 16, two camshafts (invented)"
    assert reader.metadata.creation_date == WHEN
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"].lower().startswith("en")
    metadata = root["/Metadata"].get_data().decode()
    assert "<pdfuaid:part>1<" in metadata
    assert "<pdfaid:part>2<" in metadata
    assert "<pdfaid:conformance>A<" in metadata


def test_a4_and_only_the_shipped_fonts_embedded() -> None:
    reader = _reader("fir-vee-six")
    fonts = set()
    for page in reader.pages:
        assert (round(page.mediabox.width), round(page.mediabox.height)) == (595, 842)  # A4: 210 x 297 mm in points
        for font in page["/Resources"].get("/Font", {}).values():
            fonts.add(font.get_object()["/BaseFont"].partition("+")[2])
            (inner,) = font.get_object()["/DescendantFonts"]
            assert "/FontFile2" in inner.get_object()["/FontDescriptor"]
    assert fonts == {"DejaVuSansCondensed", "DejaVuSansCondensed-Bold"}


def test_every_sign_of_the_trade_and_of_names_comes_out_again() -> None:
    drive = demo("alder-one-cam")
    plan = make_plan(drive, VehicleFacts(registration=SIGNS))
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(plan_pdf(plan, WHEN))).pages)
    assert _plain(SIGNS) in _plain(text)


def test_text_that_looks_like_markup_stays_text() -> None:
    wild = '#panic("x") *bold* _it_ $x$ `raw` <tag> @ref \\ [a] {b} // c'
    plan = make_plan(demo("alder-one-cam"), VehicleFacts(registration=wild))
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(plan_pdf(plan, WHEN))).pages)
    assert _plain(wild) in _plain(text)


def test_the_same_plan_at_the_same_time_gives_the_same_bytes() -> None:
    plan = demo_plan("damson-rotary-pump", KNOWN)
    assert plan_pdf(plan, WHEN) == plan_pdf(plan, WHEN)
    assert plan_pdf(plan, WHEN) == plan_pdf(plan, WHEN.replace(microsecond=5, tzinfo=None))


def test_each_belt_is_drawn() -> None:
    for name in SIX:
        for belt in demo(name).belts:
            assert _plain(f"The belt drive{f': {belt.id}' if len(demo(name).belts) > 1 else ''}") in _text(name)


def test_an_unknown_sheet_is_refused_with_the_known_ones() -> None:
    with pytest.raises(SheetError, match="plan"):
        typeset("no such sheet", {})


def test_a_template_that_fails_is_one_clear_error() -> None:
    with pytest.raises(SheetError, match="cannot be typeset"):
        typeset("plan", {"title": "only a title"})


@pytest.mark.parametrize("name", SIX)
def test_a_steps_title_cautions_and_first_act_stand_on_one_page(name: str) -> None:
    pages = [_plain(page.extract_text()) for page in _reader(name).pages]
    apart = []
    for step in demo_plan(name).steps:
        wanted = [step.title, *(caution.text for caution in step.cautions), *step.acts[:1]]
        if not any(all(_plain(text) in page for text in wanted) for page in pages):
            apart.append(step.id)
    assert apart == []


@pytest.mark.parametrize("name", SIX)
def test_the_steps_begin_on_the_first_page(name: str) -> None:
    assert _plain(demo_plan(name).steps[0].title) in _plain(_reader(name).pages[0].extract_text())
