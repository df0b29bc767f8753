"""Recordings and photos on the bench: sent, analysed, accepted or repeated; hostile files; recorded in the page.

The microphone of the browser plays a span whose truth is known (:mod:`tests.recording.made`); requirement and angles
are those of the drive file.
"""

from __future__ import annotations

import gzip
import io
import json
import struct
import time
import wave
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect
from tests.recording.made import TOOTH_DEG, plucked_wav, sensors_csv
from tests.web.bench import SIZES, BenchClient, RunningBench
from tests.web.looks import look_over
from tests.web.test_job_page import begin

from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.evidence import MOST_BYTES, evidence_file
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import held_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.web.pages import files
from twoturn.web.workers import Workers

NOTE = "prove-setting/pluck/frequency-roller-camshaft"
CAPTURE = "crank-injection-off/capture"
PHOTO = "open-covers/photo/the-belt-drive-as-found"
JSON = {"accept": "application/json"}
PLACE = 0x8825
BEFORE: tuple[dict[str, Any], ...] = (
    {"kind": "belt fitted", "teeth": 109, "arrow": "with travel"},
    {"kind": "temperature", "temperature_c": 20},
    {"kind": "turned", "turns": 2},
)


@pytest.fixture(scope="module", autouse=True)
def one_worker() -> Iterator[None]:
    """All benches of these tests share one worker process, since starting one takes longest."""
    shared, start, close = Workers(), Workers._start, Workers.close

    def started(own: Workers) -> ProcessPoolExecutor:
        if shared._pool is None or shared._pool._broken:  # type: ignore[attr-defined]
            start(shared)
        assert shared._pool is not None
        own._pool = shared._pool
        return shared._pool

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Workers, "_start", started)
        patch.setattr(Workers, "close", lambda _: None)
        yield
    close(shared)


@pytest.fixture
def job(shop: Shop, person: Actor) -> int:
    """A job whose belt is on and turned."""
    number = begin(shop, person, "Alder 8", "QX 10 DEMO")
    add_entries(shop, person, number, BEFORE, "before")
    return number


def send(client: BenchClient, job: int, content: bytes, name: str, **fields: str) -> Any:
    """Send a file as the queue does."""
    headers = {**JSON, "x-csrf": client.token(), "idempotency-key": fields.pop("key", name)}
    sent = {"file": (name, content, "application/octet-stream")}
    return client.post(f"/jobs/{job}/files", data=fields, files=sent, headers=headers)


def done(client: BenchClient, url: str) -> dict[str, Any]:
    """Wait for an analysis; ``url`` is that of its page."""
    until = time.monotonic() + 60
    while True:
        told: dict[str, Any] = client.get(url.replace("/recordings/", "/analyses/")).json()
        if told["state"] != "going on":
            return told
        assert time.monotonic() < until
        time.sleep(0.05)


def phone_photo() -> bytes:
    """A photo on its side, red at the top as it was seen, with the place where it was taken."""
    picture = Image.new("RGB", (800, 600), "blue")
    picture.paste("red", (0, 0, 200, 600))
    exif = picture.getexif()
    exif[0x0112] = 6  # to be turned a quarter clockwise (EXIF 2.32, orientation)
    exif.get_ifd(PLACE)[1] = "N"
    exif.get_ifd(PLACE)[2] = (52.0, 30.0, 0.0)
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=exif)
    return out.getvalue()


