"""Loading recordings: formats, channels, and one clear sentence for every bad file."""

from __future__ import annotations

import contextlib
import io
import struct
import wave
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.recording.sounds import PHONE_FORMATS, encode, wav_bytes

from twoturn.errors import RecordingError
from twoturn.recording.sound import clipped_share, load_sound


def tone(rate_hz: int, hertz: float = 440.0, seconds: float = 1.0) -> np.ndarray:
    """A tone of amplitude 0.3 [-]."""
    return 0.3 * np.sin(2 * np.pi * hertz * np.arange(int(rate_hz * seconds)) / rate_hz)


def strongest_hz(samples: np.ndarray, rate_hz: float) -> float:
    """Frequency of the highest peak of the spectrum [Hz]."""
    size = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), 2**18))
    return float(size.argmax() * rate_hz / 2**18)


@pytest.mark.parametrize("suffix", PHONE_FORMATS)
def test_every_phone_format_gives_the_tone_back(tmp_path: Path, suffix: str) -> None:
    path = encode(tmp_path / f"note.{suffix}", tone(44100), 44100, PHONE_FORMATS[suffix])
    sound = load_sound(path)
    assert sound.rate_hz == PHONE_FORMATS[suffix][2]
    assert sound.duration_s == pytest.approx(1.0, abs=0.06)  # lossy codings pad to whole blocks
    assert strongest_hz(sound.mono, sound.rate_hz) == pytest.approx(440.0, abs=0.5)
    assert np.abs(sound.mono).max() == pytest.approx(0.3, rel=0.1)
    assert sound.clipped_share == 0.0
    assert sound.notes == ()


@pytest.mark.parametrize("bits", [8, 16, 24, 32])
def test_wav_of_every_width_keeps_its_channels(tmp_path: Path, bits: int) -> None:
    wanted = np.stack([tone(8000), tone(8000, 100.0)])
    path = tmp_path / "two.wav"
    path.write_bytes(wav_bytes(wanted, 8000, bits))
    sound = load_sound(path)
    assert sound.channels.shape == (2, 8000)
    np.testing.assert_allclose(sound.channels, wanted, atol=0.6 / 2 ** (bits - 1) + 1e-7)
    assert not sound.channels.flags.writeable


def test_wav_agrees_with_the_standard_library_and_with_the_media_library(tmp_path: Path) -> None:
    path = tmp_path / "x.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 11025, 0, "NONE", ""))
        file.writeframes((tone(11025) * 32768).astype("<i2").tobytes())
    sound = load_sound(path)
    with av.open(str(path)) as container:
        peer = np.concatenate([frame.to_ndarray()[0] for frame in container.decode(audio=0)]) / 32768
    np.testing.assert_array_equal(sound.mono, peer)


