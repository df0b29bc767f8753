"""Value change dumps: IEEE 1364-2005 clause 18 for the syntax; pyvcd as a second opinion on files it wrote and read."""

from __future__ import annotations

import gzip
import importlib
import io
import sys
from pathlib import Path

import numpy as np
import pytest
from vcd import VCDWriter
from vcd.reader import TokenKind, tokenize

from twoturn.capture.decode import decode
from twoturn.capture.model import Capture
from twoturn.capture.read import read_capture
from twoturn.capture.signal.edges import edge_train
from twoturn.errors import RecordingError

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")

HEAD = '$timescale 1 us $end $scope module top $end $var wire 1 ! crank $end $var wire 1 " cam $end $upscope $end\n'
BODY = '#0 $dumpvars 0! 0" $end\n#1000 1!\n#2500 0! 1"\n#4000 1!\n#7500 0! 0"\n'
CRANK = [(0.0, 0.0), (0.001, 1.0), (0.0025, 0.0), (0.004, 1.0), (0.0075, 0.0)]
CAM = [(0.0, 0.0), (0.0025, 1.0), (0.0075, 0.0)]


def read_text(tmp_path: Path, text: str | bytes) -> Capture:
    path = tmp_path / "x.vcd"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_capture(path)


def changes(capture: Capture, name: str) -> list[tuple[float, float]]:
    channel = next(one for one in capture.channels if one.name == name)
    return [(round(t, 12), v) for t, v in zip(channel.times_s.tolist(), channel.values.tolist(), strict=True)]


@pytest.mark.parametrize(
    "text",
    [
        HEAD + "$enddefinitions $end\n" + BODY,
        (HEAD + "$enddefinitions $end\n" + BODY).replace("\n", "\r\n"),
        (HEAD + "$enddefinitions $end\n" + BODY).replace(" ", "\n"),
        (HEAD + "$enddefinitions $end\n" + BODY).replace("\n", " "),
        "\ufeff" + HEAD + "$enddefinitions $end\n" + BODY,
        HEAD.replace("1 us", "1us") + "$enddefinitions $end\n" + BODY,
        HEAD.replace("1 us", "\n\t1\tus\n") + "$enddefinitions\n$end\n" + BODY,
        HEAD.replace("1 us", "10 ns") + "$enddefinitions $end\n" + BODY.replace("00 ", "0000 "),
        HEAD.replace("1 us", "1 ns") + "$enddefinitions $end\n" + BODY.replace("00 ", "00000 "),
        HEAD.replace("1 us", "100us") + "$enddefinitions $end\n" + BODY.replace("00 ", " "),
        HEAD + "$enddefinitions $end\n" + BODY.replace("#2500", "$comment 1! #9 b1 x $end #2500"),
        HEAD + "$enddefinitions $end\n" + BODY.replace("#2500", '#2000 $dumpall 1! 0" $end #2500'),
        HEAD + "$comment made by a recorder, b $end $enddefinitions $end\n" + BODY,
        HEAD + "$enddefinitions $end\n" + BODY.replace("#2500 0!", "#2500 1! 0!"),  # twice at one time: the last holds
        HEAD + "$enddefinitions $end\n" + BODY.replace("1!", "b1 !").replace("0!", "B0 !"),
        HEAD + "$enddefinitions $end\n" + BODY.replace("#1000", "#500 x! #600 z! #1000"),
        HEAD + "$enddefinitions $end\n" + BODY.replace("#0 $dumpvars", '$dumpvars x! x" $end #0 $dumpvars'),
        HEAD.replace("!", "b").replace('"', "#") + "$enddefinitions $end\n" + BODY.replace("!", "b").replace('"', "#"),
        HEAD.replace("!", "$e").replace('"', "r1")
        + "$enddefinitions $end\n"
        + BODY.replace("1!", "b1 $e").replace("0!", "b0 $e").replace('1"', "b1 r1").replace('0"', "b0 r1"),
        HEAD.replace("!", "longer-sign") + "$enddefinitions $end\n" + BODY.replace("!", "longer-sign"),
    ],
)
def test_every_spelling_says_the_same(tmp_path: Path, text: str) -> None:
    capture = read_text(tmp_path, text)
    assert capture.format == "vcd"
    assert changes(capture, "crank") == CRANK
    assert changes(capture, "cam") == CAM
    assert capture.duration_s == pytest.approx(0.0075)
    assert capture.unit_stated
    assert {one.kind for one in capture.channels} == {"logic"}


