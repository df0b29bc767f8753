"""Damaged files of every format through the functions of the command line: tracebacks, hangs, memory."""

from __future__ import annotations

import multiprocessing
import os
import resource
import tempfile
import time
import traceback
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

from tests.damage import damaged
from tests.whole_files import Whole, captures, sounds

from bench.table import Row

FILES_A_FORMAT = 42
SEED = 910_000
LIMIT_S, LIMIT_MB = 90.0, 1500.0
SUFFIXES = ("csv", "wav", "vcd", "mf4", "gz", "flac", "m4a", "ogg", "webm", "mp3", "amr", "mp4", "txt")


@dataclass
class Count:
    """What damaged files led to."""

    files: int = 0
    answers: int = 0
    refusals: int = 0
    faults: int = 0
    hangs: int = 0
    most_mb: float = 0.0
    slowest_s: float = 0.0


def measure() -> list[Row]:
    """A row for sensor recordings and one for sounds."""
    count = int(os.environ.get("FUZZ_FILES", FILES_A_FORMAT))
    return [_row("sensor recordings", captures(), count), _row("sounds", sounds(), count)]


def _row(what: str, wholes: list[Whole], count: int) -> Row:
    """Count over all formats of a kind."""
    seen = Count()
    for _name, data, suffix, sound, how, result in _tried(wholes, count):
        outcome, seconds, memory_mb = result
        seen.files += 1
        seen.answers += outcome == "answer"
        seen.refusals += outcome == "refusal"
        seen.hangs += outcome == "hang"
        seen.most_mb, seen.slowest_s = max(seen.most_mb, memory_mb), max(seen.slowest_s, seconds)
        if outcome not in ("answer", "refusal"):
            seen.faults += outcome != "hang"
            kept = Path(tempfile.gettempdir()) / f"fuzz-{seen.files}.{suffix}"
            kept.write_bytes(data)
            print(f"  {_name} ({how}), kept as {kept}{' (sound)' if sound else ''}: {outcome}", flush=True)
    names = ", ".join(dict.fromkeys(whole.name for whole in wholes))
    figure = (
        f"{seen.files} files: {seen.answers} answered, {seen.refusals} refused in one sentence, "
        f"{seen.faults} tracebacks or warnings, "
        f"{seen.hangs} over {LIMIT_S:.0f} s; most memory {seen.most_mb:.0f} MB, slowest {seen.slowest_s:.1f} s"
    )
    good = seen.faults == 0 and seen.hangs == 0 and seen.most_mb < LIMIT_MB
    return Row(f"damaged {what}", f"{names}; damaged in a dozen ways, seeds from {SEED}", figure, "none, none", good)


def _tried(wholes: list[Whole], count: int) -> Iterator[tuple[str, bytes, str, bool, str, tuple[str, float, float]]]:
    """Every damaged file with what it led to."""
    worker = _Worker()
    with tempfile.TemporaryDirectory() as folder:
        for place, whole in enumerate(wholes):
            for number in range(count):
                seed = SEED + 10_000 * place + number
                how, data = damaged(whole.data, seed)
                suffix = SUFFIXES[seed % len(SUFFIXES)] if number % 10 == 9 else whole.suffix  # renamed
                path = Path(folder) / f"x.{suffix}"
                path.write_bytes(data)
                yield whole.name, data, suffix, whole.sound, how, worker.ask(path, whole.sound)
    worker.stop()


class _Worker:
    """A process that reads files one after the other; started again when it hangs or dies."""

    def __init__(self) -> None:
        self._start()

    def _start(self) -> None:
        self.mine, theirs = multiprocessing.Pipe()
        self.process = multiprocessing.get_context("fork").Process(target=_serve, args=(theirs,), daemon=True)
        self.process.start()

    def ask(self, path: Path, sound: bool) -> tuple[str, float, float]:
        """How a file was answered, after what time [s], and the most memory so far [MB]."""
        start = time.perf_counter()
        self.mine.send((str(path), sound))
        try:
            if self.mine.poll(LIMIT_S):
                outcome, memory_mb = self.mine.recv()
                return outcome, time.perf_counter() - start, memory_mb
            outcome = "hang"
        except EOFError:
            outcome = f"the process died ({self.process.exitcode})"
        self.process.kill()
        self.process.join()
        self._start()
        return outcome, time.perf_counter() - start, 0.0

    def stop(self) -> None:
        """End the process."""
        self.process.kill()
        self.process.join()


def _serve(pipe: Connection) -> None:
    """Answer files until killed; a warning counts as a fault."""
    warnings.simplefilter("error")
    resource.setrlimit(resource.RLIMIT_AS, (8_000_000_000, 8_000_000_000))
    while True:
        path, sound = pipe.recv()
        outcome = outcome_of(path, sound)
        who = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        pipe.send((outcome, max(resource.getrusage(one).ru_maxrss for one in who) / 1024))


def outcome_of(path: str, sound: bool) -> str:
    """``"answer"``, ``"refusal"``, or the traceback: what the command line would do with a file."""
    from twoturn.acts.capture import capture_json, read_sensors
    from twoturn.acts.pluck import answer_lines, hear
    from twoturn.cli.capture_text import capture_lines
    from twoturn.errors import TwoTurnError

    try:
        if sound:
            answer = hear(path)
            answer.as_json()
            list(answer_lines(answer))
        else:
            list(capture_lines(capture_json(read_sensors(path))))
    except TwoTurnError as error:
        return "refusal" if "\n" not in error.sentence else f"a sentence of several lines: {error.sentence}"
    except BaseException:
        return traceback.format_exc()
    return "answer"
