"""Chromium and a bare server for the drive's scripts: pages made by hand, the package's own scripts and styles."""

from __future__ import annotations

import functools
import http.server
import json
import threading
from collections.abc import Iterator
from html import escape
from importlib.resources import files

import pytest
from playwright.sync_api import Browser, Page

from twoturn.acts.drive_faults import look_at
from twoturn.acts.drive_files import shipped_drives

POLICY = "default-src 'self'"
STYLES = ("tokens", "base", "controls", "layout", "drive")


def page_of(text: str) -> str:
    """A page with nothing but one live drive."""
    live = look_at(text).as_json()["live"]
    styles = "".join(f'<link rel="stylesheet" href="/css/{name}.css">' for name in STYLES)
    return (
        f'<!doctype html><html lang="en" data-theme="light"><title>Drive</title>{styles}'
        '<link rel="icon" href="/icons/mark.svg">'
        '<script type="module" src="/js/drive/live.js"></script><main><h1>Drive</h1>'
        f'<section data-live-drive="{escape(json.dumps(live))}"></section></main></html>'
    )


class _Handler(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        """Say nothing."""

    def do_GET(self) -> None:
        name = self.path.strip("/")
        if name not in shipped_drives():
            super().do_GET()
            return
        body = page_of(shipped_drives()[name]).encode()
        self.send_response(200)
        self.send_header("content-type", "text/html; charset=utf-8")
        self.send_header("content-security-policy", POLICY)
        self.end_headers()
        self.wfile.write(body)


@pytest.fixture(scope="session")
def drive_server() -> Iterator[str]:
    """Address of a server that gives a page for every shipped drive."""
    static = str(files("twoturn.web").joinpath("static"))
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Handler, directory=static))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


@pytest.fixture
def drive_page(drive_server: str, chromium: Browser) -> Iterator[Page]:
    """A page of tablet size at the server; a slip of a script fails the test."""
    context = chromium.new_context(viewport={"width": 1024, "height": 768}, base_url=drive_server)
    page = context.new_page()
    slips: list[str] = []
    page.on("pageerror", lambda error: slips.append(str(error)))
    page.on("console", lambda message: slips.append(message.text) if message.type == "error" else None)
    yield page
    context.close()
    assert not slips
