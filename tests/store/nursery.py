"""Run as a process of its own: forks children that write into a record and are killed (SIGKILL) at any moment.

``python -m tests.store.nursery '{"folder": ..., "url": ..., "how": ..., "kills": ..., "seed": ...}'``

Every child is a bench with three clients, each a thread that sends entries one after the other and notes what was
acknowledged in a file outside the record, as a tablet would. After a kill the next child's clients first send again
what was not acknowledged, with the same key. ``how`` says when a child dies: at a random moment (``random``), or just
before or after its n-th statement or commit (``points``), so that each of them is met.
"""

from __future__ import annotations

import contextlib
import functools
import json
import os
import random
import signal
import sys
import threading
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event, inspect
from tests.store.databases import NOW, PROGRAM, later

from twoturn.store.archive import open_archive
from twoturn.store.backup import backup
from twoturn.store.engine import make_engine, reading, writing
from twoturn.store.faults import KeyInFlight, StoreError
from twoturn.store.files import keep_file, path_of, sha256_of
from twoturn.store.migrate.schema import schema_of
from twoturn.store.migrate.up import bring_up
from twoturn.store.place import Place
from twoturn.store.records import entries, evidence, jobs
from twoturn.store.restore import restore
from twoturn.store.verify import verify

CLIENTS = 3
POINTS = 60
"""Statements and commits of the first sendings of a child, before and after each of which one dies."""
WHO = "Ada Example (invented)"


class Client:
    """One device: what it has sent, and what of it was acknowledged."""

    def __init__(self, place: Place, engine: Engine, number: int, acks: Path, tell: int) -> None:
        self.place, self.engine, self.number, self.tell = place, engine, number, tell
        self.acks = acks / f"client-{number}"
        self.done = len(self.acks.read_bytes()) if self.acks.exists() else 0

    def send(self, job_id: int) -> None:
        """The next sending; acknowledged once the transaction has ended."""
        number = self.done
        contents = content(self.number, number)
        if number % 4 == 0:
            data = f"sound {self.number}-{number}".encode() * 300
            kept = keep_file(self.place, BytesIO(data), 1_000_000)
            contents[0]["recording"] = kept.sha256
        with writing(self.engine) as connection:
            if "recording" in contents[0]:
                new = evidence.Evidence(contents[0]["recording"], len(data), "audio/wav", "a.wav", WHO, NOW)
                evidence.add(connection, new)
            entries.append(connection, job_id, contents, f"client {self.number} sending {number}", WHO, later(number))
        with self.acks.open("ab") as file:
            file.write(b".")
        os.write(self.tell, b".")
        self.done += 1


def content(client: int, number: int) -> list[dict[str, Any]]:
    """One to three raw entries."""
    return [{"kind": "note", "client": client, "sending": number, "part": part} for part in range(1 + number % 3)]


class UndoError(Exception):
    """Ends a transaction whose changes are taken back."""


def warmed(place: Place, job_id: int) -> Engine:
    """An engine without connections that has seen a sending's statements once: its copies in children are quick."""
    engine = make_engine(place)
    with contextlib.suppress(UndoError), writing(engine) as connection:
        new = evidence.Evidence("0" * 64, 1, "audio/wav", "a.wav", WHO, NOW)
        evidence.add(connection, new)
        entries.append(connection, job_id, content(0, 0), "warm", WHO, NOW)
        raise UndoError
    engine.dispose()
    return engine


