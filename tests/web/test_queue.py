"""The queue in the browser: kept, sent in order, each once, whatever the bench answers; the answers here are played."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

SEND = """async ([url, n, more]) => {
  const queue = await import(document.querySelector('script[src*="start.js"]').src.replace("start.js", "queue.js"));
  return queue.send({url, body: {given: {km: String(n)}}, words: `Odometer ${n} km`, ...more});
}"""
WAITING = """async () => {
  const queue = await import(document.querySelector('script[src*="start.js"]').src.replace("start.js", "queue.js"));
  return (await queue.waiting()).map((letter) => [letter.words, letter.state]);
}"""
Statuses = list[int | str]


class Played:
    """A bench's end of ``/letters``: answers with the given statuses in turn, then with 200; keeps what came."""

    def __init__(self, page: Page, statuses: Statuses) -> None:
        self.statuses, self.came, self.keys = statuses, list[str](), list[str]()
        page.context.route("**/letters", self.answer)

    def answer(self, route: Route) -> None:
        """Take one letter."""
        status = self.statuses.pop(0) if self.statuses else 200
        if status == "strange":
            route.fulfill(status=200, content_type="text/html", body="<p>Sign in to this wifi</p>")
            return
        if status == "lost":
            route.abort()
            return
        body: Any = {"first": 1}
        if status != 200:
            body = {"error": {"sentence": f"Refused with {status}.", "next_step": "type it again"}}
        request = route.request
        if status == 200:
            self.came.append(request.post_data_json["given"]["km"])
        self.keys.append(request.headers["idempotency-key"])
        route.fulfill(status=int(status), content_type="application/json", body=json.dumps(body))


def _send(page: Page, number: int, **more: Any) -> str:
    return str(page.evaluate(SEND, ["/letters", number, more]))


def _until(page: Page, played: Played, came: list[str]) -> None:
    """Wait until just these have come, in this order."""
    for _ in range(600):
        if len(played.came) >= len(came):
            break
        page.wait_for_timeout(50)
    assert played.came == came


def test_letters_go_in_order_each_with_a_key_of_its_own(browser_page: Callable[..., Page]) -> None:
    page = browser_page()
    played = Played(page, [])
    page.goto("/")
    keys = [_send(page, number) for number in range(1, 6)]
    expect(page.locator("#waiting")).to_be_hidden()
    _until(page, played, ["1", "2", "3", "4", "5"])
    assert played.keys == keys
    assert len(set(keys)) == 5


@pytest.mark.parametrize("statuses", [["lost"], [409], [503], [429], ["lost", 409, 503], ["strange"]])
def test_what_may_pass_is_tried_again_with_the_same_key(browser_page: Callable[..., Page], statuses: Statuses,
                                                        slips: list[str]) -> None:  # fmt: skip
    page = browser_page()
    tries = len(statuses)
    played = Played(page, list(statuses))
    page.goto("/")
    key = _send(page, 7)
    _send(page, 8)
    expect(page.locator("#waiting")).to_be_hidden(timeout=20_000)
    _until(page, played, ["7", "8"])
    assert played.keys.count(key) == tries + 1 - statuses.count("lost") - statuses.count("strange")
    slips.clear()  # the browser itself writes failed requests into the console


def test_a_refused_letter_is_shown_with_what_was_typed_and_sent_changed(browser_page: Callable[..., Page],
                                                                         slips: list[str]) -> None:  # fmt: skip
    page = browser_page()
    played = Played(page, [422])
    page.goto("/")
    key = _send(page, 12, labels={"km": "Odometer"})
    _send(page, 13)
    refused = page.locator("#waiting form")
    expect(refused).to_contain_text("Refused with 422. Next: type it again.")
    _until(page, played, ["13"])  # nothing else is held up
    page.reload()
    field = page.get_by_label("Odometer")
    expect(field).to_have_value("12")
    field.fill("120 000")
    page.get_by_role("button", name="Send it as it stands now").click()
    expect(page.locator("#waiting")).to_be_hidden()
    _until(page, played, ["13", "120 000"])
    assert played.keys[-1] != key  # other content is another letter
    slips.clear()


