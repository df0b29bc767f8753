"""One known recording written in every shape of text that recorders use: all must give the same edges.

Shapes are common practice of oscilloscopes, logic recorders and loggers, no source; RFC 4180 for quoting, ISO 8601 for
dates and times.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from twoturn.capture.model import Capture
from twoturn.capture.read import read_capture
from twoturn.capture.signal.edges import edge_train

STEP = 1e-4
_RNG = np.random.default_rng(5)
CRANK = np.cumsum(_RNG.integers(9, 21, 60)).tolist()
CAM = sorted(_RNG.choice(CRANK[2:-2], 7, replace=False).tolist())
LAST = CRANK[-1] + 12


def level(edges: list[int], at: int) -> int:
    return sum(1 for edge in edges if edge <= at) % 2


CHANGES = [(n, level(CRANK, n), level(CAM, n)) for n in [0, *sorted({*CRANK, *CAM}), LAST]]
SAMPLES = [(n, level(CRANK, n), level(CAM, n)) for n in range(LAST + 1)]
Row = tuple[int, int, int]


def seconds(n: int) -> str:
    return f"{n * STEP:.4f}"


def lines(
    rows: list[Row],
    separator: str = ",",
    time: Callable[[int], str] = seconds,
    value: Callable[[int], str] = str,
    end: str = "\n",
) -> str:
    return "".join(separator.join([time(n), value(a), value(b)]) + end for n, a, b in rows)


def comma(text: Callable[[int], str]) -> Callable[[int], str]:
    return lambda n: text(n).replace(".", ",")


def thousands(mark: str, decimal: str) -> Callable[[int], str]:
    """Microseconds with a mark between thousands and one decimal."""
    return lambda n: f"{n * 100:,d}.0".replace(".", "d").replace(",", mark).replace("d", decimal)


def clock(n: int, start: float = 36_000.0) -> str:
    whole = start + n * STEP
    return f"{int(whole // 3600):02d}:{int(whole // 60 % 60):02d}:{whole % 60:07.4f}"


def volts(bit: int) -> str:
    return "4.98" if bit else "0.02"


def level_words(high: str, low: str) -> Callable[[int], str]:
    return lambda bit: high if bit else low


def only_changes(separator: str = ",") -> str:
    out, before = [], (None, None)
    for n, a, b in CHANGES:
        out.append(separator.join([seconds(n), "" if a == before[0] else str(a), "" if b == before[1] else str(b)]))
        before = (a, b)
    return "\n".join(out) + "\n"


def own_lists(separator: str = ",", header: str = "t crank (s),crank,t cam (s),cam\n") -> str:
    crank = [(0, 0)] + [(n, level(CRANK, n)) for n in CRANK]
    cam = [(0, 0)] + [(n, level(CAM, n)) for n in CAM]
    out = [header]
    for index, one in enumerate(crank):
        cells = [seconds(one[0]), str(one[1])]
        cells += [seconds(cam[index][0]), str(cam[index][1])] if index < len(cam) else ["", ""]
        out.append(separator.join(cells) + "\n")
    return "".join(out)


def events(form: Callable[[int, str, int], str], header: str = "") -> str:
    rows = [(n, "crank", level(CRANK, n)) for n in [0, *CRANK]] + [(n, "cam", level(CAM, n)) for n in [0, *CAM]]
    return header + "".join(form(*row) + "\n" for row in sorted(rows, key=lambda row: row[0]))


def edge_columns(separator: str) -> str:
    out = ["crank (s)" + separator + "cam (s)"]
    for index, n in enumerate(CRANK):
        out.append(seconds(n) + separator + (seconds(CAM[index]) if index < len(CAM) else ""))
    return "\n".join(out) + "\n"


HEAD = "Time (s),crank,cam\n"
PREAMBLE = "Recorder,bench 3\nDate,2020-02-03\nChannels,2\nTrigger level,1.5\n\n"
SHAPES: dict[str, str | bytes] = {
    "plain": HEAD + lines(CHANGES),
    "no heading": lines(CHANGES),
    "semicolon, decimal comma": HEAD.replace(",", ";") + lines(CHANGES, ";", comma(seconds)),
    "tab": HEAD.replace(",", "\t") + lines(CHANGES, "\t"),
    "tab, decimal comma": HEAD.replace(",", "\t") + lines(CHANGES, "\t", comma(seconds)),
    "blanks": "time crank cam\n" + lines(CHANGES, "   "),
    "blanks in columns": "  Time (s)   crank   cam\n" + lines(CHANGES, "    ", lambda n: f"{seconds(n):>10}"),
    "pipe": HEAD.replace(",", " | ") + lines(CHANGES, " | "),
    "comma and blank": HEAD + lines(CHANGES, ", "),
    "trailing separators": HEAD.replace("\n", ",\n") + lines(CHANGES, end=",\n"),
    "trailing semicolons, none in the heading": HEAD.replace(",", ";") + lines(CHANGES, ";", end=";\n"),
    "carriage return and line feed": (HEAD + lines(CHANGES)).replace("\n", "\r\n"),
    "carriage return alone": (HEAD + lines(CHANGES)).replace("\n", "\r"),
    "no line end at the end": (HEAD + lines(CHANGES)).rstrip("\n"),
    "byte order mark": "\ufeff" + HEAD + lines(CHANGES),
    "two bytes a letter": ("\ufeff" + HEAD + lines(CHANGES)).encode("utf-16-le"),
    "two bytes a letter, big end first": ("\ufeff" + HEAD + lines(CHANGES)).encode("utf-16-be"),
    "two bytes a letter, no mark": (HEAD + lines(CHANGES)).encode("utf-16-le"),
    "latin-1": ("Zeit (µs);Kurbelwelle ß;Nocke\n" + lines(CHANGES, ";", lambda n: str(n * 100))).encode("latin-1"),
    "quoted": '"Time (s)","crank","cam"\n' + "".join(f'"{seconds(n)}","{a}","{b}"\n' for n, a, b in CHANGES),
    "quoted, decimal comma": '"Time (s)","crank","cam"\n'
    + "".join(f'"{comma(seconds)(n)}","{a}","{b}"\n' for n, a, b in CHANGES),
    "time quoted, decimal comma": HEAD + "".join(f'"{comma(seconds)(n)}",{a},{b}\n' for n, a, b in CHANGES),
    "quoted heading with separator": '"Time (s)","crank, left","cam"\n' + lines(CHANGES),
    "units row": "Time,crank,cam\n(ms),(V),(V)\n" + lines(CHANGES, time=lambda n: f"{n / 10:.1f}"),
    "units row, blank line": "Time,crank,cam\n[us],[-],[-]\n\n" + lines(CHANGES, time=lambda n: f"{n * 100}"),
    "units row without brackets": "Time\tcrank\tcam\nms\tV\tV\n" + lines(CHANGES, "\t", lambda n: f"{n / 10:.1f}"),
    "milliseconds": "Time [ms],crank,cam\n" + lines(CHANGES, time=lambda n: f"{n / 10:.1f}"),
    "microseconds": "time_us,crank,cam\n" + lines(CHANGES, time=lambda n: f"{n * 100}"),
    "nanoseconds": "t/ns;crank;cam\n" + lines(CHANGES, ";", lambda n: f"{n * 100_000}"),
    "unit above": "Time unit: ms\ntime,crank,cam\n" + lines(CHANGES, time=lambda n: f"{n / 10:.1f}"),
    "unit in the cells": HEAD + lines(CHANGES, time=lambda n: f"{n / 10:.1f} ms" if n < 100 else f"{n / 10000:.4f} s"),
    "exponents": HEAD + lines(CHANGES, time=lambda n: f"{n * STEP:.6E}"),
    "exponents, decimal comma": HEAD.replace(",", ";") + lines(CHANGES, ";", comma(lambda n: f"{n * STEP:.6e}")),
    "plus signs": HEAD + lines(CHANGES, time=lambda n: "+" + seconds(n), value=lambda bit: f"+{bit}.0"),
    "negative times": HEAD + lines(CHANGES, time=lambda n: f"{n * STEP - 0.05:.4f}"),
    "thousands by points": "Time (us);crank;cam\n" + lines(CHANGES, ";", thousands(".", ",")),
    "thousands by commas": "Time (us);crank;cam\n" + lines(CHANGES, ";", thousands(",", ".")),
    "thousands by commas, whole": "Time (us)\tcrank\tcam\n" + lines(CHANGES, "\t", lambda n: f"{n * 100:,d}"),
    "thousands by points, whole": "Time (us);crank;cam\n"
    + lines(CHANGES, ";", lambda n: f"{n * 100:,d}".replace(",", ".")),
    "thousands by blanks": "Time (us);crank;cam\n" + lines(CHANGES, ";", thousands(" ", ",")),
    "thousands by hard blanks": "Time (us);crank;cam\n" + lines(CHANGES, ";", thousands("\u202f", ",")),
    "thousands by apostrophes": "Time (us);crank;cam\n" + lines(CHANGES, ";", thousands("'", ".")),
    "thousands in quotes": 'Time (us),crank,cam\n' + "".join(f'"{n * 100:,d}.0",{a},{b}\n' for n, a, b in CHANGES),
    "lines above": PREAMBLE + HEAD + lines(CHANGES),
    "lines above, semicolons": (PREAMBLE + HEAD).replace(",", ";") + lines(CHANGES, ";", comma(seconds)),
    "lines above with colons": "Recorder: bench 3\nDate: 2020-02-03 10:00:00\nRange: 5 V\n" + HEAD + lines(CHANGES),
    "lines above, no heading": "Recorder,bench 3\nStart,2020-02-03 10:00\n" + lines(CHANGES),
    "comments": "# a recorder\n# rate 5\n# Time (s),crank,cam\n" + lines(CHANGES),
    "comments within": HEAD + lines(CHANGES[:20]) + "# a remark\n\n// another\n" + lines(CHANGES[20:]),
    "blank lines within": HEAD + lines(CHANGES, end="\n\n"),
    "separator told": "sep=;\n" + HEAD.replace(",", ";") + lines(CHANGES, ";"),
    "time of day": "Time,crank,cam\n" + lines(CHANGES, time=clock),
    "time of day, decimal comma": "Time;crank;cam\n" + lines(CHANGES, ";", comma(clock)),
    "time of day, fraction behind a colon": "Time,crank,cam\n"
    + lines(CHANGES, time=lambda n: clock(n).replace(".", ":")),
    "time of day, fraction behind the separator": lines(CHANGES, time=comma(lambda n: f"{clock(n)}00")),
    "minutes and seconds": "Time,crank,cam\n" + lines(CHANGES, time=lambda n: clock(n)[3:]),
    "time of day past midnight": "Time,crank,cam\n"
    + lines(CHANGES, time=lambda n: clock(n, 86_399.95) if n < 500 else clock(n, -0.05)),
    "date and time": "Time,crank,cam\n" + lines(CHANGES, time=lambda n: f"2020-02-03T{clock(n)}"),
    "date and time in UTC": "Time,crank,cam\n" + lines(CHANGES, time=lambda n: f"2020-02-03T{clock(n)}Z"),
    "date and time with zone": "Time;crank;cam\n" + lines(CHANGES, ";", lambda n: f"2020-02-03 {clock(n)}+01:00"),
    "date of another order": "Zeit;Kurbel;Nocke\n" + lines(CHANGES, ";", lambda n: f"03.02.2020 {comma(clock)(n)}"),
    "date in a column of its own": "Date,Time,crank,cam\n" + lines(CHANGES, time=lambda n: f"2020-02-03,{clock(n)}"),
    "afternoon": "Time,crank,cam\n" + lines(CHANGES, time=lambda n: f"{clock(n, 3600)} PM"),
    "date, time and seconds": "Timestamp,Time (s),crank,cam\n"
    + lines(CHANGES, time=lambda n: f"2020-02-03 {clock(n)[:8]},{seconds(n)}"),
    "number, time": "No.,Time (s),crank,cam\n"
    + "".join(f"{i},{seconds(n)},{a},{b}\n" for i, (n, a, b) in enumerate(CHANGES, 1)),
    "number, time, no heading": "".join(f"{i},{seconds(n)},{a},{b}\n" for i, (n, a, b) in enumerate(CHANGES)),
    "words high and low": HEAD + lines(CHANGES, value=level_words("High", "Low")),
    "words true and false": HEAD + lines(CHANGES, value=level_words("TRUE", "False")),
    "words on and off": HEAD.replace(",", ";") + lines(CHANGES, ";", comma(seconds), level_words("on", "off")),
    "letters": HEAD + lines(CHANGES, value=level_words("H", "L")),
    "only what changed": HEAD + only_changes(),
    "only what changed, semicolons": HEAD.replace(",", ";") + only_changes(";"),
    "a time column for each channel": own_lists(),
    "a time column for each channel, semicolons": own_lists(";", "Time 1 [s];crank;Time 2 [s];cam\n"),
    "a time column for each channel, no heading": own_lists(header=""),
    "events": events(lambda n, name, bit: f"{seconds(n)},{name},{bit}", "Time (s),Channel,Level\n"),
    "events, no heading": events(lambda n, name, bit: f"{seconds(n)};{name};{bit}"),
    "events, name first, words": events(lambda n, name, bit: f"{name}\t{seconds(n)}\t{'rising' if bit else 'falling'}"),
    "events, numbered channels": events(
        lambda n, name, bit: f"{seconds(n)},{0 if name == 'crank' else 1},{bit}", "Time (s),Channel,Value\n"
    ),
    "heading again, time goes on": HEAD + lines(CHANGES[:30]) + HEAD + lines(CHANGES[30:]),
    "heading again, time anew": HEAD + lines(CHANGES) + HEAD + lines(CHANGES[:20]),
    "lines above again, time anew": PREAMBLE + HEAD + lines(CHANGES[:20]) + PREAMBLE + HEAD + lines(CHANGES),
    "stopped within a line": HEAD + lines(CHANGES) + "0.9",
    "end of file sign": HEAD + lines(CHANGES) + "\x1a",
    "samples": HEAD + lines(SAMPLES),
    "samples in volts": HEAD + lines(SAMPLES, value=volts),
    "samples in millivolts": "Time (s);crank (mV);cam (mV)\n"
    + lines(SAMPLES, ";", comma(seconds), lambda b: f"{b * 4980}"),
    "overloads": HEAD + lines(SAMPLES, value=level_words("∞", "-∞")),
    "overloads now and then": HEAD
    + lines(SAMPLES, value=volts).replace("08,4.98,", "08,∞,").replace("02,0.02", "02,-∞"),
    "overloads in letters": HEAD + lines(SAMPLES, value=level_words("inf", "0.1")),
    "NaN now and then": HEAD + lines(SAMPLES).replace("0.0004,0,0", "0.0004,NaN,0").replace("0.0006,0,0", "0.0006,0,"),
    "sample numbers and rate": "Sample rate: 10 kHz\nsample,crank,cam\n" + lines(SAMPLES, time=str),
    "sample numbers and rate, German": "Abtastrate;10.000,0;Hz\nNr;Kurbel;Nocke\n" + lines(SAMPLES, ";", str),
    "sample numbers and step": "Interval,1.0E-04,s\nsample,crank,cam\n" + lines(SAMPLES, time=str),
    "sample numbers, unit in the key": "Sample Interval (us),100\nIndex,crank,cam\n" + lines(SAMPLES, time=str),
    "no time, rate": "Sampling Rate,10000\ncrank,cam\n" + "".join(f"{a},{b}\n" for _, a, b in SAMPLES),
    "no time, rate in MHz": "# sample rate = 0.01 MHz\n" + "".join(f"{a};{b}\n" for _, a, b in SAMPLES),
    "no time, rate with thousands": "Baud rate: 115200\nSamples per second: 10,000\ncrank,cam\n"
    + "".join(f"{a},{b}\n" for _, a, b in SAMPLES),
    "no time, step": "dt = 100 µs\ncrank\tcam\n" + "".join(f"{a}\t{b}\n" for _, a, b in SAMPLES),
    "no time, volts": "Sample interval: 0.1 ms\ncrank;cam\n"
    + "".join(f"{volts(a)};{volts(b)}\n".replace(".", ",") for _, a, b in SAMPLES),
    "step in the heading": "X,crank,cam,Start,Increment\nSequence,Volt,Volt,0.0e+00,1.0e-04\n"
    + lines(SAMPLES, time=str, end=",\n"),
    "notes beside the first rows": "".join(
        (f"Record length,{len(SAMPLES)},Points," if n == 0 else "Trigger,12,Samples," if n == 1 else ",,,")
        + f"{seconds(n)},{volts(a)},{volts(b)}\n"
        for n, a, b in SAMPLES
    ),
    "comma for both": HEAD + lines(CHANGES, time=comma(seconds)),
    "comma for both, everywhere": HEAD + lines(SAMPLES, time=comma(seconds), value=comma(volts)),
    "blanks in the heading, tabs below": "Time [ms]  crank [V]  cam [V]\n"
    + lines(CHANGES, "\t", lambda n: f"{n / 10:.1f}"),
    "words below": HEAD + lines(CHANGES) + "\nEnd of recording\nOverloads: none\n",
    "time without unit, rate": "Sample rate: 10 kS/s\nTime,crank,cam\n"
    + lines(SAMPLES, time=lambda n: f"{n / 10:.1f}"),
}  # fmt: skip
EDGES: dict[str, str] = {
    "one list a column": edge_columns(";"),
    "one list a column, commas": edge_columns(","),
    "events without level": events(lambda n, name, _: f"{seconds(n)},{name if n else 'start'}", "Time (s),Channel\n"),
}


def read_text(tmp_path: Path, text: str | bytes) -> Capture:
    path = tmp_path / "x.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_capture(path)


def check(capture: Capture, *, first: bool) -> None:
    assert len(capture.channels) == 2
    start = float(CHANGES[0][0])
    for channel, wanted in zip(capture.channels, (CRANK, CAM), strict=True):
        train = edge_train(channel)
        zero = capture.channels[0].times_s[0] - start if first else 0.0
        assert train.times_s.size == len(wanted), channel.name
        assert np.allclose(train.times_s - zero, np.array(wanted) * STEP, atol=0.6 * STEP), channel.name
        if channel.kind != "edges":
            assert train.rising.tolist() == [n % 2 == 0 for n in range(len(wanted))]


@pytest.mark.parametrize("name", SHAPES)
def test_every_shape_gives_the_same_edges(tmp_path: Path, name: str) -> None:
    capture = read_text(tmp_path, SHAPES[name])
    if name.startswith("events"):  # channels by name or number
        order = sorted(capture.channels, key=lambda one: one.name in ("cam", "Channel 1"))
        object.__setattr__(capture, "channels", tuple(order))
    check(capture, first=name != "notes beside the first rows")  # the first rows are taken for words above
    assert capture.time_known
    assert not any("left out" in note for note in capture.notes)


@pytest.mark.parametrize("name", EDGES)
def test_lists_of_edges(tmp_path: Path, name: str) -> None:
    capture = read_text(tmp_path, EDGES[name])
    order = sorted(capture.channels, key=lambda one: one.name == "cam")
    object.__setattr__(capture, "channels", tuple(order))
    assert {one.kind for one in capture.channels} == {"edges"}
    check(capture, first=False)


FAST = (
    "plain", "semicolon, decimal comma", "quoted", "thousands by points", "time of day", "tab, decimal comma",
    "date and time", "date and time with zone", "words high and low", "letters", "only what changed",
    "samples in volts", "thousands by commas",    "a time column for each channel", "overloads in letters",
    "NaN now and then", "number, time",
)  # fmt: skip


@pytest.mark.parametrize("name", FAST)
def test_common_shapes_need_no_line_by_line_reading(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> None:
        raise AssertionError("read line by line")

    monkeypatch.setattr("twoturn.capture.formats.csv.numbers._slow", refused)
    check(read_text(tmp_path, SHAPES[name]), first=True)