def test_packed(tmp_path: Path) -> None:
    capture = read_text(tmp_path, gzip.compress((HEAD + "$enddefinitions $end\n" + BODY).encode()))
    assert changes(capture, "crank") == CRANK


def test_no_unit_of_time_is_said(tmp_path: Path) -> None:
    assert not read_text(
        tmp_path, HEAD.replace("$timescale 1 us $end", "") + "$enddefinitions $end\n" + BODY
    ).unit_stated


def test_names_tell_channels_apart(tmp_path: Path) -> None:
    head = (
        "$timescale 1us $end $scope module left $end $var wire 1 ! cam $end $upscope $end $scope module right $end "
        '$scope module in $end $var reg 1 " cam $end $upscope $end $var wire 1 # \\crank [3] $end $upscope $end '
        "$enddefinitions $end\n"
    )
    capture = read_text(tmp_path, head + '#0 0! 0" 0# #5 1! #6 1" #7 1# #9 0! 0" 0#\n')
    assert [one.name for one in capture.channels] == ["left.cam", "in.cam", "crank[3]"]


def test_open_collector_knows_low_and_floating(tmp_path: Path) -> None:
    capture = read_text(tmp_path, HEAD + '$enddefinitions $end\n#0 z! 0" #5 0! #9 z! 1" #11 0!\n')
    assert [value for _, value in changes(capture, "crank")] == [1, 0, 1, 0]


def test_vectors_reals_buses_and_events(tmp_path: Path) -> None:
    head = (
        '$timescale 1us $end $var real 64 ! volts $end $var wire 12 " counts [11:0] $end '
        "$var wire 8 # lines [7:0] $end "
        "$var event 1 $ spark $end $var integer 32 % way $end $enddefinitions $end\n"
    )
    volts = np.round(2 * np.sin(np.arange(400) / 20), 4)
    counts = np.round(2000 + 1900 * np.sin(np.arange(400) / 20)).astype(int)
    body = []
    for number in range(400):
        body.append(f'#{number * 100} r{volts[number]:g} ! b{counts[number]:b} "')
        body.append(f"b{(number % 4 < 2) | ((number // 2 % 2) << 3):b} #" if number % 2 == 0 else "1$")
        body.append(f"b{(number - 200) & 0xFFFFFFFF:b} %")
    capture = read_text(tmp_path, head + "\n".join(body) + "\n")
    by_name = {one.name: one for one in capture.channels}
    assert np.allclose(by_name["volts"].values, volts, atol=1e-9)
    assert by_name["volts"].rate_hz == pytest.approx(10_000)
    assert np.array_equal(by_name["counts"].values, counts)
    assert by_name["way"].values[:3].tolist() == [-200, -199, -198]
    assert by_name["spark"].kind == "edges"
    assert by_name["spark"].times_s.size == 200


def test_a_bundle_of_lines_is_taken_apart(tmp_path: Path) -> None:
    head = "$timescale 1us $end $var wire 8 ! lines [7:0] $end $enddefinitions $end\n"
    level, body = 0, []
    for number, bit in enumerate([0, 4, 0, 4, 0, 0, 4, 0, 4, 0, 4, 0]):
        level ^= 1 << bit
        body.append(f"#{number * 10} b{level:b} !")
    capture = read_text(tmp_path, head + "\n".join(body))
    assert [one.name for one in capture.channels] == ["lines[0]", "lines[4]"]
    assert capture.channels[1].times_s.size == 6  # the first level and five changes


def test_a_pause_leaves_the_longest_stretch(tmp_path: Path) -> None:
    body = "#0 0! #10 1! #20 0! #30 $dumpoff x! $end #500 $dumpon 1! $end #510 0! #530 1! #560 0! #600 1!\n"
    capture = read_text(tmp_path, HEAD + "$enddefinitions $end\n" + body)
    assert capture.channels[0].times_s.tolist() == pytest.approx([5e-4, 5.1e-4, 5.3e-4, 5.6e-4, 6e-4])
    assert "pauses" in capture.notes[0]


def second_opinion(text: str) -> dict[str, list[tuple[float, str]]]:
    """Changes by pyvcd's reader, repeated values left out."""
    names: dict[str, str] = {}
    out: dict[str, list[tuple[float, str]]] = {}
    now = 0
    for token in tokenize(io.BytesIO(text.encode())):
        if token.kind is TokenKind.VAR:
            names[token.var.id_code] = token.var.reference
            out[token.var.reference] = []
        elif token.kind is TokenKind.CHANGE_TIME:
            now = token.time_change
        elif token.kind is TokenKind.CHANGE_SCALAR:
            rows = out[names[token.scalar_change.id_code]]
            if not rows or rows[-1][1] != token.scalar_change.value:
                rows.append((now * 1e-6, token.scalar_change.value))
    return out


