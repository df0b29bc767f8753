"""One Chromium for all tests in a browser: a second Playwright in the same process would not start."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright
from tests.web.drive_browser import drive_page, drive_server

__all__ = ["chromium", "drive_page", "drive_server"]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, started once; a test that needs it and cannot have it fails."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        yield browser
        browser.close()
