"""Run as a process of its own: a record on a disk, or under a limit, that is full after some entries.

``python -m tests.store.full_disk FOLDER limit`` puts a limit on the size of files (RLIMIT_FSIZE: the system's EFBIG);
``... tmpfs`` first mounts a disk of a few megabytes at FOLDER (ENOSPC), in a name space of its own where this user may.
Prints what was acknowledged, what was told, and what became of it.
"""

from __future__ import annotations

import json
import resource
import signal
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

from tests.store.databases import NOW, PROGRAM
from tests.store.made import new_job, send

from twoturn.store.backup import backup
from twoturn.store.engine import make_engine, reading, writing
from twoturn.store.faults import StoreError
from twoturn.store.files import keep_file
from twoturn.store.migrate.up import bring_up
from twoturn.store.place import Place, make_place
from twoturn.store.records import entries
from twoturn.store.verify import verify

SIZE = 3_000_000
"""Size of the small disk, or of the largest file [bytes]."""


def start(folder: Path, how: str) -> dict[str, Any]:
    """Run this module in a process of its own; its answer."""
    call = [sys.executable, "-m", "tests.store.full_disk", str(folder), how]
    if how == "tmpfs":
        mount = f'mount -t tmpfs -o size={SIZE} twoturn "$0" && exec "$@"'
        call = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c", mount, str(folder), *call]
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(call, cwd=root, capture_output=True, text=True, check=False, timeout=240)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def fill(place: Place) -> dict[str, Any]:
    """Send until the disk is full, then go on as a tablet does: the same key again, a file, a backup."""
    engine = make_engine(place)
    bring_up(engine, place, NOW, PROGRAM)
    with writing(engine) as connection:
        job_id = new_job(connection).id
    text = {"kind": "remark", "text": "all that there is to say of it. " * 600}
    acknowledged, told = 0, ""
    while not told and acknowledged < 1000:
        try:
            with writing(engine) as connection:
                send(connection, job_id, [text | {"number": acknowledged}], f"key {acknowledged}")
            acknowledged += 1
        except StoreError as error:
            told = type(error).__name__
    names = [f"{path.relative_to(place.folder)}" for path in place.folder.rglob("*") if path.is_file()]
    others = {
        "again": _told(lambda: _send(engine, job_id, text | {"number": acknowledged}, f"key {acknowledged}")),
        "file": _told(lambda: keep_file(place, BytesIO(b"\1\2\3" * SIZE), 10 * SIZE)),
        "backup": _told(lambda: backup(place, engine, place.folder / "b.zip", NOW, PROGRAM)),
    }
    left = {f"{path.relative_to(place.folder)}" for path in place.folder.rglob("*") if path.is_file()} - set(names)
    engine.dispose()
    again = make_engine(place)
    with reading(again) as connection:
        found = [entry.content["number"] for entry in entries.entries(connection, job_id)]
    answer = {"acknowledged": acknowledged, "told": told, "others": others, "left": sorted(left), "found": found}
    return answer | {"problems": [one.sentence for one in verify(place, again).problems]}


def _send(engine: Any, job_id: int, row: dict[str, Any], key: str) -> None:
    with writing(engine) as connection:
        send(connection, job_id, [row], key)


def _told(work: Any) -> str:
    try:
        work()
    except StoreError as error:
        return type(error).__name__
    return ""


def main() -> None:
    """Do as told on the command line."""
    if sys.argv[2] == "limit":
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # else the system ends the process
        resource.setrlimit(resource.RLIMIT_FSIZE, (SIZE, SIZE))
    print(json.dumps(fill(make_place(Path(sys.argv[1])))))


if __name__ == "__main__":
    main()