def test_the_same_as_pyvcd(tmp_path: Path) -> None:
    rng = np.random.default_rng(11)
    file = io.StringIO()
    with VCDWriter(file, timescale="1 us", date="today") as writer:
        variables = [writer.register_var(f"s{n % 3}", f"line{n}", "wire", size=1, init=0) for n in range(120)]
        now = 0
        for _ in range(4000):
            now += int(rng.integers(0, 40))
            writer.change(variables[int(rng.integers(120))], now, int(rng.integers(2)))
    capture = read_text(tmp_path, file.getvalue())
    wanted = second_opinion(file.getvalue())
    assert len(capture.channels) == len([rows for rows in wanted.values() if len(rows) > 1])
    for channel in capture.channels:
        mine = list(zip(channel.times_s.tolist(), channel.values.tolist(), strict=True))
        merged: dict[float, float] = {}
        for time, value in wanted[channel.name]:
            merged[time] = float(value)  # of several at one time the last holds
        theirs = [row for n, row in enumerate(merged.items()) if n == 0 or row[1] != list(merged.values())[n - 1]]
        assert np.allclose(mine, theirs, atol=1e-12)


def test_pieces_are_joined(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    reader = importlib.import_module("twoturn.capture.formats.vcd.reader")
    text = HEAD + "$enddefinitions $end\n" + BODY.replace("1!", "b1 !").replace("#2500", "$comment #5 b1 ! $end\n#2500")
    for size in (1, 2, 3, 5, 7, 11, 40):
        monkeypatch.setattr(reader, "PIECE_BYTES", size)
        # the declarations are read in one go: what follows them is cut by hand
        header = reader.read_header(io.BytesIO(text.encode()), "x")
        state = reader.State()
        parts = list(reader._all_changes(io.BytesIO(header.body), b"", state, "x"))
        assert np.concatenate([part.time for part in parts]).tolist() == [0, 0, 1000, 2500, 2500, 4000, 7500, 7500]
        assert np.concatenate([part.value for part in parts]).tolist() == [0, 0, 1, 0, 1, 1, 0, 0]


def test_an_engine_decodes_as_from_text(tmp_path: Path) -> None:
    bench = engines.Bench(turns=12.0)
    names, rows = engines.change_list(bench)
    file = io.StringIO()
    with VCDWriter(file, timescale="1 us", date="today") as writer:
        variables = [
            writer.register_var("top", name, "wire", size=1, init=int(rows[0, 1 + n])) for n, name in enumerate(names)
        ]
        for row in rows[1:]:
            for number, variable in enumerate(variables):
                writer.change(variable, round(row[0] * 1e6), int(row[1 + number]))
    dump = read_text(tmp_path, file.getvalue())
    (tmp_path / "x.csv").write_text(engines.as_csv(names, rows))
    table = read_capture(tmp_path / "x.csv")
    for one, other in zip(dump.channels, table.channels, strict=True):
        assert np.allclose(edge_train(one).times_s, edge_train(other).times_s, atol=1e-9)
    seen = decode(dump)
    assert seen.crank is not None
    assert seen.crank.wheel.text == "60-2"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (HEAD, "declarations do not end"),
        ("$timescale 1 us $end $enddefinitions $end #0", "declares no channel"),
        (HEAD + '$enddefinitions $end\n#0 0! 0"\n#9 0!\n', "no channel ever changes"),
        (HEAD + "$enddefinitions $end\n#0 0!\n#9 1!\n#5 0!\n", "time runs backwards, from #9 to #5"),
        (HEAD + "$enddefinitions $end\n#0 0!\n#nine 1!\n#5 0!\n", "“#nine”"),
        (HEAD.replace("1 us", "1 week") + "$enddefinitions $end\n" + BODY, "“1week”"),
        (HEAD.replace("wire 1 !", "wire many !") + "$enddefinitions $end\n" + BODY, "wire many"),
        (HEAD + "$enddefinitions $end\nonce upon a time there was a belt\n", "is damaged"),
        (HEAD.replace("wire 1 !", "port 1 !") + "$enddefinitions $end\n#0 pD 6 0 !\n", "port strengths"),
    ],
)
def test_what_cannot_be_read_is_said_in_one_sentence(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(RecordingError) as caught:
        read_text(tmp_path, text)
    assert says in caught.value.sentence
    assert "\n" not in caught.value.sentence
