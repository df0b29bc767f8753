"""The act of reading a sensor recording: cam edges in crank degrees, and how late a cam is by the best authority."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from twoturn.acts.capture_shifts import Judging, shift_rows
from twoturn.acts.capture_turning import (
    cam_sharper,
    cylinder_words,
    evenness_of,
    flutter_of,
    flutter_words,
)
from twoturn.acts.drive_files import drive_text
from twoturn.capture.decode import Decoded, decode
from twoturn.capture.model import Capture
from twoturn.capture.read import read_capture
from twoturn.capture.shift.compare import (
    OTHER_WAY,
    Comparison,
    Wanted,
    against_maker,
    against_reference,
    regime_of,
    upside_down,
)
from twoturn.capture.shift.match import Expected
from twoturn.capture.shift.rivals import SAME_PATTERN_DEG
from twoturn.capture.turning.evenness import Compression
from twoturn.capture.wheel.written import same_wheel
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.errors import DomainError

LEVELS = ("logic", "two-level")
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
    """

    decoded: Decoded
    comparison: Comparison | None
    shifts: tuple[dict[str, Any], ...]
    tdc_deg: float | None
    why: tuple[str, ...]
    drive: Drive | None = None

    @property
    def cylinders(self) -> tuple[Compression, ...]:
        """How much each compression slows the crankshaft; empty where the engine was not cranked."""
        return evenness_of(self.decoded, self.tdc_deg, self.drive)


@dataclass(frozen=True)
class Request:
    """What a person tells of a recording.

    Attributes
    ----------
    crank, cams, edge
        Channels and polarity, where told.
    against, drive
        Reference recording and drive file, where given.
    deg_per_tooth
        Crank degrees of one belt tooth, where no drive tells them.
    temperature_c, against_temperature_c
        Temperature of the engine at the recording, and at the reference recording, where known [°C].
    phaser_locked
        Whether every phaser stood in its locked place.
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


def read_sensors(path: str | Path, request: Request | None = None) -> CaptureAnswer:
    """Read a sensor recording and compare it by the best authority there is.

    Parameters
    ----------
    path
        The recording.
    request
        What the person tells; nothing by default.

    Returns
    -------
    CaptureAnswer
        Cam edges, and the shift against the maker's edges, else against the reference, else none with the reason.

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
    _check(request)
    drive = read_drive(drive_text(request.drive), str(request.drive)) if request.drive else None
    decoded = decode_for(read_capture(path), request, drive)
    comparison, why = _compared(decoded, drive, request)
    if request.against and comparison is not None and not comparison.shifts and comparison.authority == "reference":
        turned = against_inverted(path, request)
        if turned is not None:
            decoded, comparison, why = turned[0], turned[1], list(turned[1].why)
    rows: tuple[dict[str, Any], ...] = ()
    if comparison is not None and comparison.shifts:
        regime = regime_of(decoded, request.temperature_c)
        judging = Judging(decoded, comparison, drive, request.deg_per_tooth, regime, request.phaser_locked)
        rows, more = shift_rows(judging)
        why += more
    tdc = tdc_of(drive, comparison)
    why += cylinder_words(evenness_of(decoded, tdc, drive))
    return CaptureAnswer(decoded, comparison, rows, tdc, (*decoded.why, *why, *flutter_words(decoded)), drive)


def _compared(decoded: Decoded, drive: Drive | None, request: Request) -> tuple[Comparison | None, list[str]]:
    """The comparison with the best authority that shows anything, and sentences."""
    other = other_wheel(decoded, drive)
    if other:
        return Comparison("none", (), 0.0, ()), [other]
    wanted = maker_edges(drive) if drive else []
    found: list[Comparison] = []
    if wanted:
        found.append(against_maker(decoded, wanted))
    if request.against and not (found and found[0].shifts):
        edge = decoded.crank.edge if decoded.crank and decoded.crank.edge != "as recorded" else request.edge
        reference = decode(read_capture(request.against), edge=edge)
        now, then = (
            regime_of(one, heat)
            for one, heat in ((decoded, request.temperature_c), (reference, request.against_temperature_c))
        )
        cylinders = drive.file.engine.cylinders if drive else None
        found.append(against_reference(decoded, reference, now, then, cylinders))
    if not found:
        return None, [_no_authority(drive)]
    return found[-1], [words for one in found for words in one.why]


