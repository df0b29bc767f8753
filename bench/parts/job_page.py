"""A job's page in a browser of phone size: how soon it stands there, and how soon a tap is answered."""

from __future__ import annotations

import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from bench.table import Row
from twoturn.acts.shop.drives import ensure_shipped, library
from twoturn.acts.shop.jobs import start_job
from twoturn.acts.shop.people import work_alone
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.acts.shop.vehicles import save_vehicle

DRIVE = "Elder 16B"
"""The drive with most questions."""
WATCH = """
globalThis.taps = [];
globalThis.largest = 0;
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) if (one.interactionId) taps.push([one.interactionId, one.duration]);
}).observe({ type: "event", durationThreshold: 16, buffered: true });
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) largest = one.startTime;
}).observe({ type: "largest-contentful-paint", buffered: true });
"""
MOST_TAP_MS, MOST_PAINT_MS = 50.0, 1000.0


def measure() -> list[Row]:
    """Rows of the largest paint and of the slowest answer to a tap."""
    from tests.web.bench import SIZES, running

    with tempfile.TemporaryDirectory() as name, open_shop(Path(name) / "data") as shop:
        job = _begin(shop)
        with running(shop) as url, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
            context = browser.new_context(viewport=SIZES["phone"], base_url=url)  # type: ignore[arg-type]
            context.add_init_script(WATCH)
            page = context.new_page()
            page.goto(f"/jobs/{job}")  # worked out for the first time
            page.goto(f"/jobs/{job}")
            paint, slowest, taps = _worked(page)
            browser.close()
    how = f"phone size, {DRIVE}, loopback, Chromium"
    return [
        Row("a job's page: largest paint", how, f"{paint:.0f} ms", "1 s", paint < MOST_PAINT_MS),
        Row("a job's page: slowest answer to a tap", f"{how}; {taps} taps", f"{slowest:.0f} ms", "50 ms",
            slowest < MOST_TAP_MS),
    ]  # fmt: skip


def _begin(shop: Shop) -> int:
    person = work_alone(shop, "Bench")
    ensure_shipped(shop)
    version = next(line.version_id for line in library(shop) if line.name.startswith(DRIVE))
    vehicle = save_vehicle(shop, person, {"registration": "QX 31 DEMO"}).vehicle
    return start_job(shop, person, vehicle.id, version).id


def _worked(page: Page) -> tuple[float, float, int]:
    """The largest paint [ms], the slowest interaction [ms; those under 16 ms are not told], and the number of taps."""
    page.wait_for_timeout(1000)
    keys = page.locator(".ask.needed button[name=quick]")
    count = keys.count()
    for _ in range(count):
        keys.first.click()
        page.wait_for_timeout(700)
    slowest = page.evaluate("Math.max(16, ...taps.map(([, duration]) => duration))")
    return float(page.evaluate("largest")), float(slowest), count
