"""Writes recordings in the formats that phones and recorders make, with the media library itself."""

from __future__ import annotations

import struct
from pathlib import Path

import av
import numpy as np

# suffix: container, coding, rate [Hz]; what each kind of telephone or browser writes
PHONE_FORMATS = {
    "m4a": ("mp4", "aac", 44100),
    "3gp": ("3gp", "aac", 44100),
    "flac": ("flac", "flac", 44100),
    "ogg": ("ogg", "libopus", 48000),
    "webm": ("webm", "libopus", 48000),
    "mp3": ("mp3", "libmp3lame", 44100),
    "amr": ("amr", "libopencore_amrnb", 8000),
    "aac": ("adts", "aac", 44100),
    "aiff": ("aiff", "pcm_s16be", 44100),
    "caf": ("caf", "pcm_s16le", 44100),
    "wav": ("wav", "pcm_mulaw", 8000),
}


def encode(
    path: Path, samples: np.ndarray, rate_hz: int, how: tuple[str, str, int], bit_rate: int | None = None
) -> Path:
    """Write one channel of samples (full scale ±1) in the container and coding ``how`` says; bit rate [bit/s]."""
    container, codec, out_rate = how
    with av.open(str(path), "w", format=container) as file:
        stream = file.add_stream(codec, rate=out_rate, layout="mono")
        if bit_rate is not None:
            stream.bit_rate = bit_rate
        context = stream.codec_context
        resampler = av.AudioResampler(
            format=context.format, layout="mono", rate=out_rate, frame_size=context.frame_size or None
        )
        frame = av.AudioFrame.from_ndarray(samples.astype(np.float32)[None, :], "flt", layout="mono")
        frame.sample_rate, frame.pts = rate_hz, 0
        for part in [*resampler.resample(frame), *resampler.resample(None)]:
            file.mux(stream.encode(part))
        file.mux(stream.encode(None))
    return path


def wav_bytes(samples: np.ndarray, rate_hz: int, bits: int = 16) -> bytes:
    """A plain WAV file of integers; samples of shape (channels, n), full scale ±1."""
    scaled = np.clip(np.round(samples.T * 2.0 ** (bits - 1)), -(2 ** (bits - 1)), 2 ** (bits - 1) - 1).astype(np.int64)
    if bits == 8:
        raw = (scaled + 128).astype(np.uint8).tobytes()
    elif bits == 24:
        raw = np.ascontiguousarray(scaled.astype("<i4")).view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    else:
        raw = scaled.astype(f"<i{bits // 8}").tobytes()
    channels = samples.shape[0]
    block = channels * bits // 8
    head = struct.pack("<HHIIHH", 1, channels, rate_hz, rate_hz * block, block, bits)
    body = b"WAVEfmt " + struct.pack("<I", len(head)) + head + b"data" + struct.pack("<I", len(raw)) + raw
    return b"RIFF" + struct.pack("<I", len(body)) + body
