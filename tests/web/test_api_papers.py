"""By the API alone: recordings analysed and accepted, a job handed over, its papers fetched, a certificate read in."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest
from tests.recording.made import plucked_wav
from tests.web.bench import BenchClient
from tests.web.stocked import Stocked, signed_in
from tests.web.test_api import Ask, asker
from tests.web.test_bench_drawer import DCC

from twoturn.acts.shop.jobs import held_job
from twoturn.web.app import make_app

PLUCK: dict[str, Any] = {"kind": "pluck", "span": "roller:camshaft", "file": "note.wav", "done": "prove-setting"}
FITTED: dict[str, Any] = {"kind": "belt fitted", "teeth": 109, "arrow": "with travel", "done": "thread-belt"}
NUT: dict[str, Any] = {"kind": "torque", "fastener": "roller nut", "set": 35, "done": "set-tensioner"}
"""More than the drive allows (19.8 to 24.2 N·m)."""


@pytest.fixture
def ask(stocked: Stocked) -> Iterator[Ask]:
    """``ask("POST", path, json=...)`` of the bench of one person; its analyses run as long as the test."""
    with BenchClient(make_app(stocked.shop), base_url="http://127.0.0.1:8642") as client:
        yield asker(client)


def done(ask: Ask, path: str) -> dict[str, Any]:
    """Wait for an analysis."""
    until = time.monotonic() + 60
    while (told := ask("GET", path).json())["state"] == "going on":
        assert time.monotonic() < until
        time.sleep(0.05)
    return dict(told)


def test_a_recording_is_analysed_and_accepted_or_put_aside(stocked: Stocked, ask: Ask) -> None:
    job = f"/api/jobs/{stocked.job}"
    assert ask("POST", f"{job}/analyses", json={"entry": PLUCK}).status_code == 404, "the file comes first"
    assert ask("POST", f"{job}/analyses", json={"entry": {"kind": "remark", "text": "x"}}).status_code == 422
    ask("POST", f"{job}/files", files={"file": ("note.wav", plucked_wav(144.3))}, data={"kind": "sound"})
    begun = ask("POST", f"{job}/analyses", json={"entry": PLUCK})
    assert begun.status_code == 202, begun.text
    path = f"{job}/analyses/{begun.json()['id']}"
    told = done(ask, path)
    assert told["answer"]["entry"]["reading"]["frequency_hz"] == pytest.approx(144.3, rel=0.003)
    assert ask("GET", f"{path}/pictures/0").headers["content-type"] == "image/svg+xml"
    assert ask("GET", f"{path}/pictures/99").status_code == 404
    assert len(held_job(stocked.shop, stocked.job).entries) == 1, "nothing is entered before it is accepted"
    first, again = ask("POST", f"{path}/accept").json(), ask("POST", f"{path}/accept").json()
    assert (first["first"], first["repeated"]) == (2, False)
    assert (again["first"], again["repeated"]) == (2, True)
    assert [one["entry"] for one in ask("GET", f"{job}/analyses").json()] == [2]
    other = ask("POST", f"{job}/analyses", json={"entry": {**PLUCK, "note": "once more"}}).json()["id"]
    done(ask, f"{job}/analyses/{other}")
    assert ask("POST", f"{job}/analyses/{other}/put-aside", json={"reason": " "}).status_code == 422
    assert ask("POST", f"{job}/analyses/{other}/put-aside", json={"reason": "another span"}).status_code == 204
    assert [entry.content["kind"] for entry in held_job(stocked.shop, stocked.job).entries][1:] == ["pluck", "remark"]


def test_a_job_is_handed_over_and_its_papers_are_fetched(stocked: Stocked, ask: Ask) -> None:
    job = f"/api/jobs/{stocked.job}"
    ask("POST", f"{job}/entries", key="work", json={"entries": [FITTED, NUT]})
    seen = ask("GET", f"{job}/hand-over").json()
    assert seen["unanswered"] == ["torque-roller-nut"]
    assert (seen["current"], seen["invoice"]) == (None, "")
    assert ask("GET", f"{job}/papers/label").status_code == 422, "nothing is handed over yet"
    if seen["asks_last"]:
        assert ask("POST", f"{job}/hand-over/last-question", key="last", json={"moved": False}).status_code == 204
    refused = ask("POST", f"{job}/hand-over", key="none", json={})
    assert (refused.status_code, list(refused.json()["error"]["fields"])) == (422, ["reason-torque-roller-nut"])
    reasons = {"torque-roller-nut": "renewed and tightened by the maker's note"}
    assert ask("POST", f"{job}/hand-over", json={"reasons": reasons}).status_code == 400, "without a key"
    sheets = [ask("POST", f"{job}/hand-over", key="go", json={"reasons": reasons}) for _ in range(2)]
    assert [one.status_code for one in sheets] == [201, 201]
    assert sheets[0].json() == sheets[1].json()
    seen = ask("GET", f"{job}/hand-over").json()
    assert seen["current"] == sheets[0].json()["id"]
    assert seen["invoice"]
    for kind, media in (("label", "application/pdf"), ("customer", "application/pdf"), ("invoice", "text/plain")):
        paper = ask("GET", f"{job}/papers/{kind}")
        assert (paper.status_code, paper.headers["content-type"].partition(";")[0]) == (200, media)
    assert ask("GET", f"{job}/papers/song").status_code == 404
    sheet = ask("GET", f"{job}/sheets/{seen['current']}")
    assert sheet.content.startswith(b"%PDF")
    assert ask("GET", f"{job}/sheets/99").status_code == 404
    assert ask("GET", job).json()["job"]["closed_at"]


def test_only_a_lead_hands_over_in_spite_of_what_is_not_met(stocked: Stocked) -> None:
    job = f"/api/jobs/{stocked.job}"
    for role, status in (("trainee", 403), ("technician", 403), ("lead", 201)):
        with signed_in(stocked.shop, role) as client:
            ask = asker(client)
            ask("POST", f"{job}/entries", key=f"work of {role}", json={"entries": [FITTED, NUT]})
            assert ask("GET", f"{job}/hand-over").json()["may"] == (role == "lead")
            reasons = {"reasons": {"torque-roller-nut": "known"}}
            assert ask("POST", f"{job}/hand-over", key=f"by {role}", json=reasons).status_code == status


def test_a_certificate_is_read_and_its_calibration_added(stocked: Stocked, ask: Ask) -> None:
    read = ask("POST", "/api/tools/certificates", files={"file": ("INV-0042.xml", DCC)})
    assert read.status_code == 201, read.text
    told = read.json()
    assert (told["says"]["low"], told["says"]["high"]) == ("10 N\u00b7m", "50 N\u00b7m")
    tool = f"/api/tools/{stocked.tool}"
    new = {"on": told["says"]["on"], "source": told["says"]["source"], "certificate": told["sha256"]}
    assert ask("POST", f"{tool}/calibrations", json=new).status_code == 201
    assert told["sha256"] in [one["certificate"] for one in ask("GET", tool).json()["calibrations"]]
    assert ask("GET", f"{tool}/certificates/{told['sha256']}").content == DCC
    assert ask("POST", "/api/tools/certificates", files={"file": ("x.xml", b"<x/>")}).status_code == 422
    assert ask("POST", f"{tool}/calibrations", json=new | {"certificate": "0" * 64}).status_code == 404
