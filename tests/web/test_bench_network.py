"""The bench on a network: first start by code, sign-in, lock-out, what was typed is kept, TLS, the code for cameras."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import socket
import ssl
import stat
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path

import pytest
import segno
from tests.web.bench import BenchClient, client_of, running

from twoturn.acts.shop.certificate import given_certificate, own_certificate
from twoturn.acts.shop.people import add_person, people, set_up
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.vehicles import find_vehicles
from twoturn.errors import TwoTurnError
from twoturn.web.codes import code_lines, code_svg
from twoturn.web.mode import Mode
from twoturn.web.security.setup_code import TRIES, SetUpCode
from twoturn.web.serve import taken

ADDRESS = "http://192.168.7.5:8642"
PIN = "40917"


@pytest.fixture
def lan(shop: Shop) -> Iterator[BenchClient]:
    """A client in a network's bench whose lead is Ada Field."""
    set_up(shop, "Ada Field", PIN)
    with client_of(shop, Mode(lan=True), ADDRESS) as client:
        yield client


def _sign_in(client: BenchClient, pin: str = PIN, name: str = "Ada Field") -> int:
    return int(client.form("/sign-in", {"name": name, "pin": pin}).status_code)


def test_the_first_start_needs_the_code_of_the_terminal(shop: Shop) -> None:
    code = SetUpCode()
    with client_of(shop, Mode(lan=True, setup_code=code), ADDRESS) as client:
        asked = client.get("/")
        assert asked.url.path == "/set-up"
        assert code.digits not in asked.text
        fields = {"name": "Ada Field", "pin": PIN, "pin_again": PIN}
        assert client.form("/set-up", fields | {"code": "0" * 8}).status_code == 422
        assert client.form("/set-up", fields | {"code": code.shown, "pin_again": "1"}).status_code == 422
        assert client.form("/set-up", fields | {"code": code.shown}).headers["location"] == "/"
        assert "Here as <strong>Ada Field</strong>, lead" in client.get("/more").text
        assert client.form("/set-up", fields | {"code": code.shown}).headers["location"] == "/sign-in"


def test_the_code_cannot_be_guessed() -> None:
    code = SetUpCode("12345678")
    for _ in range(TRIES):
        with pytest.raises(TwoTurnError, match="is not the set-up code"):
            code.check("87654321")
    with pytest.raises(TwoTurnError, match="void"):
        code.check("12345678")


def test_signing_in_and_out(lan: BenchClient) -> None:
    assert lan.get("/more").status_code == 401
    assert _sign_in(lan, "40918") == 422
    before = lan.cookies["twoturn"]
    assert _sign_in(lan) == 303
    assert lan.cookies["twoturn"] != before  # a cookie somebody planted is worth nothing after signing in
    assert lan.get("/more").status_code == 200
    held = lan.cookies["twoturn"]
    lan.form("/sign-out")
    lan.cookies.set("twoturn", held)
    assert lan.get("/more").status_code == 401


def test_the_cookie_is_for_this_host_alone(shop: Shop) -> None:
    set_up(shop, "Ada Field", PIN)
    with client_of(shop, Mode(lan=True, tls=True), ADDRESS.replace("http:", "https:")) as client:
        cookie = client.form("/sign-in", {"name": "Ada Field", "pin": PIN}).headers["set-cookie"].lower()
    assert cookie.startswith("__host-twoturn=")
    for word in ("secure", "httponly", "samesite=strict", "path=/"):
        assert word in cookie
    assert "domain" not in cookie


def test_guessing_is_held_back_longer_each_time(shop: Shop) -> None:
    set_up(shop, "Ada Field", PIN)
    now = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    clock = {"now": now}
    with client_of(replace(shop, clock=lambda: clock["now"]), Mode(lan=True), ADDRESS) as client:
        assert [_sign_in(client, "1234") for _ in range(5)] == [422] * 5
        assert _sign_in(client) == 429  # the right PIN too: else guessing would go on unseen
        clock["now"] += timedelta(seconds=31)
        assert _sign_in(client, "1234") == 422
        clock["now"] += timedelta(seconds=31)
        assert _sign_in(client) == 429
        clock["now"] += timedelta(seconds=60)
        assert _sign_in(client) == 303


def test_who_has_no_pin_or_has_left_is_not_offered(lan: BenchClient, shop: Shop) -> None:
    lead = next(one for one in people(shop) if one.role == "lead")
    add_person(shop, lead, "Nora Pinless", "technician")
    text = lan.get("/sign-in").text
    assert "Ada Field" in text
    assert "Nora Pinless" not in text


