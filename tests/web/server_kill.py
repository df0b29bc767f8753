"""A served bench, killed (SIGKILL) again and again while tablets send to it; what became of what it acknowledged.

``python -m tests.web.server_kill PORT FOLDER`` is the launcher: it loads the program once and, for each line it reads,
starts ``twoturn serve`` in a process of its own, so that a start takes no seconds of loading. Some starts go through
the command itself.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.web.stocked import stock

from twoturn.acts.shop import jobs
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.errors import TwoTurnError
from twoturn.store.files import path_of
from twoturn.store.place import Place
from twoturn.store.verify import verify
from twoturn.web.serve import taken

ROOT = Path(__file__).resolve().parents[2]
TABLETS = 4
A_JOB = 60
"""Sendings to a job before the next one is begun [-]."""
PATIENCE_S = 60.0


@dataclass
class Tablet:
    """A tablet: sends one thing after the other, each again with its key until it is acknowledged."""

    port: int
    number: int
    job_ids: list[int]
    stop: threading.Event
    acknowledged: dict[str, tuple[int, int, int]] = field(default_factory=dict)
    files: dict[tuple[int, str], bytes] = field(default_factory=dict)
    repeated: int = 0
    again: int = 0
    strange: list[str] = field(default_factory=list)
    link: http.client.HTTPConnection | None = None
    headers: dict[str, str] = field(default_factory=dict)

    def work(self) -> None:
        """Send until told to stop; what was begun is brought to its end."""
        at = 0
        while not self.stop.is_set() and not self.strange:
            job = self.job_ids[at // A_JOB % len(self.job_ids)]
            if at % 5 == 0:
                self._file(job, at)
            self._entries(job, at)
            at += 1
        self._hang_up()

    def _hang_up(self) -> None:
        if self.link is not None:
            self.link.close()
        self.link = None

    def _entries(self, job: int, at: int) -> None:
        key = f"tablet {self.number} sending {at}"
        rows = [{"kind": "remark", "text": f"{key} part {part}"} for part in range(1 + at % 3)]
        body = json.dumps({"entries": rows}).encode()
        more = {"content-type": "application/json", "idempotency-key": key}
        told = self._insist("POST", f"/api/jobs/{job}/entries", body, more)
        if told is not None:
            self.acknowledged[key] = (job, told["first"], told["count"])
            self.repeated += told["repeated"]

    def _file(self, job: int, at: int) -> None:
        content = f"t,v\n{self.number},{at}\n".encode() * 200
        edge = "edge0123456789"
        head = f'--{edge}\r\ncontent-disposition: form-data; name="kind"\r\n\r\ncapture\r\n--{edge}\r\n'
        head += 'content-disposition: form-data; name="file"; filename="cranking.csv"\r\n\r\n'
        body = head.encode() + content + f"\r\n--{edge}--\r\n".encode()
        more = {"content-type": f"multipart/form-data; boundary={edge}"}
        told = self._insist("POST", f"/api/jobs/{job}/files", body, more)
        if told is not None:
            self.files[job, told["name"]] = content

    def _insist(self, method: str, path: str, body: bytes, more: dict[str, str]) -> dict[str, Any] | None:
        """The answer, however often it must be asked for; None when something strange was answered."""
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            try:
                if not self.headers:
                    self._say_hello()
                status, told = self._ask(method, path, body, more)
            except (OSError, http.client.HTTPException, ValueError):
                self._hang_up()
                self.again += 1
                time.sleep(0.05)
                continue
            if status in {200, 201}:
                return told
            if status not in {409, 503}:
                self.strange.append(f"{status} {told}"[:500])
                return None
            time.sleep(0.05)
        self.strange.append(f"nothing for {PATIENCE_S} s at {path}")
        return None

    def _say_hello(self) -> None:
        _, told = self._ask("GET", "/here", b"", {})
        self.headers["x-csrf"] = told["csrf"]

    def _ask(self, method: str, path: str, body: bytes, more: dict[str, str]) -> tuple[int, dict[str, Any]]:
        if self.link is None:
            self.link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        self.link.request(method, path, body, {"accept": "application/json", **self.headers, **more})
        answer = self.link.getresponse()
        cookie = answer.headers.get("set-cookie")
        if cookie and "cookie" not in self.headers:
            self.headers["cookie"] = cookie.partition(";")[0]
        return answer.status, json.loads(answer.read())


@dataclass(frozen=True)
class Outcome:
    """What became of what was acknowledged: counts, and sentences on what is wrong."""

    kills: int
    sendings: int
    files: int
    entries: int
    again: int
    repeated: int
    wrong: tuple[str, ...]


def killed(folder: Path, kills: int, seed: str, job_count: int, by_command: int = 2) -> Outcome:
    """Serve a stocked bench in ``folder``, kill it so many times while tablets send, and look through its record."""
    with open_shop(folder) as shop:
        stock(shop)
        lead = next(one for one in jobs_people(shop) if one.role == "lead")
        job_ids = [jobs.start_job(shop, lead, 1, 1).id for _ in range(job_count)]
    with taken("127.0.0.1", 0) as free:
        port = free.getsockname()[1]
    stop = threading.Event()
    tablets = [Tablet(port, number, job_ids, stop) for number in range(TABLETS)]
    threads = [threading.Thread(target=tablet.work) for tablet in tablets]
    with launcher(port, folder) as launch:
        for thread in threads:
            thread.start()
        rest = random.Random(seed)
        for at in range(kills):
            start = command(port, folder) if at >= kills - by_command else launch
            _kill(start(), tablets, rest)
        last = launch()
        time.sleep(0.5)
        stop.set()
        for thread in threads:
            thread.join(2 * PATIENCE_S)
        os.kill(last, signal.SIGKILL)
    wrong = [strange for tablet in tablets for strange in tablet.strange]
    wrong += [f"tablet {at} still sends" for at, thread in enumerate(threads) if thread.is_alive()]
    return _outcome(folder, tablets, kills, wrong)


def jobs_people(shop: Shop) -> tuple[Any, ...]:
    """Everybody of the shop."""
    from twoturn.acts.shop.people import people

    return people(shop)


def _kill(child: int, tablets: list[Tablet], rest: random.Random) -> None:
    """Kill at a random moment: mostly once something was acknowledged, at times while the bench still starts."""
    if rest.random() < 0.75:
        before, until = _done(tablets), time.monotonic() + 10
        while _done(tablets) == before and time.monotonic() < until:
            time.sleep(0.005)
        time.sleep(rest.uniform(0, 0.15))
    else:
        time.sleep(rest.uniform(0, 0.5))
    os.kill(child, signal.SIGKILL)
    until = time.monotonic() + 10
    while _lives(child) and time.monotonic() < until:
        time.sleep(0.002)


def _lives(child: int) -> bool:
    try:
        os.kill(child, 0)
    except ProcessLookupError:
        return False
    return True


def _done(tablets: list[Tablet]) -> int:
    return sum(len(tablet.acknowledged) + len(tablet.files) for tablet in tablets)


@contextlib.contextmanager
def launcher(port: int, folder: Path) -> Iterator[Any]:
    """``launch()`` starts a bench and gives the number of its process."""
    words = [sys.executable, "-m", "tests.web.server_kill", str(port), str(folder)]
    with subprocess.Popen(words, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        heard, told = process.stdout, process.stdin
        assert heard.readline() == "ready\n"

        def launch() -> int:
            told.write("go\n")
            told.flush()
            return int(heard.readline())

        yield launch
        told.close()
        process.wait(20)


def command(port: int, folder: Path) -> Any:
    """As the launcher's, by the command itself."""

    def launch() -> int:
        twoturn = str(Path(sys.executable).with_name("twoturn"))
        words = [twoturn, "serve", "--port", str(port), "--data", str(folder)]
        process = subprocess.Popen(words, stdout=subprocess.DEVNULL)
        threading.Thread(target=process.wait, daemon=True).start()
        return process.pid

    return launch


