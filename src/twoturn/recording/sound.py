"""A sound or sensor recording: loading it from a file, and what it says of itself."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import RecordingError
from twoturn.recording.decode import READABLE, STEPS, cut_note, decode_limited
from twoturn.recording.files import check_file
from twoturn.recording.wav import PCM, is_wav, read_wav

MAX_FILE_BYTES = 1_000_000_000
MAX_VALUES = 100_000_000
TIMEOUT_S = 30.0


@dataclass(frozen=True, eq=False)
class Sound:
    """A decoded recording; its samples are never altered.

    Attributes
    ----------
    name
        File name without folders.
    channels
        Samples, shape (channels, n), full scale ±1 [-]; read-only.
    rate_hz
        Samples a second [Hz].
    format, codec
        Container and coding, such as ``"wav"`` and ``"pcm"``.
    sha256
        SHA-256 of the file, in hexadecimal.
    notes
        Sentences about the file itself: cut off, damaged.
    step
        Smallest step of its samples, of full scale [-], where the file keeps coarse whole numbers; 0 where finer than
        anything heard, or unknown.
    """

    name: str
    channels: NDArray[np.float32]
    rate_hz: float
    format: str = ""
    codec: str = ""
    sha256: str = ""
    notes: tuple[str, ...] = ()
    step: float = 0.0

    @property
    def n_channels(self) -> int:
        """Number of channels [-]."""
        return int(self.channels.shape[0])

    @property
    def n_samples(self) -> int:
        """Samples in each channel [-]."""
        return int(self.channels.shape[1])

    @property
    def duration_s(self) -> float:
        """Length of the recording [s]."""
        return self.n_samples / self.rate_hz

    @cached_property
    def mono(self) -> NDArray[np.float64]:
        """One channel of shape (n,), full scale ±1 [-]: the mean, or the loudest where the others cancel it."""
        if self.n_channels == 1:
            return np.asarray(self.channels[0], dtype=np.float64)
        mean = np.asarray(self.channels.mean(axis=0, dtype=np.float64))
        powers = np.einsum("ij,ij->i", self.channels, self.channels, dtype=np.float64)
        if float(mean @ mean) < 0.8 * powers.max() / self.n_channels**2:
            return np.asarray(self.channels[int(powers.argmax())], dtype=np.float64)
        return mean

    @cached_property
    def clipped_share(self) -> float:
        """Largest share over the channels of samples that stand flat at the channel's own limit [-]."""
        return max((clipped_share(channel) for channel in self.channels), default=0.0)


def clipped_share(samples: NDArray[np.float32] | NDArray[np.float64]) -> float:
    """Share of samples that stand flat at the signal's own limit, on either side.

    A free signal passes its greatest value quickly; a clipped one stays there. Counted are runs of three or more
    samples within 0.1 % of the limit, and only where they outnumber those in the next 0.9 % below it.

    Parameters
    ----------
    samples
        One channel, shape (n,), any scale [-].

    Returns
    -------
    float
        Share of clipped samples [-], 0 where none.
    """
    clipped = 0
    for side in (samples, -samples):
        limit = float(side.max()) if side.size else 0.0
        if limit <= 0.0:
            continue
        top = side >= 0.999 * limit
        below = int(np.count_nonzero(side >= 0.99 * limit)) - int(np.count_nonzero(top))
        runs = top.copy()
        runs[1:-1] = top[1:-1] & top[:-2] & top[2:]
        inside = int(np.count_nonzero(runs[1:-1]))
        if inside >= 3 and inside > below:
            clipped += int(np.count_nonzero(top))
    return clipped / samples.size if samples.size else 0.0


def load_sound(
    path: str | Path,
    *,
    max_values: int = MAX_VALUES,
    timeout_s: float = TIMEOUT_S,
) -> Sound:
    """Load a sound or sensor recording.

    Plain WAV is read here; every other format is decoded in a process that is bound in memory, time and files.

    Parameters
    ----------
    path
        The file: WAV, FLAC, AIFF, M4A, MP4 (also a video's sound), 3GP, OGG/Opus, WebM, MP3, AAC or AMR.
    max_values
        Most samples over all channels [-].
    timeout_s
        Longest time decoding may take [s].

    Returns
    -------
    Sound
        All channels at the file's own rate; of a file that is cut off or damaged what could be read, with a note.

    Raises
    ------
    RecordingError
        Missing, empty, too long, damaged or cut off so far that nothing is left, or not a sound at all.
    """
    path = Path(path)
    check_file(path, READABLE, MAX_FILE_BYTES, "the part that matters")
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            file.seek(0)
            head = file.read(4096)
            if is_wav(head):
                sound = _plain(file, path.name, digest, max_values)
                if sound is not None:
                    return sound
            elif _is_text(head):
                raise RecordingError(f"{path.name} is text, not a sound", allowed=READABLE)
            answer = decode_limited(file, path.name, max_values, timeout_s)
    except OSError as error:
        raise RecordingError(f"{path.name} cannot be read ({error.strerror})") from None
    sound = Sound(path.name, answer.channels, answer.rate_hz, answer.format, answer.codec, digest, answer.notes)
    return _finished(replace(sound, step=STEPS.get(answer.codec, 0.0)))


def _plain(file: BinaryIO, name: str, digest: str, max_values: int) -> Sound | None:
    """Read a plain WAV file; None where its coding is not plain."""
    file.seek(0)
    data = file.read(8 * max_values + 1)
    if len(data) > 8 * max_values:
        raise RecordingError(
            f"{name} is too long to read", allowed=f"{max_values / 1e6:g} million samples over all channels"
        )
    wav = read_wav(data, name)
    if wav is None:
        return None
    head, n_samples = wav.head, wav.samples.shape[1]
    if n_samples == 0 and wav.declared_s is None:
        raise RecordingError(f"{name} holds no samples", next_step="record or copy it again")
    notes = () if wav.declared_s is None else (cut_note(n_samples / head.rate_hz, wav.declared_s, name),)
    codec, step = ("pcm", 2.0 ** (1 - head.bits)) if head.kind == PCM else ("float", 0.0)
    return _finished(Sound(name, wav.samples, float(head.rate_hz), "wav", codec, digest, notes, step))


def _finished(sound: Sound) -> Sound:
    """Refuse numbers that are none; make the samples read-only."""
    if not np.isfinite(sound.channels).all():
        raise RecordingError(f"{sound.name} holds samples that are no numbers", next_step="record it again")
    sound.channels.setflags(write=False)
    return sound


def _is_text(head: bytes) -> bool:
    """Whether the beginning of a file is plain text."""
    try:
        text = head.decode("utf-8")
    except UnicodeDecodeError as error:
        if error.start < len(head) - 4:
            return False
        text = head[: error.start].decode("utf-8")
    return all(letter.isprintable() or letter in "\r\n\t\ufeff" for letter in text)
