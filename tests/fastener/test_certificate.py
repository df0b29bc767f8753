"""Digital calibration certificates of torque tools: what is read, what is doubted, what is refused."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.fastener.certificates_made import (
    CORE,
    ITEM,
    NM,
    certificate,
    number,
    numbers,
    result,
    statement,
)

from twoturn.fastener.certificate.model import CertificateError
from twoturn.fastener.certificate.read import read_certificate
from twoturn.fastener.certificate.units import share, torque_nm

OLD_SPREAD = (
    "<si:expandedUncXMLList><si:uncertaintyXMLList>0.6</si:uncertaintyXMLList>"
    "<si:coverageFactorXMLList>2</si:coverageFactorXMLList></si:expandedUncXMLList>"
)
NEW_SPREAD = (
    "<si:measurementUncertaintyUnivariateXMLList><si:expandedMUXMLList>"
    "<si:valueExpandedMUXMLList>0.6 0.7 0.8</si:valueExpandedMUXMLList>"
    "<si:coverageFactorXMLList>2 2 2</si:coverageFactorXMLList>"
    "</si:expandedMUXMLList></si:measurementUncertaintyUnivariateXMLList>"
)
SET = numbers("basic_nominalValue", [10, 30, 50])
MEASURED = numbers("basic_measuredValue", [10.2, 30.0, 49.0])


def test_all_a_certificate_says_of_the_tool() -> None:
    stated = statement("recalibration", "<dcc:date>2026-03-03</dcc:date>")
    stated += statement("conformity", "<dcc:conformity>pass</dcc:conformity>")
    method = "<dcc:usedMethod><dcc:norm>ISO 6789-2:2017</dcc:norm></dcc:usedMethod>"
    found = read_certificate(certificate(result(SET, MEASURED), statements=stated, methods=method), "tool.xml")
    assert (found.number, found.laboratory, found.schema_version) == ("INV-0042", "Invented Laboratory", "3.2.1")
    assert (found.item, found.manufacturer, found.model, found.serial) == (
        "Torque wrench",
        "Invented Tools",
        "IW 50",
        "SN 1234",
    )
    assert (found.calibrated, found.valid_until) == (date(2025, 3, 4), date(2026, 3, 3))
    assert (found.conformity, found.norms, found.signed) == ("pass", ("ISO 6789-2:2017",), False)
    assert (found.low_nm, found.high_nm, found.range_stated) == (10, 50, False)


def test_the_deviation_is_set_less_reference_over_reference() -> None:
    """ISO 6789-1, the deviation of a setting tool: set value less reference value, over the reference value."""
    found = read_certificate(certificate(result(SET, MEASURED)))
    assert [point.deviation for point in found.points] == pytest.approx([-0.2 / 10.2, 0, 1 / 49])
    assert found.greatest_deviation == pytest.approx(1 / 49)


@pytest.mark.parametrize(("spread", "expanded"), [(OLD_SPREAD, [0.006] * 3), (NEW_SPREAD, [0.006, 0.007, 0.008])])
def test_uncertainty_in_the_shapes_of_both_schemas(spread: str, expanded: list[float]) -> None:
    error = numbers("basic_measurementError", [-1.96, 0, 2.04], r"\percent", spread)
    found = read_certificate(certificate(result(SET, MEASURED, error)))
    assert [point.expanded for point in found.points] == pytest.approx(expanded)
    assert [point.coverage for point in found.points] == [2, 2, 2]
    assert not any("uncertainty" in doubt for doubt in found.doubts)


def test_kilonewton_metres_and_single_numbers() -> None:
    pair = (number("basic_nominalValue", 0.05, r"\kilo\newton\metre"), number("basic_measuredValue", 50.5))
    (point,) = read_certificate(certificate(result(*pair))).points
    assert (point.set_nm, point.reference_nm) == pytest.approx((50, 50.5))


def test_what_came_before_an_adjustment_does_not_tell_how_the_tool_is() -> None:
    before = result(SET, numbers("basic_measuredValue", [12, 36, 60]), kind="basic_beforeAdjustment")
    found = read_certificate(certificate(before, result(SET, MEASURED, kind="basic_afterAdjustment")))
    assert [point.before_adjustment for point in found.points] == [True] * 3 + [False] * 3
    assert found.greatest_deviation == pytest.approx(1 / 49)
    alone = read_certificate(certificate(before))
    assert "It holds no torque compared after adjustment." in alone.doubts
    assert alone.greatest_deviation is None


def test_a_stated_range_rules() -> None:
    ends = number("basic_validityRangeMin", 8) + number("basic_validityRangeMax", 60)
    found = read_certificate(
        certificate(result(SET, MEASURED), statements=statement("validityRange", f"<dcc:data>{ends}</dcc:data>"))
    )
    assert (found.low_nm, found.high_nm, found.range_stated) == (8, 60, True)
    tool = found.as_tool("wrench A")
    assert (tool.low_nm, tool.high_nm, tool.calibrated) == (8, 60, date(2025, 3, 4))


def test_a_stated_deviation_that_its_torques_do_not_bear_out() -> None:
    error = numbers("basic_measurementError", [-1.96, 0, 9], r"\percent")
    found = read_certificate(certificate(result(SET, MEASURED, error)))
    assert any("states a deviation of 9.0 %, and its torques give 2.0 %" in doubt for doubt in found.doubts)
    assert found.points[2].deviation == pytest.approx(1 / 49)


def test_missing_things_are_said() -> None:
    found = read_certificate(certificate(result(numbers("", [10, 50]))))
    assert found.doubts == (
        "It does not state the range; it was taken from the torques that were compared.",
        "It states no deviation.",
        "It states no uncertainty.",
        "It carries no electronic signature.",
    )


def test_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "wrench.xml"
    path.write_bytes(certificate(result(SET, MEASURED)))
    assert read_certificate(path) == read_certificate(path.read_bytes())
    with pytest.raises(CertificateError, match="cannot be opened"):
        read_certificate(tmp_path / "none.xml")


ENTITY = b'<!DOCTYPE d [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><d>&b;</d>'
OUTSIDE = b'<!DOCTYPE d [<!ENTITY x SYSTEM "file:///etc/passwd">]><d>&x;</d>'
DEEP = b"<a>" * 2000 + b"</a>" * 2000
MANY = b"<r>" + b"<a/>" * 120_000 + b"</r>"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"   \n", "is empty"),
        (b"%PDF-1.7 not xml", "is no XML file"),
        (certificate(result(SET))[:-40], "is no XML file, or it is cut off"),
        (b"<svg/>", "is XML, but no digital calibration certificate"),
        (ENTITY, "declares a document type or entities"),
        (OUTSIDE, "declares a document type or entities"),
        (b'<!DOCTYPE d SYSTEM "http://example.invalid/d.dtd"><d/>', "declares a document type or entities"),
        (DEEP, "more elements than any"),
        (MANY, "more elements than any"),
        (b" " * 20_000_001 + b"<a/>", "is 20 MB"),
        (certificate(result(SET), items=""), "does not say what was calibrated"),
        (certificate(result(SET), items=ITEM * 3), "is a certificate of 3 items"),
        (certificate(result(SET), core=""), "does not say when the tool was calibrated"),
        (
            certificate(result(SET), core=re.sub("2025-03-0[34]", "last March", CORE)),
            "does not say when the tool was calibrated",
        ),
        (certificate(result(numbers("basic_nominalValue", [1], r"\metre"))), "is the certificate of: Torque wrench"),
        (certificate(result(numbers("basic_nominalValue", [-5, 0]))), "holds no torque"),
        (certificate(), "holds no torque"),
    ],
)
def test_refused_in_one_sentence(data: bytes, words: str) -> None:
    with pytest.raises(CertificateError, match=words) as refused:
        read_certificate(data, "paper.xml")
    assert refused.value.sentence.startswith("paper.xml")
    assert "/etc/passwd" not in str(refused.value)


@given(st.data())
def test_a_damaged_certificate_is_read_or_refused(data: st.DataObject) -> None:
    whole = bytearray(certificate(result(SET, MEASURED)))
    for _ in range(data.draw(st.integers(1, 5))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = read_certificate(bytes(whole), "tool.xml")
    except CertificateError:
        return
    assert 0 < found.low_nm < found.high_nm


def test_names_are_kept_short_and_plain() -> None:
    long = ITEM.replace("IW 50", "x" * 5000).replace("Torque wrench", "wrench&#10;&#x202E;right")
    found = read_certificate(certificate(result(SET), items=long))
    assert len(found.model) <= 80
    assert found.item == "wrench right"


@pytest.mark.parametrize(
    ("unit", "size"),
    [
        (NM, 1.0),
        (r"\metre\newton", 1.0),
        (r"\kilo\newton\metre", 1000.0),
        (r"\centi\newton\metre", 0.01),
        (r"\newton\centi\metre", 0.01),
        (r"\kilogram\metre\tothe{2}\second\tothe{-2}", 1.0),
        (r"\kilogram\metre\tothe{2}\per\second\tothe{2}", 1.0),
        (r"\gram\metre\tothe{2}\per\second\tothe{2}", 0.001),
    ],
)
def test_units_of_torque(unit: str, size: float) -> None:
    """Prefixes and powers as BIPM's SI brochure has them: 1 N·m = 1 kg·m²·s⁻²."""
    assert torque_nm(1.0, unit) == pytest.approx(size)


@pytest.mark.parametrize("unit", ["", "N m", r"\newton", r"\kelvin", r"\newton\metre x", r"\metre\tothe{x}", r"\joule"])
def test_units_that_are_none_of_torque(unit: str) -> None:
    assert torque_nm(1.0, unit) is None


def test_shares() -> None:
    assert share(4, r"\percent") == pytest.approx(0.04)
    assert share(0.04, r"\one") == pytest.approx(0.04)
    assert share(4, NM) is None
