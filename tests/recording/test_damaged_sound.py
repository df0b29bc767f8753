"""Sound files that are cut off or damaged: what is there is read, and said; what is whole earns no such word."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest
from tests.recording.sounds import PHONE_FORMATS, encode, wav_bytes

from twoturn.acts.pluck import answer_lines, hear
from twoturn.capture.read import read_capture
from twoturn.errors import RecordingError
from twoturn.pluck.doubts import doubts_of
from twoturn.recording.ending import stops_early
from twoturn.recording.sound import load_sound

RATE = 44100
AT_THE_END = ("m4a", "3gp", "caf")  # their table of contents, or the end of it, is written last
CHECKED = ("flac", "mp3", "aac", "ogg")  # their blocks carry a checksum or fail to decode when damaged


def loud_then_still(seconds: float = 4.0) -> np.ndarray:
    """Noise, then next to nothing: the bit rate of its beginning foretells another length."""
    rng = np.random.default_rng(20)
    size = int(RATE * seconds)
    return rng.normal(0, 0.2, size) * np.where(np.arange(size) < size / 4, 1.0, 1e-4)


def noise(seconds: float = 4.0) -> np.ndarray:
    """Noise of 0.1 of full scale."""
    return np.random.default_rng(21).normal(0, 0.1, int(RATE * seconds))


def written(path: Path, container: str, codec: str, options: dict[str, str], samples: np.ndarray) -> Path:
    """A file with options of its container."""
    with av.open(str(path), "w", format=container, options=options) as file:
        stream = file.add_stream(codec, rate=48000 if "opus" in codec else RATE, layout="mono")
        context = stream.codec_context
        resampler = av.AudioResampler(
            context.format, "mono", context.sample_rate, frame_size=context.frame_size or None
        )
        frame = av.AudioFrame.from_ndarray(samples.astype(np.float32)[None, :], "flt", layout="mono")
        frame.sample_rate, frame.pts = RATE, 0
        for part in [*resampler.resample(frame), *resampler.resample(None)]:
            file.mux(stream.encode(part))
        file.mux(stream.encode(None))
    return path


@pytest.mark.parametrize("suffix", PHONE_FORMATS)
def test_a_whole_file_is_never_called_cut_off(tmp_path: Path, suffix: str) -> None:
    sound = load_sound(encode(tmp_path / f"x.{suffix}", loud_then_still(), RATE, PHONE_FORMATS[suffix]))
    assert sound.duration_s == pytest.approx(4.0, abs=0.1)
    assert sound.notes == ()


def test_whole_files_without_a_length_in_their_head(tmp_path: Path) -> None:
    made = [
        written(tmp_path / "no-table.mp3", "mp3", "libmp3lame", {"write_xing": "0"}, loud_then_still()),
        written(tmp_path / "live.webm", "webm", "libopus", {"live": "1"}, noise()),
        written(tmp_path / "pieces.mp4", "mp4", "aac", {"movflags": "frag_keyframe+empty_moov"}, noise()),
    ]
    tagged = tmp_path / "tagged.aac"
    whole = encode(tmp_path / "x.aac", noise(), RATE, PHONE_FORMATS["aac"])
    tagged.write_bytes(whole.read_bytes() + b"TAG" + bytes(125))
    for path in (*made, tagged):
        sound = load_sound(path)
        assert sound.notes == (), path.name
        assert sound.duration_s == pytest.approx(4.0, abs=0.1)


@pytest.mark.parametrize("suffix", [name for name in PHONE_FORMATS if name not in AT_THE_END])
def test_of_a_cut_file_the_beginning_is_read_and_said(tmp_path: Path, suffix: str) -> None:
    path = encode(tmp_path / f"x.{suffix}", noise(), RATE, PHONE_FORMATS[suffix])
    whole = load_sound(path)
    data = path.read_bytes()
    path.write_bytes(data[: int(0.61 * len(data)) | 1])
    sound = load_sound(path)
    assert 1.8 < sound.duration_s < 2.6
    said = " ".join(sound.notes)
    assert "cut off" in said
    assert f"{sound.duration_s:.3g} s" in said
    count = sound.n_samples - 5000  # the last blocks of a lossy coding lean on what is lost
    assert np.corrcoef(sound.mono[:count], whole.mono[:count])[0, 1] > 0.999


def test_a_cut_file_whose_head_tells_its_length(tmp_path: Path) -> None:
    data = wav_bytes(noise()[None, :], RATE)
    (tmp_path / "x.wav").write_bytes(data[: 44 + RATE * 2 * 3])
    sound = load_sound(tmp_path / "x.wav")
    assert sound.n_samples == 3 * RATE
    assert sound.notes == ("the file is cut off: 3 s of 4 s could be read; copy it again from where it was recorded",)
    fast = written(tmp_path / "x.mp4", "mp4", "aac", {"movflags": "faststart"}, noise())
    fast.write_bytes(fast.read_bytes()[: fast.stat().st_size * 3 // 4])
    assert "s of 4 s could be read" in load_sound(fast).notes[0]


def test_of_a_live_stream_that_was_cut_the_beginning_is_read(tmp_path: Path) -> None:
    path = written(tmp_path / "live.webm", "webm", "libopus", {"live": "1"}, noise())
    data = path.read_bytes()
    path.write_bytes(data[: int(0.6 * len(data))])
    sound = load_sound(path)
    assert 2.0 < sound.duration_s < 2.6
    assert "cut off: only its first" in sound.notes[0]


@pytest.mark.parametrize("suffix", CHECKED)
def test_damage_in_the_middle_is_said(tmp_path: Path, suffix: str) -> None:
    path = encode(tmp_path / f"x.{suffix}", noise(), RATE, PHONE_FORMATS[suffix])
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 600] = np.random.default_rng(22).bytes(600)
    path.write_bytes(bytes(data))
    sound = load_sound(path)
    assert sound.duration_s > 2.5
    assert "the file is damaged" in sound.notes[0]


def test_a_file_that_is_mostly_damage_is_refused(tmp_path: Path) -> None:
    path = encode(tmp_path / "x.aac", noise(), RATE, PHONE_FORMATS["aac"])
    data = bytearray(path.read_bytes())
    rng = np.random.default_rng(23)
    for place in rng.integers(1000, len(data), len(data) // 150):
        data[place] = rng.integers(256)
    path.write_bytes(bytes(data))
    with pytest.raises(RecordingError, match=r"is damaged: \d+ of its \d+ blocks"):
        load_sound(path)


def test_samples_that_a_checksum_gives_away_are_kept_and_said(tmp_path: Path) -> None:
    path = encode(tmp_path / "x.flac", noise(), RATE, PHONE_FORMATS["flac"])
    whole = load_sound(path)
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 0x10  # a single bit of one block
    path.write_bytes(bytes(data))
    sound = load_sound(path)
    assert sound.n_samples == whole.n_samples
    assert "the file is damaged: 1 of its" in sound.notes[0]


def test_the_smallest_step_of_coarse_files_is_known(tmp_path: Path) -> None:
    for bits in (8, 16, 24):
        (tmp_path / f"{bits}.wav").write_bytes(wav_bytes(noise()[None, :], RATE, bits))
        sound = load_sound(tmp_path / f"{bits}.wav")
        steps = np.diff(np.unique(sound.channels))
        assert steps.min() == pytest.approx(sound.step, rel=0.01)
    law = load_sound(encode(tmp_path / "law.wav", noise(), RATE, PHONE_FORMATS["wav"]))
    assert np.diff(np.unique(law.channels)).min() == pytest.approx(law.step, rel=0.05)


def test_endings_that_the_decoder_does_not_see(tmp_path: Path) -> None:
    for suffix, kind in (("ogg", "ogg"), ("aac", "aac"), ("wav", "wav")):
        path = encode(tmp_path / f"x.{suffix}", noise(), RATE, PHONE_FORMATS[suffix])
        with path.open("rb") as file:
            assert not stops_early(file, kind)
        data = path.read_bytes()
        path.write_bytes(data[: len(data) - 100])
        with path.open("rb") as file:
            assert stops_early(file, kind)
            assert not stops_early(file, "flac")


def test_what_is_said_of_a_file_reaches_the_answers(tmp_path: Path) -> None:
    path = tmp_path / "x.wav"
    path.write_bytes(wav_bytes(noise(1.0)[None, :], RATE)[:RATE])
    answer = hear(path)
    said = "the file is cut off: 0.5 s of 1 s could be read"
    assert any(said in doubt for doubt in answer.as_json()["doubts"])
    assert any(said in line for line in answer_lines(answer))


def test_sound_that_falls_silent_by_its_coarse_steps_is_not_called_gated(tmp_path: Path) -> None:
    at = np.arange(3 * RATE) / RATE % 1.0
    ring = 0.5 * np.exp(-at / 0.05) * np.sin(2 * np.pi * 120 * at) + 1e-3 * noise(3.0)
    silence = np.where(at < 0.2, ring, 0.0)  # a gate that shuts
    doubts = {}
    for name, samples, bits in (("coarse", ring, 8), ("fine", ring, 16), ("gated", silence, 16)):
        (tmp_path / f"{name}.wav").write_bytes(wav_bytes(samples[None, :], RATE, bits))
        doubts[name] = doubts_of(load_sound(tmp_path / f"{name}.wav"), ())
    assert not any("cut to nothing" in doubt for doubt in doubts["coarse"] + doubts["fine"])
    assert any("cut to nothing" in doubt for doubt in doubts["gated"])


def test_of_a_cut_sensor_recording_the_beginning_is_read_and_said(tmp_path: Path) -> None:
    path = tmp_path / "sensors.wav"
    path.write_bytes(wav_bytes(np.stack([noise(1.0), noise(1.0)[::-1]]), RATE)[: 2 * RATE])
    capture = read_capture(path)
    assert capture.duration_s == pytest.approx(0.5, abs=0.001)
    assert any("the file is cut off: 0.5 s of 1 s could be read" in note for note in capture.notes)
