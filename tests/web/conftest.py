"""One Chromium for all tests in a browser: a second Playwright in the same process would not start."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect, sync_playwright
from tests.web.bench import bench, browser_page, client, person, shop, slips
from tests.web.drive_browser import drive_page, drive_server
from tests.web.stocked import stocked, stocked_record

__all__ = ["bench", "browser_page", "chromium", "client", "drive_page", "drive_server", "person", "shop", "slips"]
__all__ += ["stocked", "stocked_record"]

PATIENCE_MS = 30_000
"""How long a page may take to show what is expected where the machine does other work besides [ms]."""
CHROMIUM = Path("/usr/bin/chromium")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, started once; a test that needs it and cannot have it fails."""
    if not CHROMIUM.exists():
        pytest.fail(
            f"the tests need a browser at {CHROMIUM}: run `make browser`, or `apt-get install chromium`", pytrace=False
        )
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox", "--disable-gpu"])
        yield browser
        browser.close()
