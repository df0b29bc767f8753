"""Time and memory for recordings of 100 MB of every format, each in a process of its own."""

from __future__ import annotations

import gzip
import json
import shutil
import subprocess
import sys
import tempfile
import wave
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from tests.capture.engines import Bench, change_list, sampled_levels

from bench.table import Row

BYTES = 100_000_000
CHILD = """
import json, pathlib, resource, sys, time
from twoturn.acts.capture import read_sensors
start, used = time.perf_counter(), time.process_time()
answer = read_sensors(sys.argv[1])
done = resource.getrusage(resource.RUSAGE_CHILDREN)
status = pathlib.Path("/proc/self/status").read_text()
peak_kb = int(status.split("VmHWM:")[1].split()[0])
print(json.dumps({
    "wait_s": time.perf_counter() - start,
    "work_s": time.process_time() - used + done.ru_utime + done.ru_stime,
    "peak_mb": max(peak_kb, done.ru_maxrss) / 1024,
    "wheel": answer.decoded.crank and answer.decoded.crank.wheel.text,
    "edges": sum(len(cam.edges) for cam in answer.decoded.cams),
}))
"""


def measure() -> list[Row]:
    """Rows of time and memory for text, packed text, value change dump, sound and measurement data."""
    rows = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, how, write in (
            ("comma.csv", "CSV, “,” and decimal “.”, samples at 100 kHz in volts", lambda path: _csv(path, ",", ".")),
            ("semicolon.csv", "CSV, “;” and decimal “,”, the same", lambda path: _csv(path, ";", ",")),
            ("packed.csv.gz", "that comma file packed with gzip", _packed),
            ("levels.vcd", "VCD, a 12-bit number and a level at 100 kHz", _vcd),
            ("changes.vcd", "VCD, nothing but changes of level, for hours", _long_vcd),
            ("sound.wav", "WAV, 16 bits, 2 channels at 48 kHz", _wav),
            ("data.mf4", "MDF, two groups of 16-bit numbers at 100 kHz", _mdf),
        ):
            rows += _measured(folder / file, how, write)
    return rows


def _measured(path: Path, how: str, write: Callable[[Path], None]) -> list[Row]:
    """Time and memory for one file."""
    write(path)
    answer = subprocess.run(
        [sys.executable, "-c", CHILD, str(path)], capture_output=True, text=True, check=True
    )  # its answer is one line of JSON
    seen = json.loads(answer.stdout)
    how = f"{how}: {path.stat().st_size / 1e6:.0f} MB; told: {seen['wheel']}, {seen['edges']} cam edges"
    if path.name != "comma.csv":
        path.unlink()
    good = seen["wheel"] == "60-2" and seen["edges"] == 2
    time = f"{seen['work_s']:.1f} s (wait {seen['wait_s']:.1f} s)"
    return [
        Row("capture: 100 MB, time", how, time, "5 s", good and seen["work_s"] < 5),
        Row("capture: 100 MB, peak memory", "the same", f"{seen['peak_mb']:.0f} MB", "1 GB", seen["peak_mb"] < 1000),
    ]


def _sampled(turns: float, rate_hz: float = 100_000.0) -> NDArray[np.float64]:
    """Time [s], crank and cam [V] of a cranked engine."""
    bench = replace(Bench(), noise=0.05, swing=0.25, turns=turns, start_deg=0.0, rate_hz=rate_hz)
    return sampled_levels(bench)[1]


def _csv(path: Path, separator: str, decimal: str) -> None:
    """A recording of some 100 MB: a minute and a half of cranking."""
    line = separator.join(["%.5f", "%.3f", "%.3f"])
    rows = _sampled(360.0)
    count = int(np.ceil(BYTES / (len(line % tuple(rows[0])) + 2)))
    with path.open("w", encoding="utf-8") as file:
        file.write(separator.join(["Time [s]", "crank [V]", "cam [V]"]) + "\n")
        for start in range(0, min(count, len(rows)), 50_000):
            part = rows[start : min(start + 50_000, count)]
            block = (line + "\n") * len(part) % tuple(part.ravel())
            file.write(block.replace(".", ",") if decimal == "," else block)


def _packed(path: Path) -> None:
    """The comma file packed; it is let go."""
    plain = path.with_name("comma.csv")
    with plain.open("rb") as file, gzip.open(path, "wb", compresslevel=3) as out:
        shutil.copyfileobj(file, out)
    plain.unlink()


def _vcd_head(*variables: str) -> str:
    """The declarations of a value change dump in microseconds."""
    return "$timescale 1 us $end\n" + "\n".join(f"$var {one} $end" for one in variables) + "\n$enddefinitions $end\n"


def _vcd(path: Path) -> None:
    """Levels and a number at every sample."""
    rows = _sampled(400.0)
    with path.open("w", encoding="ascii") as file:
        size = file.write(_vcd_head("wire 12 ! crank", 'wire 1 " cam'))
        for start in range(0, len(rows), 50_000):
            if size > BYTES:
                break
            part = rows[start : start + 50_000]
            at, counts = np.rint(part[:, 0] * 1e6).astype(int), np.rint(2048 + 200 * part[:, 1]).astype(int)
            levels = (part[:, 2] > 2.5).astype(int)
            size += file.write(
                "".join(f'#{t}\nb{c:b} !\n{level}"\n' for t, level, c in zip(at, levels, counts, strict=True))
            )


def _long_vcd(path: Path) -> None:
    """Changes alone: the same minute told again and again."""
    _, rows = change_list(Bench(turns=200.0, rate_hz=1e6))
    steps = [
        (round(row[0] * 1e6), "".join(f"{int(v)}{'!$'[n]}\n" for n, v in enumerate(row[1:]) if v != before[1 + n]))
        for before, row in pairwise(rows)
    ]
    span = steps[-1][0] + 1000
    with path.open("w", encoding="ascii") as file:
        size = file.write(_vcd_head("wire 1 ! crank", "wire 1 $ cam") + f"#0\n{int(rows[0, 1])}!\n{int(rows[0, 2])}$\n")
        turn = 0
        while size < BYTES:
            size += file.write("".join(f"#{at + turn * span}\n{text}" for at, text in steps))
            turn += 1


def _wav(path: Path) -> None:
    """Nine minutes of two channels."""
    samples = np.clip(_sampled(200.0, 48_000.0)[:, 1:] * 5000 - 12_000, -32_768, 32_767).astype("<i2").tobytes()
    with wave.open(str(path), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(48_000)
        for _ in range(BYTES // len(samples) + 1):
            file.writeframes(samples)


def _mdf(path: Path) -> None:
    """Two groups of 64-bit time and a 16-bit number."""
    from asammdf import MDF, Signal

    rows = np.tile(_sampled(200.0), (int(BYTES / 20 / 5_450_000 * 2.2) + 1, 1))[: BYTES // 20]
    times = np.arange(len(rows)) / 100_000
    with MDF(version="4.10") as file:
        for number, name in enumerate(("crank", "cam"), start=1):
            counts = np.rint(rows[:, number] * 1000).astype(np.int16)
            file.append([Signal(counts, times, name=name, conversion={"a": 0.001, "b": 0.0})], acq_name=name)
        file.save(path, overwrite=True)
