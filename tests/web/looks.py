"""A page looked over: WCAG by axe, nothing to scroll sideways, targets a gloved hand meets, text that can be read."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

WCAG = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
SMALLEST_TARGET_PX = 48
"""WCAG 2.2, 2.5.8 asks for 24; a gloved hand meets 48."""
SMALLEST_TEXT_PX = 16
SHOTS = os.environ.get("TWOTURN_SCREENSHOTS", "")
"""Folder for pictures of every page looked over; none where it is empty."""
FIND = """([least, text]) => {
  const shown = (one) => one.checkVisibility({ visibilityProperty: true }) && one.getClientRects().length;
  const box = (one) => {
    const own = one.matches("input[type=radio], input[type=checkbox]") ? one.closest("label") ?? one : one;
    return own.getBoundingClientRect();
  };
  const name = (one) => `${one.tagName.toLowerCase()} "${(one.textContent || one.name || one.id).trim().slice(0, 40)}"`;
  const kinds = "a[href], button, input:not([type=hidden]), select, textarea, summary";
  const targets = [...document.querySelectorAll(kinds)];
  const small = targets.filter((one) => shown(one) && !one.matches(".skip") && box(one).height < least - 0.5);
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const tiny = new Set();
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const one = node.parentElement;
    if (!node.data.trim() || !shown(one) || one.closest("svg, script, noscript")) continue;
    if (parseFloat(getComputedStyle(one).fontSize) < text) tiny.add(name(one));
  }
  return {
    small: small.map(name),
    tiny: [...tiny],
    sideways: document.documentElement.scrollWidth - innerWidth,
  };
}"""


def look_over(page: Page, name: str) -> None:
    """Fail where the page breaks a rule; take its picture where a folder is named."""
    page.wait_for_load_state("load")  # a tap on a link has brought the address, not yet its style sheets
    if SHOTS:
        folder = Path(SHOTS)
        folder.mkdir(parents=True, exist_ok=True)
        width = (page.viewport_size or {"width": 0})["width"]
        page.screenshot(path=folder / f"{name}-{width}.png", full_page=True)
    found = page.evaluate(FIND, [SMALLEST_TARGET_PX, SMALLEST_TEXT_PX])
    assert found == {"small": [], "tiny": [], "sideways": 0}, f"{name}: {found}"
    broken = axe(page)
    assert not broken, f"{name}: " + "\n".join(broken)


def axe(page: Page, options: Mapping[str, Any] = WCAG) -> list[str]:
    """What axe has against the page, by the rules of WCAG 2.2 A and AA unless others are named."""
    found = Axe().run(page, options={**options, "resultTypes": ["violations"]}).response["violations"]
    return [
        f"{rule['id']}: {node['html'][:120]} {node['failureSummary'][:200]}" for rule in found for node in rule["nodes"]
    ]