def _outcome(folder: Path, tablets: list[Tablet], kills: int, wrong: list[str]) -> Outcome:
    with open_shop(folder) as shop:
        held = {job.id: jobs.held_job(shop, job.id) for job in _all_jobs(shop)}
        wrong += [str(one) for one in verify(shop.place, shop.engine).problems if one.kind != "orphaned"]
    texts = {number: [str(entry.content.get("text")) for entry in job.entries] for number, job in held.items()}
    times = Counter(text for found in texts.values() for text in found if text.startswith("tablet"))
    wrong += [f"{text} is there {count} times" for text, count in times.items() if count != 1]
    for tablet in tablets:
        for key, (job, first, count) in tablet.acknowledged.items():
            if texts[job][first - 1 : first - 1 + count] != [f"{key} part {part}" for part in range(count)]:
                wrong.append(f"{key} is not where it was acknowledged")
        for (job, name), content in tablet.files.items():
            digest = held[job].sha256.get(name, "0" * 64)
            file = path_of(Place(folder), digest)
            if not file.is_file() or file.read_bytes() != content:
                wrong.append(f"{name} of job {job} is not what was acknowledged")
    acknowledged = sum(count for tablet in tablets for _, _, count in tablet.acknowledged.values())
    if sum(times.values()) != acknowledged:
        wrong.append(f"{sum(times.values())} entries are there, {acknowledged} were acknowledged")
    return Outcome(
        kills=kills,
        sendings=sum(len(tablet.acknowledged) for tablet in tablets),
        files=sum(len(tablet.files) for tablet in tablets),
        entries=acknowledged,
        again=sum(tablet.again for tablet in tablets),
        repeated=sum(tablet.repeated for tablet in tablets),
        wrong=tuple(wrong),
    )


def _all_jobs(shop: Shop) -> tuple[Any, ...]:
    from twoturn.store.records.jobs import open_jobs

    with shop.reading() as connection:
        return open_jobs(connection)


def launch_each(port: int, folder: Path) -> None:
    """Start a bench in a process of its own for each line that is read."""
    from twoturn.acts.shop.drives import ensure_shipped
    from twoturn.acts.shop.warm import warm_up
    from twoturn.web.app import make_app
    from twoturn.web.mode import Mode
    from twoturn.web.serve import Serving, serve, server_of

    with tempfile.TemporaryDirectory() as scratch, open_shop(Path(scratch) / "data") as shop:
        stock(shop)
        ensure_shipped(shop)
        warm_up(shop)
        server_of(make_app(shop, Mode()), None)  # all modules are loaded now, before the children
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    print("ready", flush=True)
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            try:
                serve(Serving(port, folder), lambda _: None)
            except TwoTurnError as error:
                os.write(2, f"{error}\n".encode())
            finally:
                os._exit(1)
        print(child, flush=True)


if __name__ == "__main__":
    launch_each(int(sys.argv[1]), Path(sys.argv[2]))
