"""What a person tells of a sensor recording, and the recording decoded by it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from twoturn.acts.capture_edges import with_told_edges
from twoturn.acts.temperatures import check_engine
from twoturn.capture.decode import Decoded, decode
from twoturn.capture.model import Capture
from twoturn.capture.read import read_capture
from twoturn.capture.wheel.written import same_wheel, stated_wheel
from twoturn.drive.parts import Drive
from twoturn.errors import DomainError
from twoturn.job.entries.recordings import Capture as Entry

LEVELS = ("logic", "two-level")


@dataclass(frozen=True)
class Request:
    """What a person tells of a recording.

    Attributes
    ----------
    crank, cams, edge
        Channels, where told, and the crank edge to read, which is also the edge that bare edge times are of.
    against, drive
        Reference recording and drive file, where given.
    deg_per_tooth
        Crank degrees of one belt tooth, where no drive tells them.
    temperature_c, against_temperature_c
        Temperature of the engine at the recording, and at the reference recording, where known [°C].
    phaser_locked
        Whether every phaser stood in its locked place.
    crank_wheel
        The crank wheel in words, where told; else the drive's.
    """

    crank: str | None = None
    cams: tuple[str, ...] = ()
    edge: str | None = None
    against: Path | None = None
    drive: Path | None = None
    deg_per_tooth: float | None = None
    temperature_c: float | None = None
    against_temperature_c: float | None = None
    phaser_locked: bool = False
    crank_wheel: str | None = None


def check(request: Request) -> None:
    """Refuse an edge, an angle or a temperature that means nothing."""
    check_engine(request.temperature_c)
    check_engine(request.against_temperature_c)
    if request.edge not in (None, "rising", "falling"):
        raise DomainError(f"“{request.edge}” is not an edge to read", allowed="rising or falling, one of them")
    per_tooth = request.deg_per_tooth
    if per_tooth is not None and not 1 <= per_tooth <= 90:
        raise DomainError(f"{per_tooth:g} crank degrees a belt tooth cannot be", allowed="1 to 90°")


def decode_for(capture: Capture, request: Request, drive: Drive | None) -> Decoded:
    """Decode a capture by the crank edge that a drive's angles are counted from.

    The angle 0 of rising and of falling edges lie the width of a tooth apart, so ``gap_to_tdc_deg`` means nothing
    without its edge: as the drive states it, else falling; of an inductive sensor the edge that carries the gap.

    Parameters
    ----------
    capture, request, drive
        The capture, what a person told of it (an edge told wins, and is that of bare edge times), and the drive, where
        given.
    """
    return with_told_edges(_decoded(capture, request, drive), request.edge)


def stated_words(request: Request, drive: Drive | None) -> str | None:
    """The crank wheel that a person or the drive states; None where neither does.

    Raises
    ------
    DomainError
        The two differ, or the words are no wheel.
    """
    told, stated = request.crank_wheel, drive.file.timing.crank_wheel if drive else None
    if told is None:
        return stated
    told = stated_wheel(told).words
    if stated is not None and same_wheel(told, stated) is False:
        raise DomainError(
            f"--crank-wheel {told} is not the {stated} that the drive file states",
            next_step="leave it out, or correct crank_wheel in the drive file",
        )
    return told


def _decoded(capture: Capture, request: Request, drive: Drive | None) -> Decoded:
    edge, wheel = request.edge, stated_words(request, drive)
    if edge is None and drive is not None and drive.file.timing.gap_to_tdc_deg is not None:
        edge = drive.file.timing.crank_edge
        free = decode(capture, crank=request.crank, cams=request.cams, edge=edge, wheel=wheel)
        if edge or free.crank is None or free.crank.edge != "rising" or free.crank.sensor not in LEVELS:
            return free
        edge = "falling"
    return decode(capture, crank=request.crank, cams=request.cams, edge=edge, wheel=wheel)


def decode_entry(path: str | Path, entry: Entry, drive: Drive) -> Decoded:
    """The recording of a job's entry, decoded by the drive; bare edge times are of the edge that the entry tells."""
    return with_told_edges(decode_for(read_capture(path), Request(crank=entry.crank), drive), entry.edge)


def no_authority(drive: Drive | None) -> str:
    """Why there is no shift."""
    if drive is None:
        return (
            "there is nothing to compare with: give the drive file with the maker's cam edges or a reference recording"
        )
    timing = drive.file.timing
    if not timing.cam_edges:
        return "the drive file states no cam edges ([timing] cam_edges): give a reference recording instead"
    return (
        "the drive file does not say where TDC lies after the gap ([timing] gap_to_tdc_deg): "
        "give it or a reference recording"
    )