def test_what_was_typed_when_the_sign_in_had_ended_is_sent_after_signing_in(lan: BenchClient, shop: Shop) -> None:
    typed = {"registration": "XX-YZ 123", "note": 'he said "squeals"'}
    asked = lan.form("/vehicles/new", typed)
    assert asked.status_code == 401
    assert "What you typed is kept" in asked.text
    kept = unescape(re.search(r'name="kept" value="([^"]*)"', asked.text)[1])  # type: ignore[index]
    again = lan.form("/sign-in", {"name": "Ada Field", "pin": "1", "kept": kept})
    assert unescape(re.search(r'name="kept" value="([^"]*)"', again.text)[1]) == kept  # type: ignore[index]
    shown = lan.form("/sign-in", {"name": "Ada Field", "pin": PIN, "kept": kept})
    assert shown.status_code == 200
    fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', shown.text))
    assert fields["registration"] == "XX-YZ 123"
    sent = lan.post("/vehicles/new", data={name: unescape(value) for name, value in fields.items()})
    assert sent.status_code == 200
    assert [one.note for one in find_vehicles(shop, "")] == ['he said "squeals"']


def test_nothing_large_is_taken_in_for_somebody_unknown(lan: BenchClient) -> None:
    paper = ("x.pdf", b"%PDF" + b"0" * 2_000_000, "application/pdf")
    asked = lan.form("/tools/certificate", files={"paper": paper})
    assert asked.status_code == 401
    assert "x.pdf" not in asked.text
    small = lan.form("/tools/certificate", files={"paper": ("x.pdf", b"%PDF", "application/pdf")})
    assert "x.pdf" in small.text  # it is named, to be chosen again


@pytest.mark.parametrize("path", ["//evil.example/x", "/\\evil.example", "https://evil.example/", "javascript:x"])
def test_signing_in_leads_nowhere_else(lan: BenchClient, path: str) -> None:
    kept = f'{{"path": "{path}", "fields": null, "lost_files": []}}'.replace("\\", "\\\\")
    answer = lan.form("/sign-in", {"name": "Ada Field", "pin": PIN, "kept": kept})
    assert answer.headers["location"] == "/"


def test_a_new_pin_signs_other_devices_out(lan: BenchClient, shop: Shop) -> None:
    _sign_in(lan)
    with client_of(shop, Mode(lan=True), ADDRESS) as other:
        _sign_in(other)
        assert lan.form("/who/pin", {"old": "1", "pin": "55123", "pin_again": "55123"}).status_code == 422
        answer = lan.form("/who/pin", {"old": PIN, "pin": "55123", "pin_again": "55123"})
        assert answer.status_code == 303
        assert lan.get("/more").status_code == 200
        assert other.get("/more").status_code == 401
        assert _sign_in(other, "55123") == 303


@pytest.mark.parametrize(
    ("host", "status"),
    [("192.168.7.5", 401), ("10.0.0.1:8642", 401), ("bench.example", 401), ("evil.example", 421), ("", 421)],
)
def test_on_a_network_only_addresses_and_names_of_the_bench_are_answered(shop: Shop, host: str, status: int) -> None:
    set_up(shop, "Ada Field", PIN)
    with client_of(shop, Mode(lan=True, names=("bench.example",)), ADDRESS) as client:
        assert client.get("/more", headers={"host": host}).status_code == status


def test_a_made_certificate_fits_its_names_and_is_kept(shop: Shop) -> None:
    made = own_certificate(shop, ("127.0.0.1", "localhost", "bench.example"))
    assert stat.S_IMODE(made.key.stat().st_mode) == 0o600
    assert own_certificate(shop, ("127.0.0.1",)) == made
    assert own_certificate(shop, ("127.0.0.1", "192.168.7.9")).fingerprint != made.fingerprint
    later = replace(shop, clock=lambda: datetime.now(UTC) + timedelta(days=380))
    renewed = own_certificate(later, ("127.0.0.1", "192.168.7.9"))
    assert renewed.fingerprint != own_certificate(shop, ("127.0.0.1", "192.168.7.9", "x.example")).fingerprint
    given_certificate(renewed.file, renewed.key)