def decode_for(capture: Capture, request: Request, drive: Drive | None) -> Decoded:
    """Decode a capture by the crank edge that a drive's angles are counted from.

    The angle 0 of rising and of falling edges lie the width of a tooth apart, so ``gap_to_tdc_deg`` means nothing
    without its edge: as the drive states it, else falling; of an inductive sensor the edge that carries the gap.

    Parameters
    ----------
    capture, request, drive
        The capture, what a person told of it (an edge told wins), and the drive, where given.
    """
    edge = request.edge
    if edge is None and drive is not None and drive.file.timing.gap_to_tdc_deg is not None:
        edge = drive.file.timing.crank_edge
        free = decode(capture, crank=request.crank, cams=request.cams, edge=edge)
        if edge or free.crank is None or free.crank.edge != "rising" or free.crank.sensor not in LEVELS:
            return free
        edge = "falling"
    return decode(capture, crank=request.crank, cams=request.cams, edge=edge)


def against_inverted(path: str | Path, request: Request) -> tuple[Decoded, Comparison] | None:
    """A recording read upside down against the reference: leads swapped or an inverting input; None where unlike.

    Every pattern must fit; else it is another engine. Paths and angles as in :func:`read_sensors` [crank degrees].
    """
    if request.against is None:
        return None
    reference = decode(read_capture(request.against))
    if reference.crank is None or reference.crank.edge not in OTHER_WAY:
        return None
    edge = OTHER_WAY[reference.crank.edge]
    turned = upside_down(decode(read_capture(path), crank=request.crank, cams=request.cams, edge=edge))
    now, then = regime_of(turned, request.temperature_c), regime_of(reference, request.against_temperature_c)
    found = against_reference(turned, reference, now, then)
    cams = min(len(turned.cams), len(reference.cams))
    fits = [abs(shift.match.gap_deg) <= SAME_PATTERN_DEG / 2 for shift in found.shifts]
    if not found.shifts or len(found.shifts) < cams or not all(fits):
        return None
    said = (
        "the recording stands upside down against the reference (leads swapped, or an inverting input): rising and "
        "falling edges were exchanged to compare them"
    )
    return turned, replace(found, why=(said, *found.why))


def other_wheel(decoded: Decoded, drive: Drive | None) -> str:
    """That the crank wheel is not the one the drive states, and what to do; empty where it is, or nobody can say."""
    stated = drive.file.timing.crank_wheel if drive else None
    if stated is None or decoded.crank is None or same_wheel(stated, decoded.crank.wheel.text) is not False:
        return ""
    return (
        f"the drive file states a {stated} crank wheel, {decoded.crank.channel} shows {decoded.crank.wheel.text}: "
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
        "wave": _wave_json(answer.comparison),
        "cylinders": [asdict(row) for row in answer.cylinders],
        "tdc_deg": answer.tdc_deg,
        "why": list(answer.why),
        "notes": list(decoded.notes),
    }


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


def _check(request: Request) -> None:
    """Refuse an edge, an angle or a temperature that means nothing."""
    for heat in (request.temperature_c, request.against_temperature_c):
        if heat is not None and not -60 <= heat <= 200:
            raise DomainError(f"{heat:g} °C is no temperature of an engine", allowed="-60 to 200 °C")
    if request.edge not in (None, "rising", "falling"):
        raise DomainError(f"the edge “{request.edge}” is none", allowed="rising or falling")
    per_tooth = request.deg_per_tooth
    if per_tooth is not None and not 1 <= per_tooth <= 90:
        raise DomainError(f"{per_tooth:g} crank degrees a belt tooth cannot be", allowed="1 to 90°")


def _no_authority(drive: Drive | None) -> str:
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


def tdc_of(drive: Drive | None, comparison: Comparison | None) -> float | None:
    """Firing TDC of cylinder 1 after the zero of this recording [crank degrees]; None where unknown."""
    if drive is None or comparison is None or not comparison.shifts or drive.file.timing.gap_to_tdc_deg is None:
        return None
    return (drive.file.timing.gap_to_tdc_deg + comparison.offset_deg) % 720 if comparison.authority == "maker" else None


def _only_cam(drive: Drive) -> str:
    """The camshaft that an edge without a shaft belongs to."""
    return next((shaft.id for shaft in drive.shafts if shaft.role == "camshaft"), "camshaft")