def test_a_sound_is_sent_analysed_and_accepted(client: BenchClient, shop: Shop, job: int) -> None:
    sent = send(client, job, plucked_wav(144.3), "note.wav", kind="sound", asked=NOTE)
    assert sent.status_code == 200, sent.text
    assert sent.json()["name"] == "note.wav"
    told = done(client, url := sent.json()["analysis"]["url"])
    assert told["state"] == "done"
    assert told["answer"]["entry"]["reading"]["frequency_hz"] == pytest.approx(144.3, rel=0.003)
    page = client.get(url).text
    assert "What it would show" in page
    assert "inside 136–153 Hz" in page
    for path in ("0/wide", "0/narrow", "1/wide"):
        svg = client.get(url.replace("/recordings/", "/analyses/") + f"/pictures/{path}")
        assert (svg.status_code, svg.headers["content-type"]) == (200, "image/svg+xml")
    assert len(held_job(shop, job).entries) == len(BEFORE), "nothing is entered before it is accepted"
    assert client.form(f"{url}/accept").headers["location"] == url
    assert client.form(f"{url}/accept").status_code == 303, "a second tap"
    view = job_view(shop, job)
    assert [line.kind for line in view.lines[len(BEFORE) :]] == ["pluck"]
    assert view.proof.assessment.check("note-of-the-slack-span").verdict == "proven"
    assert "Entered</strong> as entry 4" in client.get(url).text


def test_a_sending_that_comes_again_is_one_file_and_one_analysis(client: BenchClient, shop: Shop, job: int) -> None:
    first = send(client, job, plucked_wav(), "note.wav", kind="sound", asked=NOTE).json()
    again = send(client, job, plucked_wav(), "note.wav", kind="sound", asked=NOTE).json()
    assert again["analysis"]["id"] == first["analysis"]["id"]
    assert list(held_job(shop, job).sha256) == ["note.wav"]
    other = send(client, job, plucked_wav(150.0), "note.wav", kind="sound").json()
    assert other["name"] == "note-2.wav"
    assert other["analysis"] is None, "no question, no analysis"


def test_a_reading_is_put_aside_only_with_its_reason_on_record(client: BenchClient, shop: Shop, job: int) -> None:
    url = send(client, job, plucked_wav(120.0), "slack.wav", kind="sound", asked=NOTE).json()["analysis"]["url"]
    done(client, url)
    assert "✕" not in client.get(url).text
    refused = client.form(f"{url}/repeat")
    assert refused.status_code == 422
    assert "nothing says why" in refused.text
    assert (
        client.form(f"{url}/repeat", {"reason": "another span"})
        .headers["location"]
        .endswith("asked=" + NOTE.replace("/", "%2F"))
    )
    (entry,) = held_job(shop, job).file.raw[len(BEFORE) :]
    assert entry["kind"] == "remark"
    assert "slack.wav (Note: 120" in entry["text"]
    assert "another span" in entry["text"]


def test_a_cam_a_tooth_late_is_told_by_its_sensor_recording(client: BenchClient, job: int) -> None:
    packed = gzip.compress(sensors_csv(TOOTH_DEG, cam="CH2"))
    fields = {"kind": "capture", "asked": CAPTURE, "g.regime.cranking": "yes"}
    url = send(client, job, packed, "late.csv.gz", **fields).json()["analysis"]["url"]
    (phase,) = [check for check in done(client, url)["answer"]["checks"] if check["id"] == "phase-camshaft"]
    assert phase["verdict"] == "not met"
    assert "one tooth late" in client.get(url).text
    more = {
        "file": "late.csv.gz",
        "asked": CAPTURE,
        "crank": "crank",
        "cams.camshaft": "CH2",
        "g.regime.cranking": "yes",
    }
    again = client.form(f"/jobs/{job}/analyses", more).headers["location"]
    entry = done(client, again)["answer"]["entry"]
    assert entry["cams"] == {"camshaft": "CH2"}
    assert entry["regime"] == {"cranking": True}


def test_without_script_a_form_leads_to_the_result(client: BenchClient, job: int) -> None:
    page = client.get(f"/jobs/{job}/recordings").text
    assert "What may be recorded" in page
    asked = client.get(f"/jobs/{job}/recordings", params={"asked": NOTE}).text
    assert "Pluck with the engine off" in asked
    fields = {"kind": "sound", "asked": NOTE, "settings": ""}
    answer = client.form(f"/jobs/{job}/files", fields, files={"file": ("note.wav", plucked_wav(), "audio/wav")})
    assert answer.status_code == 303
    done(client, answer.headers["location"])
    assert "Accept: enter it in the job" in client.get(answer.headers["location"]).text
    files_there = client.get(f"/jobs/{job}/recordings").text
    assert "in no entry" in files_there
    assert "read, waits to be accepted or repeated" in files_there


