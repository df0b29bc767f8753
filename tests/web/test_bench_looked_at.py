"""Every page of the bench over the invented shop, at both sizes: a picture to look at, and what a machine sees of it.

Accessibility by axe (rules of WCAG 2.2 A and AA), nothing wider than the screen, text of 18 px and more, targets of
48 px and more. The pictures are written to ``build/screens``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import chdir
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.web.bench import SIZES, running
from tests.web.looks import axe
from tests.web.test_bench_drawer import DCC

from twoturn.acts.shop.demo_shop import fill_demo_shop
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.web.mode import Mode
from twoturn.web.routes import all_pages
from twoturn.web.security.setup_code import SetUpCode

SCREENS = Path(__file__).resolve().parents[2] / "build" / "screens"
EXAMPLES = {"vehicle": "1", "tool": "1", "person": "1", "job": "1", "drive": "1"}
"""What stands in a path for each of its parameters."""
ASKED = ("/jobs/new?vehicle=1", "/jobs/new?registration=NEW%201", "/vehicles?words=nothing-of-that-name")
"""Pages that show something else when they are asked for something."""
NO_PAGES = {"/here", "/understood"}
"""What answers scripts."""
TALLEST = 1600
"""How much of a page is kept [px]."""
CONTRAST = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}
NEAR = "document.querySelectorAll('.step').forEach((one) => { one.style.contentVisibility = 'visible'; })"
"""Parts of a page that are drawn only when they come near the eye are drawn."""
SMALL = """() => {
  const shown = (one) => one.checkVisibility({visibilityProperty: true}) && !one.closest('svg, [hidden], .skip');
  const small = [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')]
    .filter(shown)
    .map(one => [one, (one.closest('label') || one).getBoundingClientRect()])
    .filter(([one, box]) => Math.min(box.height, box.width) < 47.5)
    .map(([one, box]) => `${one.outerHTML.slice(0, 90)}: ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`);
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const fine = [];
  while (walk.nextNode()) {
    const held = walk.currentNode.parentElement;
    const size = parseFloat(getComputedStyle(held).fontSize);
    const text = walk.currentNode.data.trim();
    if (text && shown(held) && size < 17.9) fine.push(`${size} px: ${text}`);
  }
  return {small, fine, wide: document.documentElement.scrollWidth - innerWidth};
}"""


def _paths() -> list[str]:
    """Every page that is asked for with GET, its parameters filled in where an example is known."""
    found = []
    for page in all_pages():
        path = re.sub(r"{(\w+)(?::\w+)?}", lambda part: EXAMPLES.get(part[1], part[0]), page.path)
        if (
            "GET" in page.methods
            and not page.bare
            and page.path not in NO_PAGES
            and not path.startswith("/api/")
            and "{" not in path
        ):
            found.append(path)
    return sorted({*found, *ASKED})


@pytest.fixture(scope="module")
def shown_bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a bench over the invented shop; its folder goes by a short name, since a page shows it."""
    with chdir(tmp_path_factory.mktemp("shown")), open_shop("invented-shop") as shop:
        fill_demo_shop(shop)
        with running(shop) as url:
            yield url


@pytest.fixture(scope="module")
def visitors(chromium: Browser, shown_bench: str) -> Iterator[dict[str, Page]]:
    """A browser of each size, which goes from page to page as a person does."""
    contexts = {size: chromium.new_context(viewport=SIZES[size], base_url=shown_bench) for size in SIZES}  # type: ignore[arg-type]
    for context in contexts.values():
        context.set_default_timeout(20_000)
    yield {size: context.new_page() for size, context in contexts.items()}
    for context in contexts.values():
        context.close()


def _check(seen: dict[str, Any]) -> None:
    assert seen["axe"] == []
    assert seen["wide"] <= 0
    assert seen["fine"] == []
    assert seen["small"] == []


def _seen(page: Page, path: str, size: str) -> dict[str, Any]:
    """What is wrong with a page at a size; on a tablet also with its colours in the dark."""
    page.emulate_media(color_scheme="light")
    answer = page.goto(path)
    assert answer is not None
    if "text/html" not in answer.headers.get("content-type", ""):
        return {}
    assert answer.status == 200, path
    page.evaluate(NEAR)
    found = _looked_at(page, size)
    if size == "tablet":
        page.emulate_media(color_scheme="dark")
        _keep(page, "tablet-dark", _name(page))
        found["axe"] += axe(page, CONTRAST)
    return found


def _looked_at(page: Page, size: str, name: str = "") -> dict[str, Any]:
    page.wait_for_load_state("load")
    page.wait_for_timeout(100)
    _keep(page, size, name or _name(page))
    found: dict[str, Any] = page.evaluate(SMALL)
    return found | {"axe": axe(page)}


def _name(page: Page) -> str:
    """Name of a page's picture."""
    return re.sub(r"\W+", "-", page.url.split("/", 3)[3]).strip("-") or "start"


def _keep(page: Page, folder: str, name: str) -> None:
    """Keep a picture of the page, no further down than anybody would look at in one."""
    (SCREENS / folder).mkdir(parents=True, exist_ok=True)
    wide, high = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.scrollHeight]")
    clip = {"x": 0, "y": 0, "width": wide, "height": min(high, TALLEST)}
    page.screenshot(path=SCREENS / folder / f"{name}.png", full_page=True, clip=clip)  # type: ignore[arg-type]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("path", _paths())