def bench(place: Place, engine: Engine, acks: Path, job_ids: list[int], die_at: int | None, tell: int) -> None:
    """A bench at work until it is killed; a byte goes into ``tell`` for each sending that was acknowledged."""
    if die_at is not None:
        _die_at(engine, die_at)

    def work(number: int) -> None:
        client = Client(place, engine, number, acks, tell)
        while True:
            try:
                client.send(job_ids[number % len(job_ids)])
            except KeyInFlight:  # PostgreSQL has not yet noticed that the bench before is dead
                time.sleep(0.002)

    if die_at is not None:
        work(die_at % CLIENTS)
    threads = [threading.Thread(target=work, args=(number,)) for number in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def _die_at(engine: Engine, die_at: int) -> None:
    left = [die_at]

    def step(*_: Any) -> None:
        left[0] -= 1
        if left[0] < 0:
            os.kill(os.getpid(), signal.SIGKILL)

    for name in ("before_cursor_execute", "after_cursor_execute", "commit", "checkin"):
        event.listen(engine.pool if name == "checkin" else engine, name, step)


def fork(work: Callable[[int], None], after_s: float | None, told: int = 0) -> bool:
    """Run ``work`` in a child, kill it after so many bytes of it and that time; whether it was killed."""
    heard, tell = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            work(tell)
            code = 0
        except StoreError as error:
            os.write(2, f"{type(error).__name__}: {error}\n".encode())
        finally:
            os._exit(code)
    os.close(tell)
    if after_s is not None:
        for _ in range(told):
            os.read(heard, 1)
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    os.close(heard)
    if not os.WIFSIGNALED(status) and os.WEXITSTATUS(status):
        raise RuntimeError(f"a child ended with {os.WEXITSTATUS(status)}")
    return os.WIFSIGNALED(status)


def kill_benches(place: Place, acks: Path, said: dict[str, Any]) -> dict[str, Any]:
    """Kill a bench again and again, then look what became of everything sent."""
    draw = random.Random(said["seed"])
    with reading(engine := make_engine(place)) as connection:
        job_ids = [job.id for job in jobs.open_jobs(connection)]
    engine.dispose()
    killed, engine = 0, warmed(place, job_ids[0])
    for number in range(said["kills"]):
        points = said["how"] == "points"
        work = functools.partial(bench, place, engine, acks, job_ids, number % POINTS if points else None)
        killed += fork(work, None if points else draw.uniform(0.0, 0.02), draw.randrange(4))
    return {"killed": killed} | counted(place, acks)


def counted(place: Place, acks: Path) -> dict[str, Any]:
    """Acknowledged sendings, and which of them are lost, doubled, cut or out of order."""
    engine = make_engine(place)
    with reading(engine) as connection:
        found = [entry.content for job in jobs.open_jobs(connection) for entry in entries.entries(connection, job.id)]
    engine.dispose()
    lost, doubled, cut, unsaid, acknowledged = 0, 0, 0, 0, 0
    for client in range(CLIENTS):
        file = acks / f"client-{client}"
        done = len(file.read_bytes()) if file.exists() else 0
        acknowledged += done
        own = [(one["sending"], one["part"]) for one in found if one["client"] == client]
        unsaid += sum(part == 0 and number >= done for number, part in own)
        doubled += len(own) - len(set(own))
        parts: dict[int, set[int]] = {}
        for number, part in own:
            parts.setdefault(number, set()).add(part)
        lost += sum(number not in parts for number in range(done))
        cut += sum(found != set(range(1 + number % 3)) for number, found in parts.items())
        cut += own != sorted(own)
    files = [one["recording"] for one in found if "recording" in one]
    lost += sum(not path_of(place, one).exists() or sha256_of(path_of(place, one)) != one for one in files)
    figures = {"acknowledged": acknowledged, "entries": len(found), "files": len(files), "unacknowledged": unsaid}
    return figures | {"lost": lost, "doubled": doubled, "cut": cut}


def kill_tasks(place: Place, said: dict[str, Any]) -> dict[str, Any]:
    """Kill a restore, a change of the schema or a backup once for each of the moments named, and look each time."""
    work = {
        "restore": lambda file, _: restore(place, file, NOW, PROGRAM),
        "backup": lambda file, _: backup(place, make_engine(place), file, NOW, PROGRAM),
        "migrate": lambda file, _: bring_up(make_engine(place), place, NOW, PROGRAM, steps=file),
    }[said["task"]]
    answers = []
    for number, after_s in enumerate(said["moments_s"]):
        file = Path(said["file"].replace("NUMBER", str(number)))
        killed = fork(functools.partial(work, file), after_s)
        answers.append({"killed": killed} | looked(place, file, said["task"]))
    return {"answers": answers}


def looked(place: Place, file: Path, task: str) -> dict[str, Any]:
    """What is there after a kill; a restore that was cut off is done again, as its sentence says."""
    engine, told = make_engine(place), ""
    if task == "restore":
        try:
            bring_up(engine, place, NOW, PROGRAM)
        except StoreError as error:
            told = error.sentence
            restore(place, file, NOW, PROGRAM)
    elif task == "backup" and file.exists():
        with open_archive(file) as archive:
            archive.check()
    with reading(engine) as connection:
        names = {column["name"] for column in inspect(connection).get_columns("job")}
        number, schema = len(entries.entries(connection, 1)), schema_of(connection)
    problems = sorted({one.kind for one in verify(place, engine).problems})
    engine.dispose()
    return {"told": told, "entries": number, "schema": schema, "new column": "colour" in names, "problems": problems}


def main() -> None:
    """Do as told on the command line."""
    said = json.loads(sys.argv[1])
    place = Place(Path(said["folder"]), said["url"])
    answer = kill_tasks(place, said) if "task" in said else kill_benches(place, Path(said["acks"]), said)
    print(json.dumps(answer))


if __name__ == "__main__":
    main()