def test_what_was_typed_wrongly_comes_back_and_nothing_is_kept(client: BenchClient, shop: Shop, job: int) -> None:
    fields = {"kind": "sound", "asked": NOTE, "g.length_mm": "nine miles"}
    answer = client.form(f"/jobs/{job}/files", fields, files={"file": ("note.wav", plucked_wav(), "audio/wav")})
    assert answer.status_code == 422
    assert 'value="nine miles"' in answer.text
    assert held_job(shop, job).sha256 == {}


def test_a_photo_is_upright_without_its_place_and_entered(client: BenchClient, shop: Shop, job: int) -> None:
    for waited in ("7200", "7300"):  # the second time after two hours without connection and an answer that was lost
        fields = {"kind": "photo", "asked": PHOTO, "key": "photo-1", "waited_s": waited}
        sent = send(client, job, phone_photo(), "IMG_0042.JPG", **fields)
        assert sent.status_code == 200, sent.text
    (entry,) = held_job(shop, job).file.raw[len(BEFORE) :]
    assert (entry["kind"], entry["done"]) == ("photo", "open-covers")
    typed = datetime.fromisoformat(entry["entered"])
    assert timedelta(hours=1.9) < datetime.now() - typed < timedelta(hours=2.1), (
        "it says when it was taken, not when it came"
    )
    kept = client.get(f"/jobs/{job}/files/{entry['file']}")
    assert kept.headers["content-type"] == "image/jpeg"
    assert kept.headers["content-disposition"].startswith("inline")
    with Image.open(io.BytesIO(kept.content)) as picture:
        assert picture.size == (600, 800)
        assert picture.convert("RGB").getpixel((300, 20))[0] > 200, "red is at the top"  # type: ignore[index]
        assert not picture.getexif().get_ifd(PLACE)
    assert b"Exif" not in kept.content


def test_a_file_takes_the_place_of_the_entry_it_corrects(client: BenchClient, shop: Shop, job: int) -> None:
    send(client, job, phone_photo(), "first.jpg", kind="photo", asked=PHOTO)
    send(client, job, phone_photo(), "second.jpg", kind="photo", asked=PHOTO, replaces="4")
    assert "takes the place" not in client.get(f"/jobs/{job}/recordings", params={"asked": NOTE}).text
    for number, note in ((None, 120.0), ("6", 144.3)):
        more = {} if number is None else {"replaces": number}
        page = client.get(f"/jobs/{job}/recordings", params={"asked": NOTE, **more}).text
        assert ("takes the place of entry 6" in page) == bool(more)
        sent = send(client, job, plucked_wav(note), f"{note:.0f}.wav", kind="sound", asked=NOTE, **more)
        done(client, url := sent.json()["analysis"]["url"])
        client.form(f"{url}/accept")
    lines = job_view(shop, job).lines[len(BEFORE) :]
    assert [(line.kind, line.corrected_by) for line in lines] == [
        ("photo", 5),
        ("photo", None),
        ("pluck", 7),
        ("pluck", None),
    ]
    assert job_view(shop, job).proof.assessment.check("note-of-the-slack-span").verdict == "proven"
    refused = send(client, job, phone_photo(), "third.jpg", kind="photo", asked=PHOTO, replaces="99")
    assert refused.status_code == 422