def test_over_tls_pages_come_and_without_it_nothing(shop: Shop) -> None:
    set_up(shop, "Ada Field", PIN)
    made = own_certificate(shop, ("127.0.0.1",))
    with running(shop, Mode(lan=True, tls=True), made) as url:
        trusting = ssl.create_default_context(cafile=str(made.file))
        with urllib.request.urlopen(f"{url}/sign-in", context=trusting, timeout=10) as answer:  # noqa: S310
            assert b"Who is here?" in answer.read()
        with pytest.raises(OSError):  # noqa: PT011 - how the connection breaks is the system's affair
            urllib.request.urlopen(url.replace("https:", "http:"), timeout=10)  # noqa: S310
        with pytest.raises(OSError, match="CERTIFICATE_VERIFY_FAILED"):
            urllib.request.urlopen(f"{url}/sign-in", timeout=10)  # noqa: S310


def test_a_certificate_that_cannot_be_used_is_refused_at_once(shop: Shop, tmp_path: Path) -> None:
    made = own_certificate(shop, ("127.0.0.1",))
    (tmp_path / "junk.pem").write_text("junk")
    for file, key in [(made.file, tmp_path / "none.pem"), (tmp_path / "junk.pem", made.key), (made.key, made.file)]:
        with pytest.raises(TwoTurnError, match="make no certificate"):
            given_certificate(file, key)
    with pytest.raises(TwoTurnError, match="--key is missing"):
        given_certificate(made.file, None)


def test_the_page_for_other_devices_shows_the_address_as_a_code(shop: Shop) -> None:
    set_up(shop, "Ada Field", PIN)
    with client_of(shop, Mode(lan=True, addresses=("https://192.168.7.5:8642",)), ADDRESS) as client:
        _sign_in(client)
        text = client.get("/devices").text
    assert "https://192.168.7.5:8642" in text
    assert code_svg("https://192.168.7.5:8642") in text
    assert "style=" not in code_svg("https://192.168.7.5:8642")


def test_the_code_in_the_terminal_is_the_code_of_the_page() -> None:
    address = "https://192.168.7.5:8642"
    rows = [list(row) for row in segno.make(address, error="l", micro=False).matrix_iter(border=2)]
    lines = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in code_lines(address)]
    halves = {" ": (1, 1), "█": (0, 0), "▀": (0, 1), "▄": (1, 0)}
    seen = [[halves[sign][half] for sign in line] for line in lines for half in (0, 1)]
    assert [row[: len(rows[0])] for row in seen[: len(rows)]] == rows


def test_a_taken_port_is_told() -> None:
    with taken("127.0.0.1", 0) as held, pytest.raises(TwoTurnError, match="cannot be used"):
        taken("127.0.0.1", held.getsockname()[1])


def test_the_last_part_of_an_answer_does_not_wait_for_the_first() -> None:
    """RFC 1122, 4.2.3.4: who writes twice and reads once must be able to switch off the delay of small segments."""

    async def switched_off() -> int:
        found = asyncio.get_running_loop().create_future()

        class Answers(asyncio.Protocol):
            def connection_made(self, transport: asyncio.BaseTransport) -> None:
                taken_in = transport.get_extra_info("socket")
                found.set_result(taken_in.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
                transport.close()

        with taken("127.0.0.1", 0) as listening:
            server = await asyncio.get_running_loop().create_server(Answers, sock=listening)
            async with server:
                with socket.create_connection(listening.getsockname()):
                    return int(await asyncio.wait_for(found, 10))

    with ThreadPoolExecutor(1) as apart:  # the browser's loop runs in this thread already
        assert apart.submit(lambda: asyncio.run(switched_off())).result(20)


@pytest.mark.parametrize("lan", [False, True])
def test_the_command_serves_until_it_is_stopped(tmp_path: Path, lan: bool) -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    command = [sys.executable, "-c", "from twoturn.cli.main import run; run()", "serve", "--port", str(port)]
    command += ["--data", str(tmp_path / "data"), *(["--lan"] if lan else [])]
    plain = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=plain)
    try:
        assert process.stdout is not None
        said = ""
        while "Stop the bench" not in said:
            line = process.stdout.readline()
            assert line, process.stderr.read() if process.stderr else ""
            said += line
        assert ("set-up code" in said) == lan
        assert f"{'https' if lan else 'http'}://" in said
        second = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
        assert second.returncode == 2
        assert "cannot be used" in second.stderr
    finally:
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=30)
    assert process.returncode == 0, errors
    assert errors == ""
