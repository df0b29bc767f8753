"""The papers of a hand-over: label, customer's page and invoice text say what the record says, no more and no less."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache

import pytest
from pypdf import PdfReader
from tests.report.handed import FACTS, SHIPPED, WHEN, of_rows, shipped

from twoturn.plan.due import Due
from twoturn.quantity.conformity import Verdict
from twoturn.report.customer_page import MOST_OPEN, customer_pdf
from twoturn.report.handed_over import HandedOver, open_checks, renewed, renewed_fasteners
from twoturn.report.invoice import invoice_text
from twoturn.report.label import label_pdf

MM = 72 / 25.4


def _plain(text: str) -> str:
    return re.sub(r"\s+", "", text)


def _pages(pdf: bytes) -> list[str]:
    return [_plain(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


@cache
def _customer(job: str) -> str:
    (page,) = _pages(customer_pdf(shipped(job), WHEN))
    return page


@cache
def _label(job: str) -> str:
    (page,) = _pages(label_pdf(shipped(job), WHEN))
    return page


FITTED = {"kind": "belt fitted", "teeth": 109, "entered": "2026-03-02T12:00:00", "by": "Ida Brook"}
NUT = {"kind": "torque", "fastener": "roller nut", "to_plan": True, "tool": "A"}


@pytest.mark.parametrize("job", SHIPPED)
def test_one_page_each_with_what_every_paper_owes(job: str) -> None:
    handed = shipped(job)
    for text in (_label(job), _customer(job), _plain(invoice_text(handed))):
        assert _plain(handed.record_words) in text
        assert handed.fitted.isoformat() in text
        assert _plain(handed.due.words().split(",")[0].split(" or ")[0]) in text if handed.due else True
        assert "Invented" in text
        for item in renewed(handed):
            assert _plain(item).lower() in text.lower()


@pytest.mark.parametrize("job", SHIPPED)
def test_the_customer_reads_every_check_that_binds(job: str) -> None:
    handed = shipped(job)
    for check in [*handed.assessment.required]:
        if not check.id.startswith("finding-") or check.verdict is not Verdict.PROVEN:
            assert _plain(check.title) in _customer(job), check.id
    for check in open_checks(handed):
        assert _plain(check.why) in _customer(job), check.id


@pytest.mark.parametrize("job", SHIPPED)
def test_the_invoice_names_every_open_check_and_every_proven_torque(job: str) -> None:
    handed, text = shipped(job), _plain(invoice_text(shipped(job)))
    for check in open_checks(handed):
        assert _plain(f"{check.title}: {'notmet' if check.verdict is Verdict.NOT_MET else 'notshownyet'}") in text
    for check in handed.assessment.checks:
        if check.id.startswith("torque-") and check.verdict is Verdict.PROVEN and check.reading:
            assert _plain(check.reading) in text


def test_a_check_that_is_not_met_stands_first_and_is_a_caution() -> None:
    text = _customer("cedar-one-tooth-late")
    assert text.index("checksthatarenotmet") < text.index("Whatwasdone") < text.index("Whatwasnotshown")
    assert "CAUTION" in text
    assert "checksnotmet" in _label("cedar-one-tooth-late")


def test_the_customer_is_told_what_stop_means_and_offered_the_old_parts() -> None:
    text = _customer("alder-proven")
    assert _plain("stop the engine, do not start it again") in text
    assert _plain("The old parts are kept for you") in text
    assert _plain("maker's procedure and values come first") in text


def test_the_label_is_small() -> None:
    (page,) = PdfReader(io.BytesIO(label_pdf(shipped("alder-proven"), WHEN))).pages
    assert float(page.mediabox.width) == pytest.approx(100 * MM, abs=0.5)
    assert float(page.mediabox.height) == pytest.approx(62 * MM, abs=0.5)


def test_turning_is_on_the_label_only_where_it_is_proven() -> None:
    turned = {"kind": "turned", "turns": 2}
    with_turns = of_rows("alder-one-cam", [FITTED, turned])
    assert "twoturnsbyhandafterfitting" in _pages(label_pdf(with_turns))[0]
    assert "notintherecord" in _pages(label_pdf(of_rows("alder-one-cam", [FITTED])))[0]
    assert "notintherecord" in _pages(label_pdf(of_rows("alder-one-cam", [turned, FITTED])))[0]


def test_a_single_use_fastener_counts_as_new_only_where_an_entry_says_so() -> None:
    assert renewed_fasteners(of_rows("alder-one-cam", [FITTED, NUT])) == ()
    assert renewed_fasteners(of_rows("alder-one-cam", [FITTED, NUT | {"new": False}])) == ()
    assert renewed_fasteners(of_rows("alder-one-cam", [FITTED, NUT | {"new": True}])) == ("roller nut (M8)",)
    every = NUT | {"new": True, "fastener": "all"}
    assert renewed_fasteners(of_rows("alder-one-cam", [FITTED, every])) == (
        "roller nut (M8)",
        "crankshaft bolt (M12x1.25)",
    )


def test_what_was_corrected_is_not_billed() -> None:
    wrong = {"kind": "part fitted", "part": "coolant pump", "number": "OLD-1", "id": "pump"}
    right = {"kind": "part fitted", "part": "coolant pump", "number": "NEW-2", "replaces": "pump"}
    struck = {"kind": "part fitted", "part": "ghost", "id": "ghost"}
    gone = {"kind": "struck out", "replaces": "ghost", "reason": "never fitted"}
    text = invoice_text(of_rows("alder-one-cam", [FITTED, wrong, right, struck, gone]))
    assert "NEW-2" in text
    assert "OLD-1" not in text
    assert "ghost" not in text


def test_the_day_of_fitting_is_that_of_the_last_belt_and_the_odometer_the_last_read() -> None:
    rows = [
        {"kind": "odometer", "km": 1000, "entered": "2026-02-27T08:00:00", "by": "Ida"},
        FITTED | {"entered": "2026-02-28T10:00:00"},
        FITTED | {"entered": "2026-03-01T10:00:00"},
        {"kind": "odometer", "km": 1012},
    ]
    handed = of_rows("alder-one-cam", rows)
    assert (handed.fitted.isoformat(), handed.km) == ("2026-03-01", 1012)
    assert of_rows("alder-one-cam", rows[:1]).fitted == FACTS.on
    assert of_rows("alder-one-cam", [FITTED], replace(FACTS, km=777.0)).km == 777.0


def test_an_override_is_told_with_reason_and_name() -> None:
    rows = [FITTED, {"kind": "override", "check": "torque-roller-nut", "reason": "tool under repair", "by": "Lea Lead"}]
    handed = of_rows("alder-one-cam", rows)
    told = "Tightening: roller nut (M8): tool under repair (Lea Lead)"
    assert told in invoice_text(handed)
    assert _plain(told) in _pages(customer_pdf(handed))[0]


def test_invoice_lines_are_plain() -> None:
    odd = FITTED | {"designation": "109\u00a0ZA\u202f19"}
    text = invoice_text(of_rows("alder-one-cam", [odd, {"kind": "cured", "finding": "pump-leak", "how": "a\nb"}]))
    assert "109 ZA 19" in text
    assert "a b" in text
    assert not re.search(r"[\t\r\u00a0\u202f]|  ", text)
    assert all(line.strip() == line and line for line in text.removesuffix("\n").split("\n"))


def test_odd_names_do_no_harm_to_the_pages() -> None:
    facts = replace(
        FACTS, registration='#panic("x") <b>&*_$', shop="A" * 200, address="\n".join("line" * 9 for _ in range(6))
    )
    handed = of_rows("fir-vee-six", [FITTED | {"designation": "#import \\ $x$ `a`", "teeth": 183}], facts)
    assert _plain('#panic("x")<b>&*_$') in _pages(label_pdf(handed))[0]
    assert len(_pages(customer_pdf(handed))) == 1
    assert len(open_checks(handed)) > 3
    assert MOST_OPEN >= 5


def test_the_longest_job_still_is_one_page() -> None:
    """Every check of the drive with most of them, none shown, and many parts."""
    parts = [{"kind": "part fitted", "part": f"part number {n}", "number": f"X-{n}"} for n in range(12)]
    for name in ("elder-balance-shafts", "fir-vee-six", "birch-two-cams"):
        handed = of_rows(name, [*parts, FITTED])
        assert len(_pages(customer_pdf(handed))) == 1
        assert len(_pages(label_pdf(handed))) == 1


def test_a_drive_without_interval_defers_to_the_maker() -> None:
    class Undated(HandedOver):
        @property
        def due(self) -> Due | None:
            return None

    handed = Undated(**vars(shipped("alder-proven")))
    assert "by the vehicle maker's schedule" in invoice_text(handed)
    assert _plain("by the vehicle maker's schedule") in _pages(customer_pdf(handed))[0].replace("By", "by")


def test_the_same_record_gives_the_same_bytes() -> None:
    handed = shipped("alder-proven")
    assert label_pdf(handed, WHEN) == label_pdf(handed, WHEN)
    assert customer_pdf(handed, WHEN) == customer_pdf(handed, WHEN)


@pytest.mark.parametrize("make", [label_pdf, customer_pdf])
def test_readable_by_a_screen_reader_and_kept(make: object) -> None:
    """PDF/UA-1 (ISO 14289-1): a title that is shown, a language, tags; PDF/A-2: both named in the metadata."""
    reader = PdfReader(io.BytesIO(make(shipped("alder-proven"), WHEN)))  # type: ignore[operator]
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"].startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    metadata = root["/Metadata"].get_data()
    assert b"pdfuaid:part" in metadata
    assert b"pdfaid:part" in metadata
