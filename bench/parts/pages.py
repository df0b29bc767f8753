"""Pages with twenty tablets at work: the wait for each answer of a served bench on this machine.

Tablets pause between two taps as people do; ``TWOTURN_TABLETS_S`` says for how long they work.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

from bench.table import Row
from twoturn.acts.shop import jobs
from twoturn.acts.shop.demo_shop import fill_demo_shop
from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.people import the_one_person
from twoturn.acts.shop.shop import open_shop
from twoturn.web.serve import taken

TABLETS = 20
QUICK = re.compile(r'data-ask="([^"]+)"[^>]*data-quick')
PARTS = re.compile(r'data-part="([^"]+)" data-digest="([^"]+)"')
WARM_UP_S = 15.0
"""For how long they work before it counts: everybody has opened the pages once [s]."""
SHIPPED = 5
JOBS = 10
SECONDS = float(os.environ.get("TWOTURN_TABLETS_S", "120"))
PAUSE_S = 4.0
"""Mean pause between two taps [s]."""
TARGET_S = 0.050
MIX = {"question answered": 0.45, "job page": 0.30, "list of jobs": 0.15, "live drive": 0.10}
"""What a tap asks for, and how often; an answer is followed by the parts of the page that it changed, as pages ask."""
KINDS = (*MIX, "changed parts")


@dataclass
class Tablet:
    """A tablet at work on one job."""

    port: int
    job: int
    number: int
    rest: random.Random
    waits: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    wrong: list[str] = field(default_factory=list)
    headers: dict[str, str] = field(default_factory=dict)
    have: str = ""
    quick: list[str] = field(default_factory=list)
    since: float = 0.0

    def work(self, since: float, until: float) -> None:
        """Tap, wait for the answer, pause, until a moment; what was asked before ``since`` warms the bench up."""
        self.since = since
        self.link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        self.headers["x-csrf"] = json.loads(self._ask("GET", "/here", b"", {}))["csrf"]
        time.sleep(self.rest.uniform(0, PAUSE_S))
        self._look("job page")
        at = 0
        while time.monotonic() < until:
            kind = self.rest.choices(list(MIX), list(MIX.values()))[0]
            if kind == "question answered":
                self._answer(at)
            else:
                self._look(kind)
            at += 1
            time.sleep(min(self.rest.expovariate(1 / PAUSE_S), 4 * PAUSE_S))

    def _answer(self, at: int) -> None:
        """One tap on a question that has an answer by one tap, and what it changed."""
        body = json.dumps({"asked": self.rest.choice(self.quick), "quick": True}).encode()
        more = {"content-type": "application/json", "accept": "application/json"}
        more["idempotency-key"] = f"{self.number}-{at}"
        self._timed("question answered", "POST", f"/jobs/{self.job}/answers", body, more)
        self._look("changed parts")

    def _look(self, kind: str) -> None:
        paths = {
            "job page": f"/jobs/{self.job}",
            "changed parts": f"/jobs/{self.job}/parts?{urlencode({'have': self.have})}",
            "list of jobs": "/",
            "live drive": "/drives/1",
        }
        content = self._timed(kind, "GET", paths[kind], b"", {}).decode()
        if kind == "job page":
            self.have = ",".join(f"{name}:{digest}" for name, digest in PARTS.findall(content))
            self.quick = QUICK.findall(content)

    def _timed(self, kind: str, method: str, path: str, body: bytes, more: dict[str, str]) -> bytes:
        start, counts = time.perf_counter(), time.monotonic() >= self.since
        content = self._ask(method, path, body, more)
        if counts:
            self.waits[kind].append(time.perf_counter() - start)
        return content

    def _ask(self, method: str, path: str, body: bytes, more: dict[str, str]) -> bytes:
        try:
            self.link.request(method, path, body or None, self.headers | more)
            answer = self.link.getresponse()
        except (http.client.RemoteDisconnected, ConnectionError):  # let go between two taps: as a browser, once more
            self.link.close()
            self.link.request(method, path, body or None, self.headers | more)
            answer = self.link.getresponse()
        content = answer.read()
        cookie = answer.headers.get("set-cookie")
        if cookie:
            self.headers["cookie"] = cookie.partition(";")[0]
        if answer.status != 200:
            self.wrong.append(f"{answer.status} {method} {path} {content[:200]!r}")
        return content


def measure() -> list[Row]:
    """Rows of the wait for an answer, of all and of each kind."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "data"
        job_ids = _filled(folder)
        with served(folder) as port:
            tablets = _at_work(port, job_ids)
    for sentence in [one for tablet in tablets for one in tablet.wrong][:5]:
        print(f"    {sentence}")
    kinds = {kind: sorted(wait for tablet in tablets for wait in tablet.waits[kind]) for kind in KINDS}
    every = sorted(wait for waits in kinds.values() for wait in waits)
    each = ", ".join(f"{kind} {_ms(waits)}" for kind, waits in kinds.items())
    how = (
        f"served on loopback, {TABLETS} tablets on {JOBS} jobs of the invented shop for {SECONDS:.0f} s, a tap every "
        f"{PAUSE_S:g} s each ({len(every) / SECONDS:.0f} answers a second); wait on the clock to the last byte, the "
        "tablets on the same machine"
    )
    whole = not any(tablet.wrong for tablet in tablets)
    met = whole and _at(every, 0.95) < TARGET_S
    return [
        Row("page: 95th percentile", how, f"{1e3 * _at(every, 0.95):.0f} ms ({len(every)} answers)", "50 ms", met),
        Row("page: median and 95th percentile of each kind", "the same answers", each, "none", None),
    ]