def test_a_page_can_be_read_and_touched(visitors: dict[str, Page], path: str, size: str) -> None:
    seen = _seen(visitors[size], path, size)
    if seen:
        _check(seen)


@pytest.fixture
def lan_page(shop: Shop, chromium: Browser, request: pytest.FixtureRequest) -> Iterator[tuple[Page, str]]:
    """A page of the size asked for at a network's bench that nobody has set up, with its set-up code."""
    code = SetUpCode()
    mode = Mode(lan=True, setup_code=code, addresses=("https://192.168.7.5:8642",), fingerprint="AB:" * 31 + "AB")
    with running(shop, mode) as url:
        context = chromium.new_context(viewport=SIZES[request.param], base_url=url)  # type: ignore[arg-type]
        context.set_default_timeout(10_000)
        page = context.new_page()
        page.goto("/")
        yield page, code.digits
        context.close()


@pytest.mark.parametrize(("lan_page", "size"), [(size, size) for size in SIZES], indirect=["lan_page"])
def test_from_the_first_start_to_a_lost_sign_in(lan_page: tuple[Page, str], size: str) -> None:
    page, code = lan_page
    _check(_looked_at(page, size, name="lan-set-up"))
    page.get_by_label("Set-up code").fill(code)
    page.get_by_label("Your name").fill("Ada Field")
    page.get_by_label("Your PIN").fill("40917")
    page.get_by_label("The PIN once more").fill("40917")
    page.get_by_role("button", name="Start").click()
    for path in ("/devices", "/who"):
        page.goto(path)
        _check(_looked_at(page, size, name=f"lan{path.replace('/', '-')}"))
    page.goto("/vehicles/new")
    page.get_by_label("Registration").fill("XX-YZ 123")
    page.context.clear_cookies()
    page.get_by_role("button", name="Keep").click()
    page.get_by_label("Ada Field").check()
    for digit in "40917":
        page.locator(f"[data-digit='{digit}']").click()
    _check(_looked_at(page, size, name="lan-sign-in"))
    page.get_by_role("button", name="Sign in").click()
    expect(page.locator("dd").first).to_have_text("XX-YZ 123")
    _check(_looked_at(page, size, name="lan-kept"))
    page.get_by_role("button", name="Send it now").click()
    expect(page.locator("h1")).to_contain_text("XX-YZ 123")


@pytest.mark.parametrize("size", SIZES)
def test_what_is_wrong_is_shown_where_it_is(browser_page: Callable[..., Page], slips: list[str], size: str) -> None:
    page = browser_page(size)
    page.goto("/nowhere")
    _check(_looked_at(page, size, name="error-404"))
    page.goto("/vehicles/new")
    page.get_by_label("Registration").fill("XX/?/1")
    page.get_by_label("Odometer").fill("lots")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("alert")).to_contain_text("2 fields")
    _check(_looked_at(page, size, name="vehicles-new-faults"))
    page.goto("/tools")
    paper = {"name": "INV-0042.xml", "mimeType": "application/xml", "buffer": DCC}
    page.get_by_label("The certificate’s file").set_input_files(paper)  # type: ignore[arg-type]
    page.get_by_role("button", name="Read it").click()
    expect(page.locator("h1")).to_have_text("Which tool is this certificate of?")
    _check(_looked_at(page, size, name="tools-certificate"))
    slips[:] = [said for said in slips if "404" not in said and "422" not in said]


@pytest.mark.parametrize("size", SIZES)
def test_the_first_start_alone(shop: Shop, chromium: Browser, size: str) -> None:
    with running(shop) as url:
        context = chromium.new_context(viewport=SIZES[size], base_url=url)  # type: ignore[arg-type]
        page = context.new_page()
        page.goto("/")
        _check(_looked_at(page, size, name="set-up"))
        page.get_by_label("Your name").fill("Ada Field")
        page.keyboard.press("Enter")
        expect(page.locator("h1")).to_have_text("Jobs")
        context.close()
