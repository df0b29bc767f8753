"""Every page of the bench over the invented shop, at both sizes: a picture to look at, and what a machine sees of it.

Accessibility by axe (rules of WCAG 2.2 A and AA), nothing wider than the screen, text of 18 px and more, targets of
48 px and more. The pictures are written to ``build/screens``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page
from tests.web.bench import SIZES, running

from twoturn.acts.shop.demo_shop import fill_demo_shop
from twoturn.acts.shop.shop import open_shop
from twoturn.web.routes import all_pages

SCREENS = Path(__file__).resolve().parents[2] / "build" / "screens"
EXAMPLES = {"vehicle": "1", "tool": "1", "person": "1", "job": "1", "drive": "1"}
"""What stands in a path for each of its parameters."""
NO_PAGES = {"/here", "/understood"}
"""What answers scripts."""
AXE = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
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
        if "GET" in page.methods and not page.bare and page.path not in NO_PAGES and "{" not in path:
            found.append(path)
    return sorted(set(found))


@pytest.fixture(scope="module")
def shown_bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a bench over the invented shop."""
    with open_shop(tmp_path_factory.mktemp("shown") / "data") as shop:
        fill_demo_shop(shop)
        with running(shop) as url:
            yield url


def _seen(chromium: Browser, address: str, path: str, size: str, theme: str = "light") -> dict[str, Any]:
    context = chromium.new_context(viewport=SIZES[size], base_url=address, color_scheme=theme)  # type: ignore[arg-type]
    context.set_default_timeout(20_000)
    try:
        page = context.new_page()
        answer = page.goto(path)
        assert answer is not None
        if "text/html" not in answer.headers.get("content-type", ""):
            return {}
        assert answer.status == 200, path
        return _looked_at(page, size, theme)
    finally:
        context.close()


def _looked_at(page: Page, size: str, theme: str) -> dict[str, Any]:
    name = re.sub(r"\W+", "-", page.url.split("/", 3)[3]).strip("-") or "start"
    folder = SCREENS / (size if theme == "light" else f"{size}-{theme}")
    folder.mkdir(parents=True, exist_ok=True)
    page.wait_for_load_state("load")
    page.wait_for_timeout(250)
    page.screenshot(path=folder / f"{name}.png", full_page=True)
    found: dict[str, Any] = page.evaluate(SMALL)
    axe = Axe().run(page, options=AXE)
    found["axe"] = [
        f"{rule['id']}: {node['html'][:120]}" for rule in axe.response["violations"] for node in rule["nodes"]
    ]
    return found


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("path", _paths())
def test_a_page_can_be_read_and_touched(chromium: Browser, shown_bench: str, path: str, size: str) -> None:
    seen = _seen(chromium, shown_bench, path, size)
    if not seen:
        return
    assert seen["axe"] == []
    assert seen["wide"] <= 0
    assert seen["fine"] == []
    assert seen["small"] == []


@pytest.mark.parametrize("path", _paths())
def test_a_page_can_be_read_in_the_dark(chromium: Browser, shown_bench: str, path: str) -> None:
    seen = _seen(chromium, shown_bench, path, "tablet", "dark")
    if seen:
        assert seen["axe"] == []