def _filled(folder: Path) -> list[int]:
    """The invented shop with enough open jobs: the shipped ones opened again, and copies of them."""
    with open_shop(folder) as shop:
        fill_demo_shop(shop)
        lead = the_one_person(shop)
        assert lead is not None
        found = [jobs.reopen_job(shop, lead, job).id for job in range(1, SHIPPED + 1)]
        for job in found[: JOBS - SHIPPED]:
            held = jobs.held_job(shop, job)
            new = jobs.start_job(shop, lead, held.row.vehicle_id, held.row.drive_version_id)
            rows = [{**entry.content, "by": lead.name} for entry in held.entries]
            add_entries(shop, lead, new.id, [row for row in rows if "file" not in row], f"copied {job}")
            found.append(new.id)
        return found


@contextmanager
def served(folder: Path) -> Iterator[int]:
    """The port of a bench that is served from that folder in a process of its own."""
    with taken("127.0.0.1", 0) as free:
        port = free.getsockname()[1]
    twoturn = str(Path(sys.executable).with_name("twoturn"))
    words = [twoturn, "serve", "--port", str(port), "--data", str(folder)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        while not re.search(r"Stop the bench", process.stdout.readline() or "Stop the bench"):
            pass
        _wait_for(port)
        yield port
        process.terminate()
        process.wait(20)


def _wait_for(port: int) -> None:
    """Ask for every job once, as somebody has before twenty work on them."""
    until = time.monotonic() + 30
    while time.monotonic() < until:
        try:
            link = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
            link.request("GET", "/")
            link.getresponse().read()
            return
        except OSError:
            time.sleep(0.05)


def _at_work(port: int, job_ids: list[int]) -> list[Tablet]:
    tablets = [Tablet(port, job_ids[at % len(job_ids)], at, random.Random(at)) for at in range(TABLETS)]
    since = time.monotonic() + WARM_UP_S
    threads = [threading.Thread(target=tablet.work, args=(since, since + SECONDS)) for tablet in tablets]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return tablets


def _at(waits: list[float], share: float) -> float:
    """The wait that so many in a hundred do not exceed [s]."""
    return waits[min(len(waits) - 1, int(share * len(waits)))]


def _ms(waits: list[float]) -> str:
    return f"{1e3 * statistics.median(waits):.0f} and {1e3 * _at(waits, 0.95):.0f} ms" if waits else "none"
