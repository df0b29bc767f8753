"""The act of reading a sensor recording: cam edges in crank degrees, and how late a cam is by the best authority."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from twoturn.acts.drive_files import drive_text
from twoturn.capture.cams import Cam, CamEdge
from twoturn.capture.compare import CamShift, Comparison, Wanted, against_maker, against_reference
from twoturn.capture.decode import Decoded, decode
from twoturn.capture.match import Expected, alike_cam
from twoturn.capture.read import read_capture
from twoturn.capture.strip import CaptureStrip, capture_strip
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive, Shaft
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.errors import DomainError
from twoturn.timing.evidence import Evidence
from twoturn.timing.priors import rest_sigma_deg
from twoturn.timing.teeth_out import explain
from twoturn.timing.whole_teeth import whole_teeth

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
    """

    decoded: Decoded
    comparison: Comparison | None
    shifts: tuple[dict[str, Any], ...]
    tdc_deg: float | None
    why: tuple[str, ...]

    @property
    def strip(self) -> CaptureStrip:
        """The numbers for a plot over the two turns of a cycle."""
        return capture_strip(self.decoded, self.tdc_deg)


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
    """

    crank: str | None = None
    cams: tuple[str, ...] = ()
    edge: str | None = None
    against: Path | None = None
    drive: Path | None = None
    deg_per_tooth: float | None = None


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
    decoded = decode(read_capture(path), crank=request.crank, cams=request.cams, edge=request.edge)
    wanted = maker_edges(drive) if drive else []
    why = list(decoded.why)
    comparison: Comparison | None = None
    if wanted:
        comparison = against_maker(decoded, wanted)
    elif request.against:
        edge = decoded.crank.edge if decoded.crank and decoded.crank.edge != "as recorded" else request.edge
        comparison = against_reference(decoded, decode(read_capture(request.against), edge=edge))
    if comparison is not None:
        why += comparison.why
    else:
        why.append(_no_authority(drive))
    rows, more = _in_teeth(comparison.shifts if comparison else (), drive, request.deg_per_tooth)
    return CaptureAnswer(decoded, comparison, rows, _tdc(drive, comparison), (*why, *more))


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


def edges_at_zero(answer: CaptureAnswer) -> list[tuple[Cam, tuple[CamEdge, ...]]]:
    """Cam edges with the zero that agrees with the authority's, for keeping in a job [crank degrees]."""
    from dataclasses import replace

    offset = answer.comparison.offset_deg if answer.comparison else 0.0
    return [
        (cam, tuple(replace(edge, angle_deg=(edge.angle_deg - offset) % 720) for edge in cam.edges))
        for cam in answer.decoded.cams
    ]


def capture_json(answer: CaptureAnswer) -> dict[str, Any]:
    """The answer with the keys of ``twoturn capture --json``."""
    decoded, crank = answer.decoded, answer.decoded.crank
    rpm = None if decoded.rpm is None else dict(zip(("min", "mean", "max"), decoded.rpm, strict=True))
    cams = [
        {
            "channel": cam.channel,
            "sensor": cam.sensor,
            "edges": [
                {
                    "edge": edge.edge,
                    "angle_deg": edge.angle_deg,
                    "u": edge.u,
                    "scatter_deg": edge.scatter_deg,
                    "count": edge.count,
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
        "tdc_deg": answer.tdc_deg,
        "why": list(answer.why),
        "notes": list(decoded.notes),
    }


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
    }


def _check(request: Request) -> None:
    """Refuse an edge or an angle that means nothing."""
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


def _tdc(drive: Drive | None, comparison: Comparison | None) -> float | None:
    """Firing TDC of cylinder 1 after the zero of this recording [crank degrees]; None where unknown."""
    if drive is None or comparison is None or not comparison.shifts or drive.file.timing.gap_to_tdc_deg is None:
        return None
    return (drive.file.timing.gap_to_tdc_deg + comparison.offset_deg) % 720 if comparison.authority == "maker" else None


def _only_cam(drive: Drive) -> str:
    """The camshaft that an edge without a shaft belongs to."""
    return next((shaft.id for shaft in drive.shafts if shaft.role == "camshaft"), "camshaft")


def _in_teeth(
    shifts: tuple[CamShift, ...], drive: Drive | None, deg_per_tooth: float | None
) -> tuple[tuple[dict[str, Any], ...], tuple[str, ...]]:
    """Shifts with whole belt teeth and their probability, the greatest first, and sentences."""
    rows, why = [], []
    evidence: list[tuple[CamShift, Shaft]] = []
    for shift in shifts:
        shaft = _shaft_of(shift, drive) if drive else None
        per_tooth = _per_tooth(drive, shaft) if drive and shaft else None
        if drive and shaft and per_tooth:
            evidence.append((shift, shaft))
        per_tooth = per_tooth or deg_per_tooth
        row: dict[str, Any] = {
            "shaft": shaft.id if shaft else None,
            "channel": shift.channel,
            "deg": shift.deg,
            "u": shift.u,
            "tolerance_deg": shift.wanted.tolerance_deg,
        }
        row |= {"rising_deg": shift.match.rising_deg, "falling_deg": shift.match.falling_deg}
        row |= {"teeth": None, "probability": None, "deg_per_tooth": per_tooth}
        if per_tooth:
            rest = rest_sigma_deg(shaft.hub, drive.crankshaft.hub) if drive and shaft else 1.5
            row["teeth"], row["probability"] = whole_teeth(shift.deg, shift.loose_u, per_tooth, rest)
        rows.append(row)
    if shifts and not any(row["deg_per_tooth"] for row in rows):
        why.append(
            "how far one belt tooth moves the camshaft is not known (give the drive file): no whole teeth are told"
        )
    if drive and evidence:
        told = explain(drive, [Evidence(shaft.id, shift.deg, shift.loose_u, "capture") for shift, shaft in evidence])
        for row in rows:
            if row["shaft"] in told.teeth:
                row["teeth"], row["probability"] = told.teeth[row["shaft"]]
        why += told.cannot_separate
    rows.sort(key=lambda row: -abs(row["deg"]))
    return tuple(rows), tuple(why)


def _shaft_of(shift: CamShift, drive: Drive) -> Shaft | None:
    """The shaft a shift belongs to: by its id, by its name, or the only camshaft."""
    cams = [shaft for shaft in drive.shafts if shaft.role == "camshaft"]
    for name in (shift.name, shift.channel):
        for shaft in cams:
            if alike_cam(shaft.id, name):
                return shaft
    return cams[0] if len(cams) == 1 else None


def _per_tooth(drive: Drive, shaft: Shaft) -> float | None:
    """Crank degrees of one belt tooth at a shaft; None where the tooth count is not known."""
    step: Fraction | None = shaft_deg_per_tooth(drive, shaft)
    return None if step is None else float(step)
