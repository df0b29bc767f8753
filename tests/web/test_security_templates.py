"""Templates, scripts and rendered pages: nothing inline, nothing from outside, nothing that makes code of text."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

import pytest
from tests.web.bench import BenchClient, client_of
from tests.web.routes_asked import LOOKING, Route
from tests.web.stocked import open_copy

HOSTILE = "<img src=x onerror=alert(1)>\"'`{{7*7}}"
RUNS_TEXT = re.compile(
    r"\beval\(|new Function\b|\.innerHTML\b|\.outerHTML\b|insertAdjacentHTML|document\.write|\bsetTimeout\(\s*[\"'`]"
    r"|javascript:|createContextualFragment|srcdoc"
)
OUTSIDE = re.compile(r"(https?:)?//[a-z0-9-]+\.[a-z]", re.IGNORECASE)
CONSTANT = re.compile(r"'[^'{}]*'\s*\|\s*safe\b")
"""Markup that stands in the template itself, word for word."""
NAMESPACES = ("http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink", "http://www.w3.org/1998/Math/MathML")


class Inline(HTMLParser):
    """Collects what a strict policy would not let work: inline scripts and styles, handlers, addresses elsewhere."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "style" or (tag == "script" and not given.get("src") and given.get("type") != "application/json"):
            self.found.append(f"<{tag}> of its own")
        if tag in {"base", "object", "embed", "iframe", "frame", "applet", "meta"} and "http-equiv" in given:
            self.found.append(f"<{tag}>")
        for name, value in attrs:
            if name == "style" or re.fullmatch(r"on[a-z]+", name):
                self.found.append(f"{tag} {name}")
            if name in {"href", "src", "action", "formaction", "poster", "xlink:href"} and OUTSIDE.match(value or ""):
                self.found.append(f"{tag} {name}={value}")
            if re.match(r"\s*(javascript|data|vbscript):", value or "", re.IGNORECASE) and name != "content":
                self.found.append(f"{tag} {name}={value}")


def _walk(folder: Traversable) -> Iterator[Traversable]:
    for entry in folder.iterdir():
        if entry.is_dir():
            yield from _walk(entry)
        else:
            yield entry


def texts(folder: str, ending: str) -> dict[str, str]:
    """Texts of files of the package."""
    found = _walk(files("twoturn.web").joinpath(folder))
    return {str(one): one.read_text(encoding="utf-8") for one in found if one.name.endswith(ending)}


def inline_of(text: str) -> list[str]:
    """What is inline in a page or template."""
    looked = Inline()
    looked.feed(text)
    return looked.found


def test_the_search_finds_what_it_is_for() -> None:
    for bad in (
        "<script>x()</script>",
        "<p style='a:b'>",
        "<a onclick=x()>",
        "<style>a{}</style>",
        '<img src="//evil.example/x">',
        '<a href="javascript:x()">',
        '<link href="https://fonts.example/css">',
    ):
        assert inline_of(bad), bad
    assert not inline_of('<script type="module" src="/static/a.js"></script><a href="/jobs">x</a>')


def test_templates_hold_nothing_inline_and_switch_no_escaping_off() -> None:
    found = texts("templates", ".html")
    assert len(found) > 20
    for name, text in found.items():
        assert not inline_of(re.sub(r"\{[{%#].*?[}%#]\}", " ", text, flags=re.DOTALL)), name
        assert not re.search(r"autoescape\s+false", text), name
        assert not re.search(r"\|\s*safe\b", CONSTANT.sub("", text)), name


MARKUP_OF_THE_BENCH = {"parts.js": [".innerHTML"]}
"""Where a script takes markup that the bench itself rendered, escaped, into a template."""


def test_scripts_make_no_code_or_markup_of_text_and_ask_nobody_else() -> None:
    found = texts("static", ".js")
    assert len(found) > 20
    for name, text in found.items():
        assert RUNS_TEXT.findall(text) == MARKUP_OF_THE_BENCH.get(Path(name).name, []), name
        plain = text
        for namespace in NAMESPACES:
            plain = plain.replace(namespace, "")
        assert not OUTSIDE.findall(plain), name


def test_styles_ask_nobody_else() -> None:
    for name, text in texts("static", ".css").items():
        assert not re.search(r"url\(\s*[\"']?(https?:|//|data:)", text), name
        assert "@import" not in text, name


@pytest.fixture(scope="module")
def client(stocked_record: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[BenchClient]:
    """A bench whose every text was written by somebody who means harm."""
    with (
        open_copy(stocked_record, tmp_path_factory.mktemp("hostile") / "data") as found,
        client_of(found.shop) as asking,
    ):
        token = {"x-csrf": asking.token()}
        rows = [{"kind": "remark", "text": HOSTILE}, {"kind": "vehicle", "registration": "QX 10", "customer": HOSTILE}]
        sent = {"idempotency-key": "hostile"}
        for method, path, body in (
            (
                "PUT",
                "/api/vehicles/1",
                {"registration": "QX 10", "model": HOSTILE, "customer": HOSTILE, "note": HOSTILE},
            ),
            ("PUT", "/api/jobs/1/note", {"note": HOSTILE}),
            ("PUT", "/api/settings", {"shop_name": HOSTILE, "address": HOSTILE}),
            ("PUT", "/api/tools/1", {"name": HOSTILE[:40], "number": HOSTILE}),
            ("POST", "/api/people", {"name": HOSTILE, "role": "trainee"}),
            ("POST", "/api/versions/1/copies", {"name": HOSTILE}),
            ("POST", "/api/jobs/1/entries", {"entries": rows}),
        ):
            answer = asking.request(method, path, json=body, headers=token | sent)
            assert answer.status_code in {200, 201}, (path, answer.text[:300])
        yield asking


@pytest.mark.parametrize("route", LOOKING, ids=str)
def test_rendered_pages_hold_nothing_inline_and_text_stays_text(client: BenchClient, route: Route) -> None:
    answer = client.get(route.path())
    if "text/html" not in answer.headers.get("content-type", ""):
        return
    assert not inline_of(answer.text)
    assert "<img src=x" not in answer.text
    assert "onerror=alert(1)>" not in answer.text
    assert "49" not in re.findall(r"'`(\d+)", answer.text)


def test_hostile_texts_are_shown_somewhere(client: BenchClient) -> None:
    for path in ("/vehicles/1", "/jobs/1", "/people", "/tools", "/drives"):
        assert "&lt;img src=x" in client.get(path).text, path
