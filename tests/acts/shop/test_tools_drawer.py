"""The drawer: what a certificate says is kept as a whole, and what is sent twice is kept once."""

from __future__ import annotations

import io

import pytest

from twoturn.acts.shop.forms import FormRefused
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.tools import Paper, add_calibration, keep_certified, read_certificate, save_tool, tools_page
from twoturn.store.faults import NotFound

SAID = {"name": "A", "low": "10", "high": "60", "on": "2025-10-14", "months": "12", "source": "an invented laboratory"}


def paper(shop: Shop, ida: Actor) -> str:
    """SHA-256 of a certificate on paper."""
    return read_certificate(shop, ida, io.BytesIO(b"%PDF-1.4 invented"), "certificate.pdf").sha256


def test_a_certificate_kept_twice_is_one_tool_with_one_calibration(workshop: Shop, ida: Actor) -> None:
    said = SAID | {"certificate": paper(workshop, ida)}
    first = keep_certified(workshop, ida, said)
    assert keep_certified(workshop, ida, said | {"name": "a"}) == first
    assert keep_certified(workshop, ida, said | {"tool": str(first.id)}) == first
    [line] = tools_page(workshop)
    assert len(line.calibrations) == 1
    with pytest.raises(FormRefused, match="of the name"):
        keep_certified(workshop, ida, said | {"on": "2025-10-15"})


def test_a_certificate_that_is_not_there_leaves_no_tool_behind(workshop: Shop, ida: Actor) -> None:
    with pytest.raises(NotFound, match="certificate's file"):
        keep_certified(workshop, ida, SAID | {"certificate": "0" * 64})
    with pytest.raises(NotFound, match="tool number"):
        keep_certified(workshop, ida, SAID | {"tool": "9"})
    assert tools_page(workshop) == ()


def test_a_calibration_sent_twice_is_one_and_another_of_that_day_counts(workshop: Shop, ida: Actor) -> None:
    tool = save_tool(workshop, ida, SAID)
    sent = {"on": "2025-10-14", "months": "12"}
    for _ in range(2):
        add_calibration(workshop, ida, tool.id, sent, Paper(io.BytesIO(b"%PDF-1.4 invented"), "certificate.pdf"))
    assert len(tools_page(workshop)[0].calibrations) == 1
    add_calibration(workshop, ida, tool.id, sent | {"months": "6"})
    assert [one.valid_months for one in tools_page(workshop)[0].calibrations] == [6, 12]
