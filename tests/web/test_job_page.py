"""The job's page as plain forms, without any script, and what the queue gets for its sendings."""

from __future__ import annotations

import re
from typing import Any

import pytest
from tests.web.bench import BenchClient

from twoturn.acts.shop.drives import ensure_shipped, library
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import start_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.vehicles import save_vehicle


def begin(shop: Shop, person: Actor, drive: str = "Birch 16", registration: str = "QX 31 DEMO") -> int:
    """A job on an invented vehicle by a shipped drive; its number in addresses."""
    ensure_shipped(shop)
    version = next(line.version_id for line in library(shop) if line.name.startswith(drive))
    vehicle = save_vehicle(shop, person, {"registration": registration}).vehicle
    return start_job(shop, person, vehicle.id, version).id


def said(page: str, asked: str) -> list[str]:
    """What the page says that a question was answered with."""
    at = asked.replace("/", "--")
    found = re.search(rf'<section id="q-{re.escape(at)}".*?</section>', page, re.DOTALL)
    assert found, f"the page does not ask {asked}"
    return re.findall(r'<p class="said">\S (.*?)</p>', found[0])


@pytest.fixture
def job(shop: Shop, person: Actor) -> int:
    """A job just begun."""
    return begin(shop, person)


def form_of(page: str, asked: str) -> dict[str, Any]:
    """The hidden fields of a question's form as the page has them."""
    found = re.search(rf'<form[^>]*data-ask="{re.escape(asked)}".*?</form>', page, re.DOTALL)
    assert found, f"the page does not ask {asked}"
    return dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', found[0]))


def test_every_step_stands_there_with_its_caution_and_questions(client: BenchClient, shop: Shop, job: int) -> None:
    page = client.get(f"/jobs/{job}").text
    view = job_view(shop, job)
    for step in view.plan.steps:
        assert f'id="step-{step.id}"' in page
    for questions in view.asked.values():
        for one in questions:
            assert f'data-ask="{one.id}"' in page
    assert "Do not force a pin" in page or "never force" in page.lower()
    assert "do not reload it without wifi" in page


def test_one_tap_without_script_is_one_entry(client: BenchClient, shop: Shop, job: int) -> None:
    asked = "turn-by-hand/turned"
    fields = form_of(client.get(f"/jobs/{job}").text, asked)
    answer = client.form(f"/jobs/{job}/entries", {**fields, "quick": "yes"})
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/jobs/{job}#q-turn-by-hand--turned"
    again = client.form(f"/jobs/{job}/entries", {**fields, "quick": "yes"})  # the same form sent by a second tap
    assert again.status_code == 303
    lines = job_view(shop, job).lines
    assert [line.kind for line in lines] == ["turned"]
    assert len(said(client.get(f"/jobs/{job}").text, asked)) == 1


def test_what_cannot_be_understood_comes_back_with_what_was_typed(client: BenchClient, shop: Shop, job: int) -> None:
    asked = next(
        one.id for found in job_view(shop, job).asked.values() for one in found if one.id.endswith("/odometer")
    )
    fields = form_of(client.get(f"/jobs/{job}").text, asked)
    answer = client.form(f"/jobs/{job}/entries", {**fields, "g.km": "lots & many"})
    assert answer.status_code == 422
    assert 'value="lots &amp; many"' in answer.text
    assert 'class="fault"' in answer.text
    assert job_view(shop, job).lines == ()
    fields = form_of(answer.text, asked)
    assert client.form(f"/jobs/{job}/entries", {**fields, "g.km": "118 420"}).status_code == 303
    assert "118" in job_view(shop, job).lines[0].words


def test_an_entry_is_corrected_struck_out_and_both_stay(client: BenchClient, shop: Shop, job: int) -> None:
    asked = "turn-by-hand/turned"
    client.form(f"/jobs/{job}/entries", {**form_of(client.get(f"/jobs/{job}").text, asked), "quick": "yes"})
    page = client.get(f"/jobs/{job}/entries/1").text
    fields = form_of(page, asked)
    assert fields["replaces"] == "1"
    client.form(f"/jobs/{job}/entries", {**fields, "g.turns": "4"})
    lines = job_view(shop, job).lines
    assert (lines[0].corrected_by, lines[1].stands) == (2, True)
    answer = client.form(
        f"/jobs/{job}/entries/2", {"act": "strike", "reason": "typed into the wrong job", "key": "k-1"}
    )
    assert answer.status_code == 303
    lines = job_view(shop, job).lines
    assert (len(lines), lines[1].struck) == (3, True)
    page = client.get(f"/jobs/{job}").text
    assert "struck out by 3" in page
    assert "corrected by 2" in page


