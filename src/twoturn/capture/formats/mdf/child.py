"""The process that reads a measurement data file: from standard input to standard output, which is a plain file.

Run by :mod:`twoturn.capture.formats.mdf.process` as a script, never imported by it. It limits its memory, processor
time, the size of what it writes and the number of open files before it looks at the first byte.
Output: 64-bit floats one after the other, then a line of JSON that says whose they are, then its length in 8 bytes.
"""

from __future__ import annotations

import io
import json
import os
import struct
import sys
from pathlib import Path
from typing import Any

MOST_CHANNELS = 20_000
NO_NUMBERS, WORDS = {3: range(7, 9), 4: range(6, 17)}, {3: range(11, 13), 4: range(7, 11)}
"""Data types that are no numbers, and conversions to words, by the standard's main version."""
WANTED_KINDS = "biuf"


class Writer:
    """Writes arrays one after the other and remembers where they are."""

    def __init__(self, out: Any, most: int) -> None:
        self.out, self.most, self.place = out, most, 0

    def put(self, values: Any) -> list[int]:
        """Write one array of 64-bit floats; its place and length [values]."""
        if self.place + values.size > self.most:
            raise OverflowError
        self.out.write(values.tobytes())
        self.place += int(values.size)
        return [self.place - int(values.size), int(values.size)]


def read_file(source: Any, writer: Writer) -> dict[str, Any]:
    """Write every channel of numbers that changes; what the JSON line says."""
    damaged, cut = 0, False
    try:
        mdf = opened(source)
    except Exception:  # whatever the library throws: once more, as a recording that was never closed
        mdf, cut = opened(as_unclosed(source)), True
    groups = []
    for index, group in enumerate(mdf.groups):
        if len(group.channels) > MOST_CHANNELS:
            raise OverflowError
        try:
            groups.append(read_group(mdf, index, group, writer))
        except (OverflowError, MemoryError):
            raise
        except Exception:  # whatever the library throws: this group is damaged, others may be whole
            damaged += 1
    return {"groups": groups, "damaged": damaged, "cut": cut, "version": str(mdf.version)}


def opened(source: Any) -> Any:
    """The library's view of the file."""
    from asammdf import MDF

    source.seek(0)
    return MDF(source, temporary_folder=".")  # its own folder


def as_unclosed(source: Any) -> Any:
    """A file cut off within its data as one whose counts are still to be found (ASAM MDF 4.1, ID block)."""
    source.seek(0)
    data = bytearray(source.read())
    if data[8:9] != b"4" or len(data) < 64:
        raise ValueError("cut off")
    last = data.rfind(b"##DT")
    if last < 0 or last + 24 > len(data) or last + struct.unpack_from("<Q", data, last + 8)[0] <= len(data):
        raise ValueError("damaged")
    struct.pack_into("<Q", data, last + 8, len(data) - last)
    data[:8] = b"UnFinMF "
    struct.pack_into("<H", data, 60, 0x1)
    return io.BytesIO(bytes(data))


def read_group(mdf: Any, index: int, group: Any, writer: Writer) -> dict[str, Any]:
    """Times and channels of one group."""
    master = mdf.masters_db.get(index)
    told = group.channels[master] if master is not None else None
    unit = str(mdf.get_channel_unit(group=index, index=master) or "") if told is not None else ""
    out: dict[str, Any] = {
        "name": str(getattr(group.channel_group, "acq_name", "") or ""),
        "unit": unit,
        "sync": int(getattr(told, "sync_type", 1)) if told is not None else 0,
        "channels": [],
        "still": [],
        "expected": int(group.channel_group.cycles_nr),
        "records": 0,
    }
    shared: list[Any] = []
    for signal in signals(mdf, index, group, master):
        put_signal(signal, out, shared, writer)
    return out


def signals(mdf: Any, index: int, group: Any, master: int | None) -> list[Any]:
    """The channels of a group: converted to physical numbers, those converted to words as stored."""
    version = 4 if str(mdf.version) >= "4" else 3
    plain: list[Any] = []
    words: list[Any] = []
    for number, channel in enumerate(group.channels):
        if number == master or int(getattr(channel, "data_type", 0)) in NO_NUMBERS[version]:
            continue
        kind = getattr(channel.conversion, "conversion_type", 0) if channel.conversion else 0
        (words if kind in WORDS[version] else plain).append((None, index, number))
    out: list[Any] = []
    for wanted, raw in ((plain, False), (words, True)):
        if wanted:
            out += mdf.select(wanted, raw=raw, copy_master=False)
    return out


def put_signal(signal: Any, out: dict[str, Any], shared: list[Any], writer: Writer) -> None:
    """Write one channel where it is a row of numbers that changes."""
    import numpy as np

    samples, times = np.asarray(signal.samples), np.asarray(signal.timestamps, dtype=np.float64)
    if samples.ndim != 1 or samples.dtype.kind not in WANTED_KINDS or samples.size != times.size or not samples.size:
        return
    out["records"] = max(out["records"], int(samples.size))
    values = samples.astype(np.float64)
    good = np.isfinite(values) & np.isfinite(times)
    if not good.all():
        values, times = values[good], times[good]
    if not values.size or values.min() == values.max():
        out["still"].append(str(signal.name))
        return
    if not (shared and np.array_equal(shared[0], times)):
        shared[:] = [times, writer.put(times)]
    out["channels"].append({"name": str(signal.name), "times": shared[1], "values": writer.put(values)})


def main() -> None:
    """Read standard input to standard output, within the limits given as arguments."""
    memory_bytes, seconds, max_values = (int(word) for word in sys.argv[1:4])
    sys.path.insert(0, str(Path(__file__).resolve().parents[4]))  # this package, installed or not
    import asammdf.mdf  # noqa: F401 - loaded before the limits hold

    from twoturn.recording.limits import limit_process

    limit_process(memory_bytes, seconds, file_bytes=16 * max_values, open_files=12)
    sys.stdout = sys.stderr = io.StringIO()  # the library prints; standard output belongs to the answer
    stream: Any = os.fdopen(0, "rb")
    if stream.read(8).startswith(b"UnFin"):  # a recording that was not closed is put right in memory
        stream.seek(0)
        stream = io.BytesIO(stream.read())
    stream.seek(0)
    with os.fdopen(1, "wb", closefd=False) as out:
        try:
            head = read_file(stream, Writer(out, max_values))
        except MemoryError:
            head = {"error": "too much memory"}
        except OverflowError:
            head = {"error": "too long"}
        except BaseException as error:  # whatever the library throws is one answer: not readable
            head = {"error": "not readable", "detail": repr(error)[:200]}
        line = json.dumps(head).encode()
        out.write(line + struct.pack("<Q", len(line)))
        out.flush()
    os._exit(0)


if __name__ == "__main__":
    main()
