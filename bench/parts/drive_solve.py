"""One drive brought to rest: fit, tension, pointer, at another temperature; and the file's reading beside it."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from typing import Any

from bench.shipped import DRIVES, short
from bench.table import Row, ms
from twoturn.acts.drive import SolvedDrive, answer_of, solve_drive
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.rest.known import BeltAtRest

WARMER_K = 20.0
RUNS = 15


def measure() -> list[Row]:
    """Rows of the drive's solution, for every shipped drive with coordinates."""
    solved: dict[str, float] = {}
    answered: dict[str, float] = {}
    loaded: dict[str, float] = {}
    for path in DRIVES:
        text = path.read_text(encoding="utf-8")
        drive = read_drive(text, path.name)
        if not any(belt.has_coordinates for belt in drive.belts):
            continue
        name = short(path)

        def fresh(text: str = text, name: str = path.name) -> Drive:
            return read_drive(text, name)

        solved[name] = _cold(fresh, _rest)
        answered[name] = _cold(lambda fresh=fresh: _at_rest(fresh()), answer_of)  # type: ignore[misc]
        loaded[name] = _cold(lambda: None, lambda _, path=path: solve_drive(path, 40.0))
    return [
        _row("drive solve, file excluded", "path, settings, pointer and tension of every belt, 20 K warmer", solved),
        _row("drive solve, file included", "the same with reading and checking the drive file", loaded),
        _row("what `drive` answers beside that", "bands, slopes, which belt fits, tooth counts", answered, False),
    ]


def _rest(drive: Drive) -> tuple[BeltAtRest, ...]:
    return tuple(belt_at_rest(drive, belt, WARMER_K) for belt in drive.belts)


def _at_rest(drive: Drive) -> SolvedDrive:
    return SolvedDrive(drive, drive.file.drive.reference_temperature_c + WARMER_K, _rest(drive))


def _cold(make: Callable[[], Any], work: Callable[[Any], object]) -> float:
    """Shortest processor time of ``work`` on a thing made anew each time, so that nothing in it is remembered [s]."""
    times = []
    gc.disable()
    for _ in range(RUNS):
        made = make()
        start = time.process_time()
        work(made)
        times.append(time.process_time() - start)
    gc.enable()
    return min(times)


def _row(what: str, how: str, found: dict[str, float], judged: bool = True) -> Row:
    each = ", ".join(f"{name} {ms(seconds)}" for name, seconds in found.items())
    met = max(found.values()) < 5e-3 if judged else None
    target = "5 ms each" if judged else "none"
    return Row(what, f"one drive at a time, made anew for each run; {how}", each, target, met)
