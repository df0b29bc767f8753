"""Whether a sound file goes on to its end, where the decoder itself does not notice that it stops early."""

from __future__ import annotations

import struct
from typing import BinaryIO

TAIL_BYTES = 131_072  # two Ogg pages of the greatest size, many ADTS frames
OPEN_SIZE = 0x7FFF_0000  # written into a RIFF head by recorders that cannot go back to it
SLACK_BYTES = 64  # heads that count themselves or a byte of padding
LAST_PAGE, ENOUGH_FRAMES, HEADER_BYTES = 4, 3, 7


def stops_early(file: BinaryIO, kind: str) -> bool:
    """Whether an open file of one of three kinds stops before its end.

    Parameters
    ----------
    file
        The open file; its place is moved.
    kind
        Its container as the media library names it: "ogg", "aac" (raw frames) or "wav"; of others nothing is said.

    Returns
    -------
    bool
        True where the last page is not marked as the last, the last frame is not whole, or the head tells of more.

    References
    ----------
    RFC 3533, section 6 (Ogg pages); ISO/IEC 13818-7, 6.2 (ADTS); EBU Tech 3306 (RF64).
    """
    size = file.seek(0, 2)
    if kind == "wav":
        file.seek(0)
        return _riff_size(file.read(28)) > size + SLACK_BYTES
    if kind not in ("ogg", "aac"):
        return False
    file.seek(max(0, size - TAIL_BYTES))
    tail = file.read(TAIL_BYTES)
    return _ogg_stops(tail) if kind == "ogg" else _adts_stops(tail)


def _riff_size(head: bytes) -> int:
    """Size of a file by its RIFF or RF64 head [byte]; 0 where it does not say."""
    if len(head) < 28:
        return 0
    size = int(struct.unpack_from("<I", head, 4)[0])
    if head[:4] == b"RF64":
        size = int(struct.unpack_from("<Q", head, 20)[0])
    elif size >= OPEN_SIZE:
        return 0
    return size + 8 if size else 0


def _ogg_stops(tail: bytes) -> bool:
    """Whether the last page is cut, or is not marked as the last."""
    place = tail.rfind(b"OggS")
    if place < 0 or place + 27 > len(tail):
        return True
    segments = tail[26 + place]
    body = place + 27 + segments
    end = body + sum(tail[place + 27 : body])
    return end > len(tail) or not tail[place + 5] & LAST_PAGE


def _adts_stops(tail: bytes) -> bool:
    """Whether the last frame is cut; a tag behind it (ID3v1) is none."""
    if tail[-128:-125] == b"TAG":
        tail = tail[:-128]
    start = tail.find(b"\xff")
    while start >= 0:
        place, frames = start, 0
        while (length := _adts_frame(tail, place)) and place + length <= len(tail):
            place, frames = place + length, frames + 1
        if frames >= ENOUGH_FRAMES:
            if length or len(tail) - place < HEADER_BYTES:
                return place < len(tail)
            start = place - 1  # damage or a tag: the frames behind it
        start = tail.find(b"\xff", start + 1)
    return False


def _adts_frame(data: bytes, place: int) -> int:
    """Length of the frame that begins at ``place`` [byte]; 0 where none does."""
    if place + HEADER_BYTES > len(data) or data[place] != 0xFF or data[place + 1] & 0xF6 != 0xF0:
        return 0
    length = (data[place + 3] & 3) << 11 | data[place + 4] << 3 | data[place + 5] >> 5
    return length if length >= HEADER_BYTES else 0
