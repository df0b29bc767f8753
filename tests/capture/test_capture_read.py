"""Reading captures: every common shape of CSV, WAV, and one clear sentence for what cannot be read.

Shapes of CSV are common practice of oscilloscopes and logic recorders, no source; RFC 4180 for quoting.
"""

from __future__ import annotations

import gzip
import importlib
import sys
import wave
from pathlib import Path

import numpy as np
import pytest

from twoturn.capture.model import Capture
from twoturn.capture.read import read_capture
from twoturn.errors import RecordingError

sys.path.insert(0, str(Path(__file__).parent))
waves = importlib.import_module("waves")

TIMES = [0.0, 0.001, 0.0025, 0.004, 0.0075]
CRANK = [0, 1, 0, 1, 0]
CAM = [0, 0, 1, 1, 0]


def table(separator: str = ",", decimal: str = ".", scale: float = 1.0, spaced: bool = False) -> str:
    gap = separator + (" " if spaced else "")
    rows = [
        gap.join([f"{t * scale:.7f}".replace(".", decimal), str(a), str(b)])
        for t, a, b in zip(TIMES, CRANK, CAM, strict=True)
    ]
    return "\n".join(rows) + "\n"


def read_text(tmp_path: Path, text: str | bytes) -> Capture:
    path = tmp_path / "x.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_capture(path)


def same(capture: Capture) -> None:
    crank, cam = capture.channels
    assert np.allclose(crank.times_s, TIMES)
    assert crank.values.tolist() == CRANK
    assert cam.values.tolist() == CAM
    assert crank.kind == cam.kind == "logic"
    assert capture.duration_s == pytest.approx(0.0075)
    assert capture.rate_hz is None


@pytest.mark.parametrize(
    "text",
    [
        table(),
        table(spaced=True),
        "Time [s],crank,cam\n" + table(),
        "Time[s]; crank; cam\n" + table(";", ","),
        "Time [s]\tcrank\tcam\n" + table("\t", ","),
        "Time (s)|crank|cam\n" + table("|"),
        "time crank cam\n" + table(" "),
        table(" ", ","),
        "sep=;\nTime (s);crank;cam\n" + table(";"),
        "\ufeffTime (s);crank;cam\n" + table(";", ","),
        "# made by a recorder\n# on a bench\ntime_s,crank,cam\n" + table(),
        "Recorder model 5\nDate 2020-01-01\n\nTime,Channel A,Channel B\n(ms),(V),(V)\n\n" + table(scale=1000),
        "Time in µs,crank,cam\n" + table(scale=1e6),
        "t / ms;a;b\n" + table(";", ",", 1000),
        "Time (us)\tA\tB\n" + table("\t", scale=1e6),
        table().replace("\n", "\r\n"),
        table().replace("\n", ",\n"),
        table().replace("0.0025", "# remark in the middle\n\n0.0025"),
        "time,crank,cam\n" + table().replace(",1", ",high").replace(",0\n", ",low\n").replace(",0,", ",low,"),
        '"time";"crank";"cam"\n' + "\n".join(f'"{line}"' for line in table('";"', ",").strip().split("\n")) + "\n",
        '"time","crank","cam"\n' + "\n".join(f'"{line}"' for line in table('","', ",").strip().split("\n")) + "\n",
        table() + "0.0080,1",
    ],
)
def test_every_shape_says_the_same(tmp_path: Path, text: str) -> None:
    same(read_text(tmp_path, text))