def test_going_back_asks_the_later_steps_anew(client: BenchClient, shop: Shop, job: int) -> None:
    for asked in ("turn-by-hand/turned", "prove-timing/mark"):
        client.form(f"/jobs/{job}/entries", {**form_of(client.get(f"/jobs/{job}").text, asked), "quick": "yes"})
    assert said(client.get(f"/jobs/{job}").text, "prove-timing/mark")
    answer = client.form(f"/jobs/{job}/back", {"step": "set-tensioner", "reason": "pointer short", "key": "b-1"})
    assert answer.status_code == 303
    assert not said(client.get(f"/jobs/{job}").text, "prove-timing/mark")
    assert "Going back to" in job_view(shop, job).lines[-1].words


class Queue:
    """Sends as the queue does."""

    def __init__(self, client: BenchClient, job: int) -> None:
        self.client, self.job, self.token = client, job, client.token()

    def send(self, key: str, asked: str, **body: Any) -> Any:
        """One letter; the answer."""
        headers = {"x-csrf": self.token, "accept": "application/json", **({"idempotency-key": key} if key else {})}
        return self.client.post(f"/jobs/{self.job}/answers", json={"asked": asked, **body}, headers=headers)


def test_a_letter_that_comes_again_is_written_once(client: BenchClient, shop: Shop, job: int) -> None:
    queue = Queue(client, job)
    first = queue.send("a-1", "turn-by-hand/turned", quick=True, after=0, waited_s=0.2)
    assert first.status_code == 200
    assert first.json() == {"first": 1, "count": 1, "repeated": False, "others": [], "reopened": False}
    queue.send("a-2", "prove-timing/mark", quick=True, after=1)
    again = queue.send("a-1", "turn-by-hand/turned", quick=True, after=0, waited_s=900.0)
    assert again.status_code == 200
    assert (again.json()["first"], again.json()["repeated"]) == (1, True)
    assert len(job_view(shop, job).lines) == 2


def test_a_letter_comes_again_after_the_work_went_back(client: BenchClient, shop: Shop, job: int) -> None:
    queue = Queue(client, job)
    queue.send("a-1", "prove-timing/mark", quick=True)
    client.form(f"/jobs/{job}/back", {"step": "set-tensioner", "key": "b-1"})
    again = queue.send("a-1", "prove-timing/mark", quick=True)  # asked in the second round now, sent in the first
    assert again.json()["repeated"] is True
    assert len(job_view(shop, job).lines) == 2


def test_faults_of_a_letter_have_their_status(client: BenchClient, job: int) -> None:
    queue = Queue(client, job)
    assert queue.send("", "turn-by-hand/turned", quick=True).status_code == 400
    assert queue.send("a-1", "turn-by-hand/turned", quick=True).status_code == 200
    reused = queue.send("a-1", "turn-by-hand/turned", given={"turns": "7"})
    assert reused.status_code == 422
    assert "used before" in reused.json()["error"]["sentence"]
    unknown = queue.send("a-2", "no-such/question", quick=True)
    assert unknown.status_code == 422
    assert "not asked in this job" in unknown.json()["error"]["sentence"]
    headers = {"x-csrf": queue.token, "accept": "application/json", "idempotency-key": "a-3"}
    assert client.post(f"/jobs/{job}/answers", content="[1", headers=headers).status_code == 400
    assert client.post("/jobs/99/answers", json={"asked": "x"}, headers=headers).status_code == 404


def test_a_letter_is_told_of_what_others_entered(client: BenchClient, job: int) -> None:
    queue = Queue(client, job)
    queue.send("a-1", "turn-by-hand/turned", quick=True, after=0)
    answer = queue.send("b-1", "prove-timing/mark", quick=True, after=0)
    assert answer.json()["others"] == [{"number": 1, "kind": "turned", "by": "Ada Field"}]


def test_what_waited_for_the_connection_says_when_it_was_typed(client: BenchClient, shop: Shop, job: int) -> None:
    queue = Queue(client, job)
    queue.send("a-1", "turn-by-hand/turned", quick=True, waited_s=2 * 3600)
    line = job_view(shop, job).lines[0]
    assert line.entered is not None
    ago = (shop.now().astimezone().replace(tzinfo=None) - line.entered).total_seconds()
    assert 7190 < ago < 7260
    assert line.marks == ("came 2 hours after it was typed",)


def test_only_changed_parts_are_sent(client: BenchClient, job: int) -> None:
    page = client.get(f"/jobs/{job}").text
    have = dict(re.findall(r'data-part="([^"]+)" data-digest="([^"]+)"', page))
    asked = ",".join(f"{name}:{digest}" for name, digest in have.items())
    assert client.get(f"/jobs/{job}/parts", params={"have": asked}).json()["parts"] == {}
    Queue(client, job).send("a-1", "turn-by-hand/turned", quick=True)
    changed = client.get(f"/jobs/{job}/parts", params={"have": asked}).json()
    assert {"entries", "step-turn-by-hand"} <= set(changed["parts"])
    assert len(changed["parts"]) < len(have) / 2
    assert client.get(f"/jobs/{job}/parts", params={"have": asked, "count": 1}).json()["parts"] == {}
    assert 'name="csrf" value="' + client.token() in changed["parts"]["step-turn-by-hand"]
