"""Time and memory for a recording of 100 MB, in a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.capture.engines import Bench, sampled_levels

from bench.table import Row

BYTES = 100_000_000
CHILD = """
import json, resource, sys, time
from twoturn.acts.capture import read_sensors
start, used = time.perf_counter(), time.process_time()
answer = read_sensors(sys.argv[1])
print(json.dumps({
    "wait_s": time.perf_counter() - start,
    "work_s": time.process_time() - used,
    "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    "wheel": answer.decoded.crank and answer.decoded.crank.wheel.text,
    "edges": sum(len(cam.edges) for cam in answer.decoded.cams),
}))
"""


def measure() -> list[Row]:
    """Rows of time and memory for a comma file and a semicolon file with decimal commas."""
    rows = []
    with tempfile.TemporaryDirectory() as name:
        for separator, decimal in ((",", "."), (";", ",")):
            path = Path(name) / "long.csv"
            _write(path, separator, decimal)
            command = [sys.executable, "-c", CHILD, str(path)]
            answer = subprocess.run(command, capture_output=True, text=True, check=True)
            rows += _rows(json.loads(answer.stdout), separator, decimal, path.stat().st_size)
    return rows


def _rows(seen: dict[str, float], separator: str, decimal: str, size: int) -> list[Row]:
    how = f"{size / 1e6:.0f} MB of samples at 100 kHz, crank and cam in volts, “{separator}” and decimal “{decimal}”"
    how += f"; told: {seen['wheel']}, {seen['edges']} cam edges"
    good = seen["wheel"] == "60-2" and seen["edges"] == 2
    return [
        Row(
            "capture: 100 MB, time",
            how,
            f"{seen['work_s']:.1f} s (wait {seen['wait_s']:.1f} s)",
            "5 s",
            good and seen["work_s"] < 5,
        ),
        Row("capture: 100 MB, peak memory", "the same", f"{seen['peak_mb']:.0f} MB", "1 GB", seen["peak_mb"] < 1000),
    ]


def _write(path: Path, separator: str, decimal: str) -> None:
    """A recording of some 100 MB: a minute and a half of cranking made once, then told again later in time."""
    line = separator.join(["%.5f", "%.3f", "%.3f"])
    bench = replace(Bench(), noise=0.05, swing=0.25, turns=360.0, start_deg=0.0)
    _, rows = sampled_levels(bench)
    text = line % tuple(rows[0])
    count = int(np.ceil(BYTES / (len(text) + 2)))
    with path.open("w", encoding="utf-8") as file:
        file.write(separator.join(["Time [s]", "crank [V]", "cam [V]"]) + "\n")
        for start in range(0, min(count, len(rows)), 50_000):
            part = rows[start : min(start + 50_000, count)]
            block = (line + "\n") * len(part) % tuple(part.ravel())
            file.write(block.replace(".", ",") if decimal == "," else block)
