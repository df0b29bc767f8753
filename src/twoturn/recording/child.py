"""The decoder's own process: reads one media file from standard input, writes plain samples to standard output.

Run by :mod:`twoturn.recording.decode` as a script, never imported by it. It gives itself limits before it looks at
the first byte: memory, processor time, no file of its own (so a playlist in disguise cannot open a second file).
Output: one line of JSON, then 32-bit floats, channels interleaved; or one line of JSON with the key ``error``.
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any

FORMATS = "wav,w64,flac,ogg,mov,mp4,m4a,matroska,webm,mp3,aac,amr,aiff,3gp,caf"


def limit_process(memory_bytes: int, seconds: int) -> None:
    """Bind this process to so much memory [byte] and processor time [s], and to the files it has open already."""
    try:
        import resource
    except ImportError:  # not a POSIX system: the caller's wall clock and size limits remain
        return
    resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_NOFILE, (3, 3))


def decode(source: Any, max_values: int) -> tuple[dict[str, Any], bytearray]:
    """Decode the best sound stream of ``source``; at most ``max_values`` samples over all channels [-]."""
    import av

    with av.open(source, options={"format_whitelist": FORMATS, "protocol_whitelist": "pipe"}) as container:
        stream = container.streams.best("audio")
        if stream is None:
            return {"error": "no sound stream"}, bytearray()
        samples, head = bytearray(), describe(container, stream)
        resampler = av.AudioResampler(format="flt")
        for packet in container.demux(stream):
            head["packets"] += 1
            try:
                frames = [part for frame in packet.decode() for part in resampler.resample(frame)]
            except av.error.InvalidDataError:
                head["damaged"] += 1
                continue
            for frame in frames:
                note_frame(head, frame)
                samples += bytes(frame.planes[0])[: frame.samples * head["channels"] * 4]
            if len(samples) > 4 * max_values:
                return {"error": "too long"}, bytearray()
    return head, samples


def describe(container: Any, stream: Any) -> dict[str, Any]:
    """What the container says of the stream before it is decoded."""
    declared = float(stream.duration * stream.time_base) if stream.duration and stream.time_base else None
    return {
        "format": container.format.name,
        "codec": stream.codec_context.name,
        "declared_s": declared,
        "rate_hz": 0,
        "channels": 0,
        "packets": 0,
        "damaged": 0,
    }


def note_frame(head: dict[str, Any], frame: Any) -> None:
    """Keep rate and channel count of the first frame; a change in the middle of the file is refused."""
    found = (frame.sample_rate, frame.layout.nb_channels)
    if not head["rate_hz"]:
        head["rate_hz"], head["channels"] = found
    elif found != (head["rate_hz"], head["channels"]):
        raise ValueError("rate or channels change in the middle")


def main() -> None:
    """Decode standard input to standard output, within the limits given as arguments."""
    memory_bytes, seconds, max_values = (int(word) for word in sys.argv[1:4])
    import av.logging
    import av.subtitles.stream  # loaded on first sight otherwise, when no file may be opened any more

    av.logging.set_level(av.logging.PANIC)
    limit_process(memory_bytes, seconds)
    source, samples = os.fdopen(0, "rb"), bytearray()
    try:
        head, samples = decode(source, max_values)
    except MemoryError:
        head = {"error": "too much memory"}
    except Exception as error:  # whatever the media library throws is one answer: not readable
        head = {"error": "not readable", "detail": type(error).__name__}
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n")
    sys.stdout.buffer.write(samples)
    sys.stdout.buffer.flush()
    os._exit(0)


if __name__ == "__main__":
    main()
