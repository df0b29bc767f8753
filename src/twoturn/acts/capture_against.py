"""A sensor recording against another one: by how much a cam has moved since, or against an engine that is right."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from twoturn.acts.capture_edges import bare_channels, bare_words, is_bare, with_told_edges
from twoturn.acts.capture_request import Request, stated_words
from twoturn.acts.capture_shifts import Judging, shift_rows
from twoturn.capture.decode import Decoded, decode
from twoturn.capture.read import read_capture
from twoturn.capture.shift.compare import OTHER_WAY, Comparison, against_reference, regime_of, upside_down
from twoturn.capture.shift.rivals import SAME_PATTERN_DEG
from twoturn.drive.parts import Drive

TELL_EDGE = "say which with --edge falling or --edge rising, or in the heading of each column (“crank falling”)"


@dataclass(frozen=True, eq=False)
class AgainstRecording:
    """What a comparison with another recording says.

    Attributes
    ----------
    file
        Name of the other recording.
    decoded
        The recording as it was compared: turned over where it stood upside down.
    comparison
        The comparison; without shifts where there is none.
    """

    file: str
    decoded: Decoded
    comparison: Comparison

    def rows(self, drive: Drive | None, request: Request) -> tuple[tuple[dict[str, Any], ...], list[str]]:
        """The shifts [crank degrees] with belt teeth and rivals, and sentences; no rows where there is no shift."""
        if not self.comparison.shifts:
            return (), list(self.comparison.why)
        rows, more = judged_rows(self.decoded, self.comparison, drive, request)
        return rows, [*self.comparison.why, *more]


def judged_rows(
    decoded: Decoded, comparison: Comparison, drive: Drive | None, request: Request
) -> tuple[tuple[dict[str, Any], ...], tuple[str, ...]]:
    """The shifts of a comparison [crank degrees] with belt teeth and rivals, and sentences."""
    regime = regime_of(decoded, request.temperature_c)
    return shift_rows(Judging(decoded, comparison, drive, request.deg_per_tooth, regime, request.phaser_locked))


def against_recording(
    path: str | Path, decoded: Decoded, request: Request, drive: Drive | None
) -> AgainstRecording | None:
    """A recording compared with the one that ``request.against`` names; None where it names none.

    Parameters
    ----------
    path, decoded
        The recording and how it was decoded.
    request, drive
        What a person told, and the drive, where given.
    """
    if request.against is None:
        return None
    name = request.against.name
    edge = decoded.crank.edge if decoded.crank and decoded.crank.edge in OTHER_WAY else request.edge
    reference = with_told_edges(
        decode(read_capture(request.against), edge=edge, wheel=stated_words(request, drive)), request.edge
    )
    bare = [one for one in (decoded, reference) if bare_channels(one)]
    if len(bare) == 1:
        return AgainstRecording(
            name, decoded, Comparison("reference", (), 0.0, (f"{bare_words(bare[0])}: {TELL_EDGE}",))
        )
    now, then = (
        regime_of(one, heat)
        for one, heat in ((decoded, request.temperature_c), (reference, request.against_temperature_c))
    )
    cylinders = drive.file.engine.cylinders if drive else None
    found = against_reference(decoded, with_shared_edges(reference, decoded), now, then, cylinders)
    turned = None if found.shifts else against_inverted(path, request, drive)
    return AgainstRecording(name, *(turned or (decoded, found)))


def with_shared_edges(reference: Decoded, seen: Decoded) -> Decoded:
    """A reference with only those cam edges that a recording of bare edge times can show; whole for others."""
    if not seen.cams or not all(is_bare(cam) for cam in seen.cams):
        return reference
    kinds = {edge.edge for cam in seen.cams for edge in cam.edges}
    cams = [replace(cam, edges=tuple(edge for edge in cam.edges if edge.edge in kinds)) for cam in reference.cams]
    return replace(reference, cams=tuple(cam for cam in cams if cam.edges))


def against_inverted(
    path: str | Path, request: Request, drive: Drive | None = None
) -> tuple[Decoded, Comparison] | None:
    """A recording read upside down against the reference: leads swapped or an inverting input; None where unlike.

    Every pattern must fit; else it is another engine. Paths and angles as in :func:`read_sensors` [crank degrees].
    """
    if request.against is None:
        return None
    wheel = stated_words(request, drive)
    reference = decode(read_capture(request.against), wheel=wheel)
    if reference.crank is None or reference.crank.edge not in OTHER_WAY:
        return None
    edge = OTHER_WAY[reference.crank.edge]
    told = {"crank": request.crank, "edge": edge, "wheel": wheel}
    turned = upside_down(decode(read_capture(path), cams=request.cams, **told))
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