def test_a_refused_letter_may_be_thrown_away(browser_page: Callable[..., Page], slips: list[str]) -> None:
    page = browser_page()
    Played(page, [400])
    page.goto("/")
    _send(page, 12)
    page.get_by_role("button", name="Throw it away").click()
    expect(page.locator("#waiting")).to_be_hidden()
    assert page.evaluate(WAITING) == []
    slips.clear()


def test_without_connection_letters_wait_over_a_reload(browser_page: Callable[..., Page], slips: list[str]) -> None:
    page = browser_page()
    played = Played(page, [])
    page.goto("/")
    page.context.set_offline(True)
    _send(page, 1)
    _send(page, 2)
    expect(page.locator("#waiting h2")).to_have_text("2 entries wait here, nothing is lost.")
    assert played.came == []
    page.context.set_offline(False)
    page.reload()
    expect(page.locator("#waiting")).to_be_hidden(timeout=15_000)
    page.wait_for_timeout(200)
    sent = dict(zip(played.keys, played.came, strict=True))  # one on its way when the page went is sent again as it was
    assert list(sent.values()) == ["1", "2"]
    slips.clear()


def test_what_the_browser_has_no_room_for_stays_in_the_page_and_arrives(
    browser_page: Callable[..., Page], slips: list[str]
) -> None:
    page = browser_page()
    played = Played(page, [])
    page.goto("/")
    page.context.set_offline(True)
    _send(page, 1)
    page.evaluate("""() => {
      IDBObjectStore.prototype.add = () => { throw new DOMException("full", "QuotaExceededError"); };
    }""")
    _send(page, 2)
    _send(page, 3)
    expect(page.locator("#waiting h2")).to_have_text(
        "3 entries wait here, this browser cannot keep them: leave this page open."
    )
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden(timeout=15_000)
    _until(page, played, ["1", "2", "3"])
    slips.clear()


def test_two_pages_send_each_letter_once(browser_page: Callable[..., Page]) -> None:
    page = browser_page()
    played = Played(page, [])
    other = page.context.new_page()
    page.goto("/")
    other.goto("/")
    for number in range(10):
        _send(page if number % 2 else other, number)
    expect(page.locator("#waiting")).to_be_hidden(timeout=15_000)
    expect(other.locator("#waiting")).to_be_hidden(timeout=15_000)
    _until(page, played, [str(number) for number in range(10)])
    assert len(set(played.keys)) == 10


def test_after_a_lost_sign_in_letters_wait_for_the_one_who_wrote_them(browser_page: Callable[..., Page],
                                                                      slips: list[str]) -> None:  # fmt: skip
    page = browser_page()
    played = Played(page, [])
    page.goto("/")
    real = page.request.get("/here").json()
    person = {"now": None}
    page.context.route("**/here", lambda route: route.fulfill(json=real | {"person": person["now"], "lan": True}))
    _send(page, 5)
    expect(page.locator("#waiting")).to_contain_text("The sign-in has ended. Sign in as Ada Field")
    expect(page.get_by_role("link", name="Sign in")).to_be_visible()
    person["now"] = {"id": 99, "name": "Ben Hill"}
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("#waiting")).to_contain_text("Typed by Ada Field; Ben Hill is signed in now.")
    assert played.came == []
    person["now"] = real["person"]
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("#waiting")).to_be_hidden()
    _until(page, played, ["5"])
    slips.clear()


def test_a_letter_knows_how_long_it_has_waited(browser_page: Callable[..., Page], slips: list[str]) -> None:
    page = browser_page()
    sent: list[float] = []
    page.context.route(
        "**/letters",
        lambda route: (sent.append(route.request.post_data_json["waited_s"]), route.fulfill(json={"first": 1})),
    )
    page.goto("/")
    page.context.set_offline(True)
    _send(page, 1)
    page.wait_for_timeout(1500)
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden(timeout=15_000)
    assert 1.4 < sent[0] < 15.0
    slips.clear()