def bomb() -> bytes:
    """A PNG of a few kB that would be 40 000 x 40 000 pixels (PNG specification, chunks IHDR, IDAT, IEND)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", 40_000, 40_000, 8, 2, 0, 0, 0)
    pixels = zlib.compress(bytes(3_000_000), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")


SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
HOSTILE = {
    "cut off": phone_photo()[:3000],
    "bomb": bomb(),
    "svg": SVG,
    "text": b"no picture",
    "empty": b"",
    "sound": plucked_wav(plucks=1),
}


@pytest.mark.parametrize("content", HOSTILE.values(), ids=HOSTILE)
def test_a_photo_that_is_none_is_refused_in_one_sentence(
    client: BenchClient, shop: Shop, job: int, content: bytes
) -> None:
    answer = send(client, job, content, "photo.jpg", kind="photo")
    assert answer.status_code == 422
    sentence = answer.json()["error"]["sentence"]
    assert sentence.lower().startswith("photo.jpg ")
    assert held_job(shop, job).sha256 == {}


@pytest.mark.parametrize(
    "name",
    [
        "../../../etc/passwd.wav",
        "..\\..\\win.wav",
        "/etc/x.wav",
        "a\x00b.wav",
        "C:\\x.wav",
        "....wav",
        "ü ö.wav",
        "x" * 300 + ".wav",
    ],
)
def test_a_name_leads_nowhere(client: BenchClient, shop: Shop, job: int, name: str) -> None:
    answer = send(client, job, b"RIFF", name, kind="sound", key="k")
    assert answer.status_code == 200, answer.text
    (kept,) = held_job(shop, job).sha256
    assert "/" not in kept
    assert "\\" not in kept
    assert not kept.startswith(".")
    assert len(kept) <= 92
    assert evidence_file(shop, job, kept).path.is_relative_to(shop.place.evidence)


@pytest.mark.parametrize(
    "path", ["..%2f..%2fshop.db", "%2e%2e%2fx.db", "/etc/passwd", "nothing.wav", "note.wav%00.jpg"]
)
def test_nothing_but_files_of_the_job_is_given(client: BenchClient, job: int, path: str) -> None:
    send(client, job, plucked_wav(), "note.wav", kind="sound")
    assert client.get(f"/jobs/{job}/files/{path}").status_code in (404, 405)
    assert client.get(f"/jobs/{job + 1}/files/note.wav").status_code == 404


def test_what_a_browser_could_run_is_only_ever_saved(client: BenchClient, job: int) -> None:
    for name, kind in (
        ("page.html", "capture"),
        ("picture.svg", "capture"),
        ("sheet.pdf", "paper"),
        ("x.csv", "capture"),
    ):
        send(client, job, SVG, name, kind=kind)
        given = client.get(f"/jobs/{job}/files/{name}")
        assert given.headers["content-disposition"].startswith("attachment")
        assert given.headers["content-type"] == "application/octet-stream"
        assert given.headers["x-content-type-options"] == "nosniff"


def test_too_much_is_refused_by_kind(
    client: BenchClient, shop: Shop, job: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert MOST_BYTES["capture"] <= files.LIMIT
    monkeypatch.setitem(MOST_BYTES, "sound", 1000)
    monkeypatch.setitem(MOST_BYTES, "photo", 1000)
    for content, kind in ((plucked_wav(), "sound"), (phone_photo(), "photo")):
        answer = send(client, job, content, "large.bin", kind=kind)
        assert answer.status_code in (413, 422)
        assert "large" in answer.json()["error"]["sentence"]
    assert held_job(shop, job).sha256 == {}
    assert not list(shop.place.incoming.glob("*")), "nothing half-sent is left"


def test_what_is_no_sending_is_refused(client: BenchClient, job: int) -> None:
    assert send(client, job, b"x", "x.bin", kind="program").status_code == 422
    assert send(client, job, b"x", "x.wav", kind="sound", asked="moon").status_code == 422
    assert send(client, job, b"x", "x.wav", kind="capture", asked=NOTE).status_code == 422
    headers = {**JSON, "x-csrf": client.token()}
    assert client.post(f"/jobs/{job}/files", data={"kind": "sound"}, headers=headers).status_code == 422
    assert client.post(f"/jobs/{job}/files", data={"kind": "sound"}).status_code == 403
    assert client.get(f"/jobs/{job}/analyses/none").status_code == 404
    assert client.get(f"/jobs/{job}/recordings/none").status_code == 404
    assert client.get(f"/jobs/{job}/recordings", params={"asked": "moon"}).status_code == 404


def test_a_recording_that_kills_its_reader_is_told_and_the_next_one_is_read(
    client: BenchClient, job: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    from twoturn.acts.shop import recordings

    with monkeypatch.context() as patch:
        patch.setattr(recordings, "analyse", _dies)
        url = send(client, job, plucked_wav(), "note.wav", kind="sound", asked=NOTE).json()["analysis"]["url"]
        told = done(client, url)
    assert told["state"] == "broken"
    assert "broken off" in told["broken"]
    assert "Record again or choose another file" in client.get(url).text
    url = send(client, job, plucked_wav(), "note.wav", kind="sound", asked=NOTE).json()["analysis"]["url"]
    assert done(client, url)["state"] == "done"


def _dies(*_: object) -> None:
    import os

    os._exit(9)


@pytest.fixture
def hearing(bench: RunningBench, chromium: Browser, tmp_path: Path) -> Iterator[Callable[[str], Page]]:
    """``hearing("phone")``: a page at the bench in a browser whose microphone hears a plucked span."""
    played = tmp_path / "microphone.wav"
    played.write_bytes(plucked_wav(144.3, 48000))
    browser = chromium.browser_type.launch(
        executable_path="/usr/bin/chromium",
        args=[
            "--no-sandbox",
            "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-audio-capture={played}",
        ],
    )
    slips: list[str] = []

    def made(size: str) -> Page:
        viewport: Any = SIZES[size]
        context = browser.new_context(viewport=viewport, base_url=bench.url, permissions=["microphone"])
        page = context.new_page()
        page.on("pageerror", lambda error: slips.append(str(error)))
        page.on("console", lambda said: slips.append(said.text) if said.type == "error" else None)
        return page

    yield made
    browser.close()
    assert not slips


@pytest.mark.parametrize("size", SIZES)
def test_a_span_is_recorded_in_the_page_analysed_and_entered(
    hearing: Callable[[str], Page], shop: Shop, job: int, size: str
) -> None:
    page = hearing(size)
    page.goto(f"/jobs/{job}/recordings")
    look_over(page, "recordings")
    page.get_by_role("link", name="Sound Note of the plucked span, roller to camshaft").click()
    expect(page.get_by_role("button", name="Start recording")).to_be_visible()
    look_over(page, "recording-asked")
    page.get_by_role("button", name="Start recording").click()
    expect(page.locator("[data-level-words]")).to_contain_text("Heard well", timeout=8000)
    expect(page.locator("[data-level-words]")).to_contain_text("4 s", timeout=8000)
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_text("echo cancelling off, noise suppression off, gain control off")).to_be_visible()
    look_over(page, "recording-heard")
    page.get_by_role("button", name="Use this recording").click()
    expect(page.get_by_role("heading", name="What it would show")).to_be_visible(timeout=60_000)
    page.get_by_role("button", name="Accept: enter it in the job").click()
    expect(page.get_by_text("✓ Entered as entry 4")).to_be_visible()
    page.wait_for_load_state("networkidle")
    look_over(page, "recording-result")
    assert page.evaluate("[...document.images].every((one) => one.naturalWidth > 0)")
    entry = held_job(shop, job).file.raw[-1]
    assert entry["reading"]["frequency_hz"] == pytest.approx(144.3, rel=0.005)
    assert "echo cancelling off, noise suppression off, gain control off" in entry["note"]
    with wave.open(str(evidence_file(shop, job, entry["file"]).path)) as made:
        assert (made.getnchannels(), made.getsampwidth()) == (1, 2)
        assert 3 < made.getnframes() / made.getframerate() < 20


def test_where_the_page_is_not_secure_it_says_so_and_takes_a_file(
    browser_page: Callable[..., Page], shop: Shop, job: int, tmp_path: Path
) -> None:
    page = browser_page("phone")
    page.add_init_script("Object.defineProperty(globalThis, 'isSecureContext', { value: false })")
    page.goto(f"/jobs/{job}/recordings?asked={NOTE}")
    expect(page.locator("[data-no-recorder]")).to_contain_text("not reached by https")
    expect(page.get_by_role("button", name="Start recording")).to_be_hidden()
    (tmp_path / "phone.wav").write_bytes(plucked_wav(144.3))
    page.locator("[data-file]").set_input_files(tmp_path / "phone.wav")
    page.get_by_role("button", name="Analyse this file").click()
    expect(page.get_by_role("heading", name="What it would show")).to_be_visible(timeout=60_000)
    assert list(held_job(shop, job).sha256) == ["phone.wav"]


def test_a_capture_is_dragged_in(browser_page: Callable[..., Page], job: int) -> None:
    page = browser_page("tablet")
    page.goto(f"/jobs/{job}/recordings?asked={CAPTURE}")
    look_over(page, "capture-asked")
    page.evaluate(
        """(text) => {
          const data = new DataTransfer();
          data.items.add(new File([text], "left.csv", { type: "text/csv" }));
          const drop = new DragEvent("drop", { dataTransfer: data, cancelable: true });
          document.querySelector("[data-drop]").dispatchEvent(drop);
        }""",
        sensors_csv(TOOTH_DEG).decode(),
    )
    expect(page.locator("[data-chosen]")).to_contain_text("left.csv")
    page.get_by_label("turned by the starter").check()
    page.get_by_role("button", name="Analyse this file").click()
    expect(page.get_by_text("one tooth late")).to_be_visible(timeout=60_000)
    page.wait_for_load_state("networkidle")
    look_over(page, "capture-result")
    page.emulate_media(color_scheme="dark")
    look_over(page, "capture-result-dark")


def test_a_photo_taken_without_connection_waits_and_is_entered_when_it_is_back(
    browser_page: Callable[..., Page], shop: Shop, job: int, tmp_path: Path, slips: list[str]
) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{job}/recordings?asked={PHOTO}")
    (tmp_path / "taken.jpg").write_bytes(phone_photo())
    page.context.set_offline(True)
    page.locator("[data-file]").set_input_files(tmp_path / "taken.jpg")
    expect(page.locator("[data-chosen] img")).to_be_visible()
    page.get_by_role("button", name="Keep this photo").click()
    expect(page.locator("#waiting")).to_contain_text("1 entry waits here")
    look_over(page, "photo-waits")
    assert len(held_job(shop, job).entries) == len(BEFORE)
    page.context.set_offline(False)
    expect(page.locator("[data-sent]")).to_contain_text("Kept and entered", timeout=30_000)
    (entry,) = held_job(shop, job).file.raw[len(BEFORE) :]
    assert (entry["kind"], entry["file"]) == ("photo", "taken.jpg")
    slips.clear()  # the browser itself writes failed requests into the console


def test_what_a_browser_tells_of_itself_is_taken_as_told(client: BenchClient, job: int) -> None:
    for settings, told in (
        ({"echoCancellation": True, "sampleRate": 44100}, "echo cancelling on, noise suppression unknown"),
        ("nonsense", "echo cancelling unknown"),
        ([1], "echo cancelling unknown"),
    ):
        text = settings if isinstance(settings, str) else json.dumps(settings)
        sent = send(client, job, plucked_wav(), "note.wav", kind="sound", asked=NOTE, settings=text).json()
        assert told in done(client, sent["analysis"]["url"])["answer"]["entry"]["note"]


def test_a_sound_without_connection_waits_and_its_result_opens_when_it_is_back(
    browser_page: Callable[..., Page], shop: Shop, job: int, tmp_path: Path, slips: list[str]
) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{job}/recordings?asked={NOTE}")
    (tmp_path / "span.wav").write_bytes(plucked_wav(144.3))
    page.context.set_offline(True)
    page.locator("[data-file]").set_input_files(tmp_path / "span.wav")
    page.get_by_role("button", name="Analyse this file").click()
    expect(page.locator("#waiting")).to_contain_text("1 entry waits here")
    assert held_job(shop, job).sha256 == {}
    page.context.set_offline(False)
    expect(page.get_by_role("heading", name="What it would show")).to_be_visible(timeout=60_000)
    assert list(held_job(shop, job).sha256) == ["span.wav"]
    slips.clear()  # the browser itself writes failed requests into the console
