"""The picture of a sensor recording: cams against where they should be, strokes of cylinder 1, speed by cylinder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from twoturn.acts.capture import CaptureAnswer, maker_edges
from twoturn.acts.capture_edges import comparable
from twoturn.acts.capture_turning import firing_of
from twoturn.acts.job_folder import Job
from twoturn.capture.cams import Cam, CamEdge
from twoturn.capture.decode import Decoded
from twoturn.capture.shift.compare import CamShift, Comparison, Wanted, against_maker
from twoturn.capture.shift.match import Expected, alike_cam, wrapped
from twoturn.capture.turning.evenness import Compression
from twoturn.capture.turning.strip import mean_speed
from twoturn.drive.parts import Drive
from twoturn.job.entries.record import Reference
from twoturn.job.entries.recordings import Capture
from twoturn.picture import capture_plot
from twoturn.words.numbers import phase_words

AUTHORITY = {"maker": "the maker's edges", "reference": "the reference recording", "as found": "the recording as found"}
WIDTH = 520.0


def capture_picture(
    decoded: Decoded,
    comparison: Comparison | None,
    tdc_deg: float | None,
    cylinders: Sequence[Compression] = (),
    firing: Sequence[tuple[int, float]] = (),
    title: str = "",
    *,
    when: str = "",
) -> str:
    """An SVG picture of a decoded recording.

    Parameters
    ----------
    decoded, comparison
        The recording and its comparison; None without one.
    tdc_deg
        Firing TDC of cylinder 1 after the zero of the recording [crank degrees]; None where unknown.
    cylinders
        Its compressions, where it was cranked.
    firing
        Rows (cylinder, firing TDC [crank degrees]), where known.
    title
        Its title; empty for none.
    when
        When it was made, to stand before what a cam shows; empty for nothing.
    """
    shifts = {shift.channel: shift for shift in comparison.shifts} if comparison else {}
    tracks = [_track(cam, shifts.get(cam.channel), comparison, when) for cam in decoded.cams]
    angles, rpm = mean_speed(decoded)
    speed = capture_plot.SpeedCurve(angles, rpm, _labels(cylinders, firing))
    return capture_plot.capture_svg(tracks, tdc_deg, speed, title, WIDTH)


def answer_svg(answer: CaptureAnswer, title: str = "") -> str:
    """A picture of a recording that was read, over two crank turns.

    Parameters
    ----------
    answer
        As from :func:`twoturn.acts.capture.read_sensors`.
    title
        Its title; empty for none.
    """
    firing = firing_of(answer.tdc_deg, answer.drive)
    return capture_picture(answer.decoded, answer.comparison, answer.tdc_deg, answer.cylinders, firing, title)


def _labels(cylinders: Sequence[Compression], firing: Sequence[tuple[int, float]]) -> tuple[tuple[str, float], ...]:
    """What is written over the speed: cylinders at their firing TDC, with how much each slows the crankshaft."""
    if cylinders:
        return tuple(
            (f"{'' if one.cylinder is None else f'cyl. {one.cylinder}: '}{100 * one.share:.0f} %", one.at_deg)
            for one in cylinders
        )
    return tuple((f"cyl. {number}", angle) for number, angle in firing)


def _track(cam: Cam, shift: CamShift | None, comparison: Comparison | None, when: str) -> capture_plot.CamTrack:
    """One cam with where its edges should be."""
    edges = tuple(
        capture_plot.CamEdge(edge.angle_deg, edge.edge == "rising", edge.u, _expected(edge, shift, comparison))
        for edge in cam.edges
    )
    said = ""
    if shift is not None and comparison is not None:
        said = f"{when}{phase_words(shift.deg)} against {AUTHORITY.get(comparison.authority, 'the reference')} (dashed)"
    return capture_plot.CamTrack(shift.name if shift else cam.channel, edges, said)


def _expected(edge: CamEdge, shift: CamShift | None, comparison: Comparison | None) -> float | None:
    """Where an edge should be, by the expected edge that it answers to [crank degrees]; None without one."""
    if shift is None or comparison is None:
        return None
    places = [want.angle_deg + comparison.offset_deg for want in shift.wanted.edges if want.edge == edge.edge]
    apart = [abs(float(wrapped(edge.angle_deg - place - shift.deg))) for place in places]
    if not apart or min(apart) > 6.0:
        return None
    return float(places[apart.index(min(apart))] % 720)


def for_job(decoded: Decoded, entry: Capture, job: Job) -> tuple[Decoded, Comparison | None]:
    """A job's recording with its channels named by shaft, and its comparison with the best edges the job has.

    Parameters
    ----------
    decoded, entry, job
        The recording, its entry, and the job: the maker's edges, else those of a reference entry.
    """
    named = _by_shaft(decoded, entry, job.drive)
    wanted = maker_edges(job.drive)
    if wanted:
        return named, against_maker(named, comparable(wanted, named.cams))
    for other in reversed(job.file.entries):
        if isinstance(other, Reference):
            edges: dict[str, list[Expected]] = {}
            for edge in other.edges:
                edges.setdefault(edge.shaft, []).append(Expected(edge.edge, edge.angle_deg, edge.u_deg))
            known = [Wanted(shaft, tuple(rows)) for shaft, rows in edges.items()]
            return named, against_maker(named, comparable(known, named.cams), "reference")
    return named, None


def _by_shaft(decoded: Decoded, entry: Capture, drive: Drive) -> Decoded:
    """The recording with its channels named by shaft, as far as the entry or the names tell."""
    told = {channel: shaft for shaft, channel in (entry.cams or {}).items()}
    shafts = [shaft.id for shaft in drive.shafts if shaft.role == "camshaft"]
    only = shafts[0] if len(shafts) == len(decoded.cams) == 1 else None

    def name(channel: str) -> str:
        alike = next((shaft for shaft in shafts if alike_cam(shaft, channel)), None)
        return told.get(channel) or alike or only or channel

    return replace(decoded, cams=tuple(replace(cam, channel=name(cam.channel)) for cam in decoded.cams))