def test_sound_of_a_video_is_found(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    with av.open(str(path), "w") as file:
        picture = file.add_stream("mpeg4", rate=10)
        picture.width, picture.height, picture.pix_fmt = 64, 48, "yuv420p"
        voice = file.add_stream("aac", rate=44100, layout="mono")
        for _ in range(10):
            file.mux(picture.encode(av.VideoFrame(64, 48, "yuv420p")))
        file.mux(picture.encode(None))
        resampler = av.AudioResampler("fltp", "mono", 44100, frame_size=voice.codec_context.frame_size)
        frame = av.AudioFrame.from_ndarray(tone(44100).astype(np.float32)[None, :], "flt", layout="mono")
        frame.sample_rate = 44100
        for part in resampler.resample(frame):
            file.mux(voice.encode(part))
        file.mux(voice.encode(None))
    sound = load_sound(path)
    assert strongest_hz(sound.mono, sound.rate_hz) == pytest.approx(440.0, abs=0.5)
    assert sound.notes == ()


def test_a_film_without_sound_is_called_one(tmp_path: Path) -> None:
    path = tmp_path / "dumb.mp4"
    with av.open(str(path), "w") as file:
        picture = file.add_stream("mpeg4", rate=10)
        picture.width, picture.height, picture.pix_fmt = 64, 48, "yuv420p"
        for _ in range(10):
            file.mux(picture.encode(av.VideoFrame(64, 48, "yuv420p")))
        file.mux(picture.encode(None))
    with pytest.raises(RecordingError, match="film without sound"):
        load_sound(path)


def test_a_channel_that_cancels_the_other_does_not_silence_the_sound(tmp_path: Path) -> None:
    path = tmp_path / "opposite.wav"
    path.write_bytes(wav_bytes(np.stack([tone(8000), -tone(8000)]), 8000))
    assert np.abs(load_sound(path).mono).max() == pytest.approx(0.3, rel=0.01)


def test_a_stream_of_unknown_length_is_read_to_its_end(tmp_path: Path) -> None:
    data = bytearray(wav_bytes(tone(8000)[None, :], 8000))
    data[40:44] = b"\xff\xff\xff\xff"  # as a recorder writes that cannot go back to the head
    (tmp_path / "live.wav").write_bytes(data)
    assert load_sound(tmp_path / "live.wav").n_samples == 8000


def bad_files(folder: Path) -> dict[str, tuple[Path, str]]:
    """Files that must be refused, each with a word its sentence holds."""
    good = wav_bytes(tone(8000)[None, :], 8000)
    flac = encode(folder / "good.flac", tone(44100), 44100, PHONE_FORMATS["flac"]).read_bytes()
    m4a = encode(folder / "good.m4a", tone(44100), 44100, PHONE_FORMATS["m4a"]).read_bytes()
    aac = encode(folder / "good.aac", tone(44100), 44100, PHONE_FORMATS["aac"]).read_bytes()
    other = folder / "other.wav"
    other.write_bytes(good)
    nan = struct.pack("<HHIIHH", 3, 1, 8000, 32000, 4, 32) + b"data" + struct.pack("<If", 4, float("nan"))
    texts: dict[str, tuple[bytes, str]] = {
        "empty.wav": (b"", "empty"),
        "text.wav": (b"oil pump 25 Nm\n" * 20, "text"),
        "playlist.wav": (f"#EXTM3U\n#EXTINF:1,\n{other}\n".encode(), "text"),
        "concat.wav": (f"ffconcat version 1.0\nfile '{other}'\n\x00".encode(), "not a sound"),
        "hls.m4a": (f"#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n{other}\n\x00\x01".encode(), "not a sound"),
        "short.wav": (good[:1000], "cut off"),
        "head.wav": (good[:30], "not a sound"),
        "nodata.wav": (good[:36], "without samples"),
        "zero.wav": (good[:40] + b"\0\0\0\0", "no samples"),
        "no channels.wav": (good[:22] + b"\0\0" + good[24:], "0 channels"),
        "no rate.wav": (good[:24] + b"\0\0\0\0" + good[28:], "0 samples a second"),
        "short.flac": (flac[: len(flac) // 20], "not a sound"),
        "few.aac": (aac[: len(aac) // 20], "cut off"),
        "cut.m4a": (m4a[: len(m4a) // 2], "cut off"),
        "short.aac": (aac[:30], "no whole block"),
        "noise.mp3": (np.random.default_rng(1).bytes(5000), "sound"),
        "nan.wav": (b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0" + nan, "no numbers"),
    }
    answer = {}
    for name, (data, word) in texts.items():
        (folder / name).write_bytes(data)
        answer[name] = (folder / name, word)
    return answer | {"missing": (folder / "gone.wav", "no file"), "folder": (folder, "not a file")}


def test_every_bad_file_is_refused_with_one_clear_sentence(tmp_path: Path) -> None:
    for name, (path, word) in bad_files(tmp_path).items():
        with pytest.raises(RecordingError) as caught:
            load_sound(path)
        sentence = caught.value.sentence
        assert word in sentence, (name, sentence)
        assert path.name in sentence
        assert "\n" not in sentence


def test_too_long_is_refused_by_either_reader(tmp_path: Path) -> None:
    flac = encode(tmp_path / "long.flac", tone(44100), 44100, PHONE_FORMATS["flac"])
    (tmp_path / "long.wav").write_bytes(wav_bytes(tone(44100)[None, :], 44100, 32))
    for path in (flac, tmp_path / "long.wav"):
        with pytest.raises(RecordingError, match="too long"):
            load_sound(path, max_values=10_000)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=300), st.integers(0, 60), st.booleans())
def test_a_damaged_wav_is_read_or_refused_but_never_crashes(tmp_path: Path, junk: bytes, at: int, cut: bool) -> None:
    data = bytearray(wav_bytes(tone(800)[None, :], 800))
    data[at : at + len(junk)] = junk
    path = tmp_path / "damaged.wav"
    path.write_bytes(bytes(data[: 44 + at] if cut else data)[: 12 + len(data)])
    from twoturn.recording.wav import is_wav, read_wav

    if not is_wav(path.read_bytes()):
        return
    with contextlib.suppress(RecordingError):
        read_wav(path.read_bytes(), "damaged.wav")


def test_clipping_is_seen_and_a_free_tone_is_not() -> None:
    free = tone(44100, 50.0) * 3
    assert clipped_share(free) == 0.0
    # a sine held at 0.8 of its height stands there for 1 − (2/π)·asin(0.8) = 41 % of the time
    assert clipped_share(np.clip(free, -0.72, 0.72)) == pytest.approx(0.4097, abs=0.01)
    assert clipped_share(np.zeros(100)) == 0.0


def test_the_hash_is_that_of_the_file(tmp_path: Path) -> None:
    import hashlib

    path = tmp_path / "x.wav"
    path.write_bytes(wav_bytes(tone(8000)[None, :], 8000))
    assert load_sound(path).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_the_original_files_bytes_are_never_changed(tmp_path: Path) -> None:
    buffer = io.BytesIO(wav_bytes(tone(8000)[None, :], 8000))
    path = tmp_path / "x.wav"
    path.write_bytes(buffer.getvalue())
    load_sound(path)
    assert path.read_bytes() == buffer.getvalue()
