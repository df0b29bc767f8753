"""Small whole recordings of every format that is read, to be damaged: a cranked engine and a plucked span."""

from __future__ import annotations

import gzip
import io
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.capture.engines import Bench, as_csv, change_list, even, sampled_levels
from tests.capture.mdf4 import Group, written
from tests.capture.waves import wav
from tests.recording.sounds import encode
from vcd import VCDWriter

BENCH = Bench(turns=6.0, places=12, teeth=even(12, 11), rate_hz=10_000.0)
SOUNDS = {
    "flac": ("flac", "flac", 44100),
    "m4a": ("mp4", "aac", 44100),
    "ogg": ("ogg", "libopus", 48000),
    "webm": ("webm", "libopus", 48000),
    "mp3": ("mp3", "libmp3lame", 44100),
    "amr": ("amr", "libopencore_amrnb", 8000),
    "mp4": ("mp4", "aac", 44100),
    "3gp": ("3gp", "aac", 44100),
}


@dataclass(frozen=True)
class Whole:
    """One whole file: what it is, the ending of its name, its bytes, and whether it is a sound to be listened to."""

    name: str
    suffix: str
    data: bytes
    sound: bool = False


def dump() -> bytes:
    """The change list as a value change dump, by pyvcd."""
    names, rows = change_list(BENCH)
    file = io.StringIO()
    with VCDWriter(file, timescale="1 us", date="today") as writer:
        wires = [
            writer.register_var("top", name, "wire", size=1, init=int(rows[0, 1 + n])) for n, name in enumerate(names)
        ]
        counts = writer.register_var("top", "counts", "integer", size=16, init=0)
        volts = writer.register_var("top", "volts", "real", init=0.0)
        for number, row in enumerate(rows[1:]):
            now = round(row[0] * 1e6)
            for place, wire in enumerate(wires):
                writer.change(wire, now, int(row[1 + place]))
            writer.change(counts, now, number)
            writer.change(volts, now, number / 7)
    return file.getvalue().encode()


def captures() -> list[Whole]:
    """Sensor recordings as text, dumps, sound and measurement data."""
    names, rows = change_list(BENCH)
    sampled, samples = sampled_levels(BENCH)
    table = as_csv(names, rows)
    volts = (samples[:, 1:] - 2.5) / 4
    groups = [
        Group(
            rows[:, 0].tolist(),
            {name: rows[:, 1 + n].astype(int).tolist() for n, name in enumerate(names)},
            name="edges",
        ),
        Group(
            samples[:4000, 0].tolist(),
            {"crank in volts": (samples[:4000, 1] * 1000).astype(int).tolist()},
            name="volts",
        ),
    ]
    return [
        Whole("CSV, changes", "csv", table.encode()),
        Whole("CSV, samples", "csv", as_csv(sampled, samples[:3000], separator=";", decimal=",").encode()),
        Whole("CSV, two bytes a letter", "txt", table.encode("utf-16")),
        Whole("CSV, packed", "csv.gz", gzip.compress(table.encode(), mtime=0)),
        Whole("WAV", "wav", wav(volts[:12_000], 10_000)),
        Whole("WAV, 24 bits, extensible", "wav", wav(volts[:6000], 10_000, bits=24, extensible=True)),
        Whole("WAV, packed", "wav.gz", gzip.compress(wav(volts[:6000], 10_000, bits=8), 1, mtime=0)),
        Whole("VCD", "vcd", dump()),
        Whole("VCD, packed", "vcd.gz", gzip.compress(dump(), mtime=0)),
        Whole("MDF, unsorted", "mf4", written(groups)),
        Whole("MDF, not closed", "mf4", written(groups, finished=False)),
        Whole("MDF, compressed", "mf4", _compressed(rows, samples)),
    ]


def _compressed(rows: np.ndarray, samples: np.ndarray) -> bytes:
    """A compressed file by asammdf."""
    from asammdf import MDF, Signal

    with tempfile.TemporaryDirectory() as folder, MDF(version="4.11") as file:
        file.append([Signal(rows[:, 1].astype("u1"), rows[:, 0], name="crank")], acq_name="edges")
        scaled = (samples[:4000, 1] * 1000).astype("i2")
        file.append([Signal(scaled, samples[:4000, 0], name="volts", conversion={"a": 0.001, "b": 0.0})])
        return Path(file.save(Path(folder) / "x.mf4", compression=2)).read_bytes()


def sounds() -> list[Whole]:
    """A plucked span as WAV and as telephones write it."""
    time = np.arange(22_050) / 22_050
    tone = sum(np.exp(-time / 0.06) * np.sin(2 * np.pi * 118 * k * time) / k for k in (1, 2, 3))
    samples = 0.5 * np.concatenate([np.zeros(3000), tone]) + 0.001 * np.random.default_rng(3).standard_normal(25_050)
    out = [
        Whole("WAV", "wav", wav(samples[:, None], 22_050), sound=True),
        Whole("WAV, floating point", "wav", wav(samples[:, None], 22_050, bits=32, kind=3), sound=True),
    ]
    with tempfile.TemporaryDirectory() as folder:
        for suffix, how in SOUNDS.items():
            path = encode(Path(folder) / f"x.{suffix}", samples, 22_050, how)
            out.append(Whole(suffix, suffix, path.read_bytes(), sound=True))
    return out
