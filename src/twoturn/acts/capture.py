"""The act of reading a sensor recording: cam edges in crank degrees, and how late a cam is by the best authority."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from twoturn.acts.capture_against import TELL_EDGE, against_recording, judged_rows
from twoturn.acts.capture_edges import bare_words, comparable, lacking_words, maker_edge, other_edge_words
from twoturn.acts.capture_request import Request, check, decode_for, no_authority, stated_words
from twoturn.acts.capture_turning import (
    cam_sharper,
    cylinder_words,
    evenness_of,
    flutter_of,
    flutter_words,
    unnamed_words,
)
from twoturn.acts.drive_files import drive_text
from twoturn.capture.decode import Decoded
from twoturn.capture.read import read_capture
from twoturn.capture.shift.compare import Comparison, Wanted, against_maker
from twoturn.capture.shift.match import Expected
from twoturn.capture.turning.evenness import Compression
from twoturn.capture.wheel.written import same_wheel
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive

CAUTION = (
    "Keep hands, hair and leads clear of belts and fan while the engine is cranked; the vehicle maker's procedure and "
    "values come first."
)


@dataclass(frozen=True, eq=False)
class CaptureAnswer:
    """What a sensor recording says.

    Attributes
    ----------
    decoded
        The decoded recording.
    comparison
        The comparison with an authority; None where there was none.
    shifts
        For each cam: how late, in whole belt teeth where known, and their probability.
    tdc_deg
        Firing TDC of cylinder 1 after the zero [crank degrees]; None where unknown.
    why
        Sentences: what is left open and why.
    drive
        The drive, where given.
    against
        Name of the recording that it was to be compared with; None where none was named.
    beside
        By how much each cam has moved against that recording, with sentences, where the maker's edges came first.
    """

    decoded: Decoded
    comparison: Comparison | None
    shifts: tuple[dict[str, Any], ...]
    tdc_deg: float | None
    why: tuple[str, ...]
    drive: Drive | None = None
    against: str | None = None
    beside: tuple[tuple[dict[str, Any], ...], list[str]] | None = None

    @property
    def cylinders(self) -> tuple[Compression, ...]:
        """How much each compression slows the crankshaft; empty where the engine was not cranked."""
        return evenness_of(self.decoded, self.tdc_deg, self.drive)


def read_sensors(path: str | Path, request: Request | None = None) -> CaptureAnswer:
    """Read a sensor recording and compare it by the best authority there is, and with the recording named.

    Parameters
    ----------
    path
        The recording.
    request
        What the person tells; nothing by default.

    Returns
    -------
    CaptureAnswer
        Cam edges, and the shift against the maker's edges, else against the reference, else none with the reason; the
        change against the reference beside the maker's edges where both are given.

    Raises
    ------
    RecordingError
        A recording that cannot be read, or a channel that is not in it.
    FileFaults
        A drive file with faults.
    DomainError
        An edge or an angle that means nothing.
    """
    request = request or Request()
    check(request)
    drive = read_drive(drive_text(request.drive), str(request.drive)) if request.drive else None
    decoded = decode_for(read_capture(path), request, drive)
    comparison, why = _by_the_maker(decoded, drive, request)
    other = None if other_wheel(decoded, drive, request) else against_recording(path, decoded, request, drive)
    if other is not None and (comparison is None or not comparison.shifts):
        decoded, comparison, other = other.decoded, other.comparison, None
        why += comparison.why
    elif other is not None and other.decoded is not decoded:
        decoded = other.decoded  # upside down: held against the maker's edges as it was turned over
        comparison, why = _by_the_maker(decoded, drive, request)
    rows: tuple[dict[str, Any], ...] = ()
    if comparison is not None and comparison.shifts:
        rows, more = judged_rows(decoded, comparison, drive, request)
        why += more
    tdc = tdc_of(drive, comparison)
    why += cylinder_words(evenness_of(decoded, tdc, drive))
    told = (*decoded.why, *why, *flutter_words(decoded))
    against = request.against.name if request.against else None
    beside = other.rows(drive, request) if other is not None else None
    return CaptureAnswer(decoded, comparison, rows, tdc, told, drive, against, beside)


def _by_the_maker(decoded: Decoded, drive: Drive | None, request: Request) -> tuple[Comparison | None, list[str]]:
    """The comparison with the maker's edges, where there are any, and sentences."""
    if other := other_wheel(decoded, drive, request):
        return Comparison("none", (), 0.0, ()), [other]
    wanted = maker_edges(drive) if drive else []
    if drive is None or not wanted:
        return None, [] if request.against else [no_authority(drive)]
    nothing = Comparison("maker", (), 0.0, ())
    if decoded.crank is None and decoded.why:
        return nothing, []
    bare, stated = bare_words(decoded), maker_edge(drive, decoded)
    if bare and decoded.cams:
        return nothing, [f"{bare}: {TELL_EDGE}"]
    told = []
    as_told = decoded.crank is not None and decoded.crank.edge == request.edge
    if as_told and drive.file.timing.crank_edge is None and stated not in (None, request.edge):
        told = [f"the drive's angles were taken as counted from {request.edge} crank edges, as --edge says"]
    elif other := other_edge_words(decoded, stated):
        return nothing, [other]
    found = against_maker(decoded, comparable(wanted, decoded.cams))
    if found.shifts:
        return found, [*found.why, *told]
    lacking = lacking_words(decoded, wanted)
    return found, [lacking] if lacking else list(found.why)