@pytest.mark.parametrize("tail", ["0.0080,1", "0.0080,", "0.00", "0.0080,1,", "0.0080,1\n"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_file_cut_off_within_a_row_is_told(tmp_path: Path, tail: str, separator: str) -> None:
    capture = read_text(tmp_path, table(separator) + tail.replace(",", separator))
    assert any("cut off" in note for note in capture.notes)
    assert capture.channels[0].times_s[-1] in (0.0075, 0.008)


@pytest.mark.parametrize(
    "text",
    [
        table(),
        table()[:-1],
        table() + "\n\n",
        table() + "end of file",
        table() + "# 3 rows",
        table().replace("\n", ",\n"),
        table().replace("\n", ",\n")[:-1],
    ],
)
def test_a_whole_file_is_not_told_to_be_cut_off(tmp_path: Path, text: str) -> None:
    assert read_text(tmp_path, text).notes == ()


def test_two_byte_text_and_packed_files(tmp_path: Path) -> None:
    same(read_text(tmp_path, ("Time [s]\tcrank\tcam\n" + table("\t")).encode("utf-16")))
    same(read_text(tmp_path, gzip.compress(table().encode())))
    same(read_text(tmp_path, "Zeit (µs);Kurbelwelle ß;Nocke\n".encode("latin-1") + table(";", scale=1e6).encode()))


def test_names_are_kept_without_their_unit(tmp_path: Path) -> None:
    capture = read_text(tmp_path, "Time [s],Crank [V],Cam (logic)\n" + table())
    assert [channel.name for channel in capture.channels] == ["Crank", "Cam"]
    assert [channel.name for channel in read_text(tmp_path, table()).channels] == ["channel 1", "channel 2"]


def test_even_samples_give_a_rate_and_volts(tmp_path: Path) -> None:
    times = np.arange(400) * 1e-4
    text = "time,crank\n" + "".join(f"{t:.4f},{np.sin(900 * t):.3f}\n" for t in times)
    capture = read_text(tmp_path, text)
    assert capture.rate_hz == pytest.approx(10_000)
    assert capture.channels[0].kind == "analogue"
    # times written so coarsely that many are equal
    coarse = "time,crank\n" + "".join(f"{t:.3f},{np.sin(900 * t):.3f}\n" for t in times)
    assert read_text(tmp_path, coarse).rate_hz == pytest.approx(10_000, rel=0.03)


def test_sample_numbers_and_rates(tmp_path: Path) -> None:
    rows = "".join(f"{number},{int(number % 7 < 3)}\n" for number in range(200))
    capture = read_text(tmp_path, "Sample rate: 20 kHz\nsample,crank\n" + rows)
    assert capture.rate_hz == pytest.approx(20_000)
    unknown = read_text(tmp_path, "sample,crank\n" + rows)
    assert not unknown.time_known
    assert unknown.rate_hz is None
    without = "# interval = 0.5 ms\ncrank,cam\n" + "".join(f"{n % 7 < 3:d},{n % 9 < 3:d}\n" for n in range(200))
    assert read_text(tmp_path, without).rate_hz == pytest.approx(2000)


def test_bare_edge_times(tmp_path: Path) -> None:
    capture = read_text(tmp_path, "0,012\n0,034\n0,051\n0,070\n")
    assert capture.channels[0].kind == "edges"
    assert np.allclose(capture.channels[0].times_s, [0.012, 0.034, 0.051, 0.070])
    several = read_text(tmp_path, "crank;cam\n0.1;0.15\n0.2;0.35\n0.3;\n0.4;\n")
    assert [channel.times_s.size for channel in several.channels] == [4, 2]


def test_blank_cells_keep_the_level(tmp_path: Path) -> None:
    capture = read_text(tmp_path, "t,a,b\n0.0,0,0\n0.1,1,\n0.2,,1\n0.3,0,1\n")
    assert capture.channels[0].values.tolist() == [0, 1, 1, 0]
    assert capture.channels[1].values.tolist() == [0, 0, 1, 1]


def test_channels_that_never_change_are_left_out(tmp_path: Path) -> None:
    capture = read_text(tmp_path, "t,a,b\n0.0,0,5\n0.1,1,5\n0.2,0,5\n")
    assert [channel.name for channel in capture.channels] == ["a"]
    assert "b never changes" in capture.notes[0]


def test_wav_keeps_every_channel(tmp_path: Path) -> None:
    path = tmp_path / "x.wav"
    samples = (np.column_stack([np.sin(np.arange(4000) / 9), np.cos(np.arange(4000) / 31)]) * 20_000).astype("<i2")
    with wave.open(str(path), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(samples.tobytes())
    capture = read_capture(path)
    assert (capture.format, capture.rate_hz, len(capture.channels)) == ("wav", 8000.0, 2)
    packed = tmp_path / "x.wav.gz"
    packed.write_bytes(gzip.compress(path.read_bytes()))
    assert len(read_capture(packed).channels) == 2


@pytest.mark.parametrize("extensible", [False, True])
@pytest.mark.parametrize(("bits", "kind"), [(8, 1), (16, 1), (24, 1), (32, 1), (32, 3), (64, 3)])
@pytest.mark.parametrize("channels", [1, 2, 5])
def test_every_kind_of_wav(tmp_path: Path, bits: int, kind: int, channels: int, extensible: bool) -> None:
    count = np.arange(3001)
    samples = np.column_stack([0.9 * np.sin(count / (9 + 4 * number)) for number in range(channels)])
    path = tmp_path / "x.wav"
    data = waves.wav(samples, 44_100, bits=bits, kind=kind, extensible=extensible)
    for written in (data, gzip.compress(data, 1)):
        path.write_bytes(written)
        capture = read_capture(path)
        assert (capture.format, capture.rate_hz, len(capture.channels)) == ("wav", 44_100.0, channels)
        for number, channel in enumerate(capture.channels):
            assert channel.kind == "analogue"
            assert np.allclose(channel.values, samples[:, number], atol=1.1 / 2 ** (min(bits, 24) - 1))
            assert channel.times_s[-1] == pytest.approx(3000 / 44_100)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        ("\n\n  \n", "is empty"),
        ("once upon a time\nthere was a belt\n", "text without rows of numbers"),
        ("5\n3\n4\n1\n", "one column"),
        ("t,a\n0.0,1\n0.2,0\n0.1,1\n", "line 4: time runs backwards, from 0.2 to 0.1"),
        ("t,a\n0.0,1\nnan,1\n0.2,1\n0.3,0\n0.4,1\n", "line 3: the time is missing"),
        ("t,a\n0.0,1\n,1\n0.2,1\n0.3,0\n0.4,1\n", "line 3: the time is missing"),
        ("t,a\n0.0,1\ninf,1\n0.2,1\n0.3,0\n0.4,1\n", "line 3: the time is missing"),
        ("t,a\n0.0,1\n0.1,oops\n0.2,1\n0.3,0\n0.4,1\n", "line 3"),
        ("t,a\n0.0,1\n0.1,1\n0.2,1\n", "no channel ever changes"),
        ("t,a\n1,1\n1,0\n1,1\n", "time stands still at 1"),
        ("t,a\n1,1\n", "only 1 row"),
        (b"\x00\x01\x02\x03" * 50, "no sensor recording"),
        (b"\x1f\x8b\x08\x00garbage", "gzip"),
        (gzip.compress(b"0,1\n" * 2000, mtime=0)[:40], "gzip"),
    ],
)
def test_what_cannot_be_read_is_said_in_one_sentence(tmp_path: Path, text: str | bytes, says: str) -> None:
    with pytest.raises(RecordingError) as caught:
        read_text(tmp_path, text)
    assert says in caught.value.sentence
    assert "\n" not in caught.value.sentence


def test_missing_files_and_folders(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="there is no file"):
        read_capture(tmp_path / "none.csv")
    with pytest.raises(RecordingError, match="is not a file"):
        read_capture(tmp_path)


def test_of_a_very_long_recording_the_busiest_part_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("twoturn.capture.formats.long.MOST_CHANGES", 100)
    monkeypatch.setattr("twoturn.capture.formats.long.LEAST_S", 0.1)
    idle = [(n * 1.0, n % 2) for n in range(20)]
    busy = [(20 + n * 0.01, n % 2) for n in range(400)]
    text = "time (s),crank\n" + "".join(f"{t:.3f},{level}\n" for t, level in idle + busy)
    capture = read_text(tmp_path, text)
    assert 19 <= capture.channels[0].times_s[1] < 24
    assert 20 < capture.channels[0].times_s.size < 115
    assert "were read, from" in capture.notes[-1]


def test_of_a_very_long_sound_the_busiest_part_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("twoturn.capture.formats.wav.MOST_SAMPLES", 8000)
    samples = (20_000 * np.sin(np.arange(64_000) / 9)).astype("<i2")
    samples[:40_000] = 0
    with wave.open(str(tmp_path / "x.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(samples.tobytes())
    capture = read_capture(tmp_path / "x.wav")
    channel = capture.channels[0]
    assert channel.times_s[0] >= 4.9
    assert (channel.times_s.size, capture.duration_s) == (8000, pytest.approx(1.0))
    assert np.allclose(channel.values * 32768, samples[round(channel.times_s[0] * 8000) :][:8000])
