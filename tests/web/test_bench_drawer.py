"""The drawer of torque tools: ranges, calibrations, certificates; the same tools are what jobs know."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from tests.fastener.certificates_made import certificate, numbers, result, statement
from tests.web.bench import BenchClient

from twoturn.acts.shop.known import known_tools
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.tools import add_calibration, months_after, save_tool, tools_page

DCC = certificate(
    result(numbers("basic_nominalValue", [10, 30, 50]), numbers("basic_measuredValue", [10.2, 30.0, 49.0])),
    statements=statement("recalibration", "<dcc:date>2026-03-03</dcc:date>"),
)
WRENCH = {"name": "A", "type": "torque wrench", "class": "II A", "low": "10", "high": "60 N·m"}


def _new(client: BenchClient, **more: str) -> str:
    answer = client.form("/tools/new", WRENCH | more)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def test_a_tool_is_kept_and_a_job_knows_it(client: BenchClient, shop: Shop) -> None:
    path = _new(client, low="7.38 lbf·ft")
    client.form(f"{path}/calibrations", {"on": "14.10.2025", "months": "24"})
    with shop.reading() as connection:
        [known] = known_tools(connection)
    assert (known.tool, known.class_, known.high_nm) == ("A", "II A", 60.0)
    assert known.low_nm == pytest.approx(10.0, abs=0.01)  # 1 lbf·ft = 1.355818 N·m (exact by definition of lbf and ft)
    assert (known.calibrated, known.valid_months) == (date(2025, 10, 14), 24)


def test_faults_are_told_at_their_fields(client: BenchClient) -> None:
    answer = client.form("/tools/new", WRENCH | {"name": "", "low": "60", "high": "10", "class": "IX Z"})
    assert answer.status_code == 422
    for said in ("A tool is told by its name", "upside down", "none of the choices"):
        assert said in answer.text
    _new(client)
    assert "There is a tool of the name" in client.form("/tools/new", WRENCH | {"name": "a"}).text


@pytest.mark.parametrize(
    ("ago", "state"), [(0, "holds"), (300, "holds"), (345, "soon"), (370, "ended"), (None, "none")]
)
def test_the_state_of_a_calibration(shop: Shop, person: Actor, ago: int | None, state: str) -> None:
    tool = save_tool(shop, person, WRENCH)
    if ago is not None:
        day = shop.now().astimezone().date() - timedelta(days=ago)
        add_calibration(shop, person, tool.id, {"on": day.isoformat()})
    assert [line.state for line in tools_page(shop)] == [state]


@pytest.mark.parametrize(
    ("day", "months", "end"),
    [
        (date(2025, 1, 31), 1, date(2025, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2025, 12, 15), 12, date(2026, 12, 15)),
        (date(2025, 6, 30), 6, date(2025, 12, 30)),
    ],
)
def test_months_later(day: date, months: int, end: date) -> None:
    assert months_after(day, months) == end


def _fields(text: str) -> dict[str, str]:
    return dict(re.findall(r'<input[^>]*\bname="(\w+)"[^>]*\bvalue="([^"]*)"', text))


def test_a_digital_certificate_makes_a_tool(client: BenchClient, shop: Shop) -> None:
    paper = ("INV-0042.xml", DCC, "application/xml")
    asked = client.form("/tools/certificate", files={"paper": paper})
    assert asked.status_code == 200
    assert "Invented Laboratory" in asked.text
    fields = _fields(asked.text) | {"tool": "", "name": "C"}
    kept = client.form("/tools/certificate/keep", fields)
    assert kept.status_code == 303
    [line] = tools_page(shop)
    assert (line.tool.name, line.tool.low_nm, line.tool.high_nm) == ("C", 10.0, 50.0)
    assert (line.calibrations[0].on, line.calibrations[0].valid_months) == (date(2025, 3, 4), 12)
    held = client.get(f"{kept.headers['location']}/certificates/{line.calibrations[0].certificate}")
    assert held.content == DCC
    assert held.headers["content-disposition"].startswith("attachment")


def test_a_digital_certificate_is_a_tools_next_calibration(client: BenchClient, shop: Shop) -> None:
    path = _new(client)
    paper = ("INV-0042.xml", DCC, "application/xml")
    assert client.form(f"{path}/calibrations", files={"paper": paper}).status_code == 303
    [line] = tools_page(shop)
    assert line.calibrations[0].on == date(2025, 3, 4)
    assert "Invented Laboratory" in (line.calibrations[0].source or "")


def test_a_paper_certificate_is_kept_as_it_is(client: BenchClient, shop: Shop) -> None:
    path = _new(client)
    paper = ("../../x y.pdf", b"%PDF-1.4 invented", "application/pdf")
    assert client.form(f"{path}/calibrations", files={"paper": paper}).status_code == 422  # the day is not typed
    answer = client.form(f"{path}/calibrations", {"on": "2025-10-14"}, files={"paper": paper})
    assert answer.status_code == 303
    digest = tools_page(shop)[0].calibrations[0].certificate
    held = client.get(f"{path}/certificates/{digest}")
    assert held.content == b"%PDF-1.4 invented"
    assert 'filename="x-y.pdf"' in held.headers["content-disposition"]


@pytest.mark.parametrize(
    ("name", "content"),
    [("x.xml", b"<a/>"), ("x.xml", b"junk"), ("x.exe", b"MZ"), ("x.pdf", b""), ("", b"")],
)
def test_what_is_no_certificate_is_refused_in_words(client: BenchClient, name: str, content: bytes) -> None:
    answer = client.form("/tools/certificate", files={"paper": (name, content)} if name else {})
    assert answer.status_code == 422
    assert 'class="trouble"' in answer.text


def test_a_certificate_of_nobody_is_not_given(client: BenchClient) -> None:
    path = _new(client)
    for digest in ("0" * 64, "..%2F..%2Ftwoturn.sqlite", "x"):
        assert client.get(f"{path}/certificates/{digest}").status_code == 404
    assert client.form(f"{path}/calibrations", {"on": "2025-10-14", "certificate": "0" * 64}).status_code == 404
