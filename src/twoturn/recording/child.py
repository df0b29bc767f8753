"""The decoder's own process: reads one media file from standard input, writes plain samples to standard output.

Run by :mod:`twoturn.recording.decode` as a script, never imported by it. It gives itself limits before it looks at
the first byte: memory, processor time, no file of its own (so a playlist in disguise cannot open a second file).
Output: one line of JSON, then 32-bit floats, channels interleaved; or one line of JSON with the key ``error``.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

FORMATS = "wav,w64,flac,ogg,mov,mp4,m4a,matroska,webm,mp3,aac,amr,aiff,3gp,caf"
OTHER_SHARE = 0.25  # of the samples of the stream's own kind
MOST_CUT = 2  # blocks that a cut leaves unfinished
ERROR_LEVEL = 16  # of the media library's log: something could not be read
GUESSED, NO_TABLE = "Estimating duration from bitrate", "moov atom not found"


class Refused(Exception):  # noqa: N818 - its text is the answer
    """The file gives no samples; the text is one of the words that the caller knows."""


@dataclass
class Tally:
    """What happened to the blocks of the stream.

    Attributes
    ----------
    packets, lost
        Blocks read, and those of them that gave no sound [-].
    damaged
        Blocks with an error that whole ones came after [-]; their sound may have been kept.
    last
        Blocks with an error since the last whole one [-]: a file that ends with one or two is cut off.
    """

    packets: int = 0
    lost: int = 0
    damaged: int = 0
    last: int = 0

    def note(self, decoded: bool, whole: bool) -> None:
        """Count one block."""
        self.packets += 1
        self.lost += not decoded
        if whole:
            self.damaged, self.last = self.damaged + self.last, 0
        else:
            self.last += 1

    def as_json(self) -> dict[str, int]:
        """The counts, with a long row of errors at the end as the damage it is [-]."""
        cut = self.last if self.last <= MOST_CUT else 0
        return {
            "packets": self.packets,
            "lost": self.lost,
            "damaged": self.damaged + self.last - cut,
            "damaged_last": cut,
        }


@dataclass
class Samples:
    """Decoded samples by rate and channel count; a damaged block may claim others than the stream has.

    Attributes
    ----------
    most_bytes
        Largest size of all [byte].
    found
        For each kind (rate [Hz], channels [-]) its resampler to 32-bit floats and its samples.
    """

    most_bytes: int
    found: dict[tuple[int, int], tuple[Any, bytearray]] = field(default_factory=dict)

    def put(self, frame: Any) -> None:
        """Keep the samples of one frame."""
        from av import AudioResampler

        kind = (frame.sample_rate, frame.layout.nb_channels)
        resampler, samples = self.found.setdefault(kind, (AudioResampler(format="flt"), bytearray()))
        for part in resampler.resample(frame):
            samples += bytes(part.planes[0])[: part.samples * kind[1] * 4]
        if sum(len(row[1]) for row in self.found.values()) > self.most_bytes:
            raise Refused("too long")

    def best(self) -> tuple[int, int, bytearray, int]:
        """Rate [Hz], channels [-] and samples of the kind that there is most of, and the bytes of all others."""
        if not self.found:
            return 0, 0, bytearray(), 0
        kind = max(self.found, key=lambda one: len(self.found[one][1]))
        samples = self.found[kind][1]
        others = sum(len(row[1]) for row in self.found.values()) - len(samples)
        if others > OTHER_SHARE * len(samples):
            raise Refused("changes")
        return *kind, samples, others


def decode(source: Any, max_values: int, logs: list[Any]) -> tuple[dict[str, Any], bytearray]:
    """Decode the best sound stream of ``source``; at most ``max_values`` samples over all channels [-]."""
    import av

    with av.open(source, options={"format_whitelist": FORMATS, "protocol_whitelist": "pipe"}) as container:
        stream = container.streams.best("audio")
        if stream is None:
            raise Refused(why_silent(container))
        head = describe(container, stream, logs)
        names = (container.format.name, stream.codec_context.name)
        stream.codec_context.thread_count, stream.codec_context.options = 1, {"err_detect": "crccheck"}
        samples, tally = Samples(4 * max_values), Tally()
        for packet in container.demux(stream):
            decoded = decode_packet(packet, samples)
            told = any(level <= ERROR_LEVEL and name in names for level, name, _ in logs)
            logs.clear()
            if packet.size or told:
                tally.note(decoded, decoded and not (told or packet.is_corrupt))
    rate, channels, found, others = samples.best()
    if others:
        tally.damaged = max(1, tally.damaged)
    return head | tally.as_json() | {"rate_hz": rate, "channels": channels}, found


def decode_packet(packet: Any, samples: Samples) -> bool:
    """Decode one block; whether it could be."""
    import av

    try:
        for frame in packet.decode():
            samples.put(frame)
    except av.error.MemoryError:
        raise
    except (av.error.FFmpegError, ValueError):  # ValueError: a frame of an impossible shape
        return False
    return True


def why_silent(container: Any) -> str:
    """Why a file that could be opened has no stream of sound that can be decoded."""
    if container.streams.audio:
        return "no whole block"
    return "film" if container.streams.video else "nothing"


def describe(container: Any, stream: Any, logs: list[Any]) -> dict[str, Any]:
    """What the container says of the stream before it is decoded; a length guessed from the bit rate is none."""
    declared = None
    if not any(GUESSED in text for _, _, text in logs):
        if stream.duration and stream.time_base:
            declared = float(stream.duration * stream.time_base)
        elif container.duration and len(container.streams) == 1:
            declared = container.duration / 1e6
    return {"format": container.format.name, "codec": stream.codec_context.name, "declared_s": declared}


def answer(source: Any, max_values: int) -> tuple[dict[str, Any], bytearray]:
    """The head and the samples, or a head that says why there are none."""
    import av.logging

    with av.logging.Capture(local=False) as logs:
        try:
            return decode(source, max_values, logs)
        except Refused as error:
            return {"error": str(error)}, bytearray()
        except MemoryError:
            return {"error": "too much memory"}, bytearray()
        except Exception as error:  # whatever the media library throws is one answer: not readable
            table = any(NO_TABLE in text for _, _, text in logs)
            return {"error": "no table" if table else "not readable", "detail": type(error).__name__}, bytearray()


def main() -> None:
    """Decode standard input to standard output, within the limits given as arguments."""
    memory_bytes, seconds, max_values = (int(word) for word in sys.argv[1:4])
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # this package, installed or not
    import av.logging
    import av.subtitles.stream  # loaded on first sight otherwise, when no file may be opened any more

    from twoturn.recording.limits import limit_process

    av.logging.set_level(av.logging.WARNING)
    av.logging.set_skip_repeated(False)
    limit_process(memory_bytes, seconds, file_bytes=0, open_files=3)
    head, samples = answer(os.fdopen(0, "rb"), max_values)
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n")
    sys.stdout.buffer.write(samples)
    sys.stdout.buffer.flush()
    os._exit(0)


if __name__ == "__main__":
    main()