def other_wheel(decoded: Decoded, drive: Drive | None, request: Request) -> str:
    """That the crank wheel is not the one stated, and what to do; empty where it is, or nobody can say."""
    stated = stated_words(request, drive)
    if stated is None or decoded.crank is None or same_wheel(stated, decoded.crank.wheel.text) is not False:
        return ""
    who = "--crank-wheel states" if request.crank_wheel else "the drive file states"
    return (
        f"{who} a {stated} crank wheel, {decoded.crank.channel} shows {decoded.crank.wheel.text}: "
        "another engine or another channel, so nothing is compared; look at the leads, or name the channel with --crank"
    )


def maker_edges(drive: Drive) -> list[Wanted]:
    """The cam edges that a drive's maker states, after the zero of the crank wheel; none without ``gap_to_tdc_deg``."""
    timing = drive.file.timing
    if timing.gap_to_tdc_deg is None:
        return []
    by_shaft: dict[str, list[Expected]] = {}
    widths: dict[str, float] = {}
    for edge in timing.cam_edges:
        angle = (edge.angle_deg + timing.gap_to_tdc_deg) % 720
        shaft = edge.shaft or _only_cam(drive)
        by_shaft.setdefault(shaft, []).append(Expected(edge.edge, angle, 0.0))
        widths[shaft] = min(edge.tolerance_deg, widths.get(shaft, edge.tolerance_deg))
    return [Wanted(shaft, tuple(edges), widths[shaft]) for shaft, edges in by_shaft.items()]


def capture_json(answer: CaptureAnswer) -> dict[str, Any]:
    """The answer with the keys of ``twoturn capture --json``."""
    decoded, crank = answer.decoded, answer.decoded.crank
    rpm = None if decoded.rpm is None else dict(zip(("min", "mean", "max"), decoded.rpm, strict=True))
    cams = [
        {
            "channel": cam.channel,
            "sensor": cam.sensor,
            "sharper": cam_sharper(cam),
            "flutter_deg": flutter_of(decoded, cam),
            "edges": [
                {
                    "edge": edge.edge,
                    "angle_deg": edge.angle_deg,
                    "u": edge.u,
                    "scatter_deg": edge.scatter_deg,
                    "count": edge.count,
                    "cycles_deg": list(edge.cycles_deg),
                    "drift_deg": edge.drift_deg,
                }
                for edge in cam.edges
            ],
        }
        for cam in decoded.cams
    ]
    return {
        "file": decoded.file,
        "crank": None if crank is None else _crank_json(answer),
        "turns": decoded.turns,
        "rpm": rpm,
        "cams": cams,
        "shift": answer.shifts[0] if answer.shifts else None,
        "shifts": list(answer.shifts),
        "authority": answer.comparison.authority if answer.comparison else "none",
        "against": _against_json(answer),
        "wave": _wave_json(answer.comparison),
        "cylinders": [asdict(row) for row in answer.cylinders],
        "cylinders_why": unnamed_words(answer.tdc_deg, answer.drive),
        "tdc_deg": answer.tdc_deg,
        "why": list(answer.why),
        "notes": list(decoded.notes),
    }


def _against_json(answer: CaptureAnswer) -> dict[str, Any] | None:
    """What the recording named with --against says; its shifts are the answer's own where it is the authority."""
    if answer.against is None:
        return None
    rows, why = answer.beside or ((), [])
    return {"file": answer.against, "shifts": list(rows), "why": why}


def _wave_json(comparison: Comparison | None) -> dict[str, Any] | None:
    """What the compression wave says; None where there is none."""
    if comparison is None or comparison.wave is None:
        return None
    return {"deg": comparison.wave[0], "u": comparison.wave[1], "says": comparison.witness}


def _crank_json(answer: CaptureAnswer) -> dict[str, Any]:
    """The crank part of the JSON answer."""
    crank = answer.decoded.crank
    if crank is None:
        return {}
    scatter = crank.scatter_deg
    return {
        "channel": crank.channel,
        "wheel": crank.wheel.text,
        "edge": crank.edge,
        "anchor": crank.anchor,
        "sensor": crank.sensor,
        **crank.wheel.as_json(),
        "possible_zeros": crank.zeros,
        "scatter_deg": scatter if scatter < 1e6 else None,
        "false_edges": crank.false_edges,
        "missed_teeth": crank.missed_teeth,
        "hidden_deg": crank.hidden_deg,
        "hidden_gap_deg": crank.hidden_gap_deg,
    }


def tdc_of(drive: Drive | None, comparison: Comparison | None) -> float | None:
    """Firing TDC of cylinder 1 after the zero of this recording [crank degrees]; None where unknown."""
    if drive is None or comparison is None or not comparison.shifts or drive.file.timing.gap_to_tdc_deg is None:
        return None
    return (drive.file.timing.gap_to_tdc_deg + comparison.offset_deg) % 720 if comparison.authority == "maker" else None


def _only_cam(drive: Drive) -> str:
    """The camshaft that an edge without a shaft belongs to."""
    return next((shaft.id for shaft in drive.shafts if shaft.role == "camshaft"), "camshaft")
