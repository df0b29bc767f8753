"""A recording read once: its reading for the entry, and what a person is told and shown of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from twoturn.acts.job_folder import Job
from twoturn.job.checks.base import sentence
from twoturn.job.entries.recordings import Capture, CaptureReading, Pluck, PluckReading
from twoturn.quantity.conformity import Limits
from twoturn.quantity.reading import Reading
from twoturn.quantity.show import show

if TYPE_CHECKING:
    from twoturn.capture.decode import Decoded
    from twoturn.pluck.result import PluckResult

WIDE, NARROW_BAND, NARROW_PLOT = 270.0, 180.0, 205.0
"""Widths of pictures, for a tablet and for a phone [page units], so that their words stay large."""
Tell = Callable[[float], None]


@dataclass(frozen=True)
class Drawn:
    """A picture of a result.

    Attributes
    ----------
    title, alt
        What it shows, and the same in words.
    svg, narrow
        The picture, and one for a narrow phone; empty where the wide one is to be scrolled.
    """

    title: str
    alt: str
    svg: str
    narrow: str = ""


@dataclass(frozen=True)
class Lacking:
    """What a person may tell so that a sensor recording can be read.

    Attributes
    ----------
    channels
        Channels of the recording.
    shafts
        Camshafts of the drive.
    crank
        The channel that was taken for the crankshaft's; empty where none was.
    """

    channels: tuple[str, ...]
    shafts: tuple[str, ...]
    crank: str = ""


@dataclass(frozen=True)
class Said:
    """What a person is told and shown of a recording.

    Attributes
    ----------
    words
        Sentences: what was read.
    expected
        Sentences: what the drive file lets expect; it proves nothing.
    doubts
        What makes the reading less sure.
    pictures
        Pictures of the result.
    refused
        Why there is no reading; empty where there is one.
    """

    words: tuple[str, ...] = ()
    expected: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    pictures: tuple[Drawn, ...] = field(default=())
    refused: str = ""


def of_sound(job: Job, entry: Pluck, path: Path, tell: Tell) -> tuple[Said, PluckReading | None, Lacking | None]:
    """The sound of a plucked span.

    Parameters
    ----------
    job, entry, path
        The job, the entry that would hold the reading, and its file.
    tell
        Called with the share done [-].

    Raises
    ------
    RecordingError
        The file cannot be read.
    """
    from twoturn.acts.fill_readings import pluck_reading
    from twoturn.acts.pluck_file import sound_of
    from twoturn.pluck.read import read_pluck

    sound = sound_of(path)
    result = read_pluck(sound, tell)
    reading, told = pluck_reading(job, entry, result, sound.notes)
    notes = tuple(sentence(note) for note in sound.notes)
    if reading is None or result.frequency is None:
        refused = sentence(told.removeprefix(f"{entry.file}: "))
        return Said(doubts=result.doubts, pictures=_spectrum(job, entry, result), refused=refused), None, None
    count = reading.plucks
    words = [f"Note: {show(result.frequency, confidence=True)}, from {count} pluck{'s' if count > 1 else ''}."]
    if reading.tension_n is not None and reading.u_n is not None:
        tension = Reading(reading.tension_n, reading.u_n, "N", dof=reading.tension_dof or float("inf"))
        words.append(f"Tension: {show(tension, confidence=True)}.")
    expected, bands = _expected(job, entry, result.frequency)
    pictures = (*bands, *_spectrum(job, entry, result))
    return Said((*words, *notes), expected, reading.doubts, pictures), reading, None


def _spectrum(job: Job, entry: Pluck, result: PluckResult) -> tuple[Drawn, ...]:
    """The spectrum with its partials; none where nothing rang."""
    from twoturn.acts.recording_words import allowed_note
    from twoturn.picture.plots import Partial, spectrum_svg

    if result.spectrum is None:
        return ()
    heard, allowed = result.spectrum, allowed_note(entry, job.drive)
    partials = [Partial(hertz, f"partial {n}") for n, hertz in heard.partials]
    drawn = (heard.hertz, heard.level_db, partials, "")
    wide, narrow = (spectrum_svg(*drawn, width, allowed=allowed) for width in (WIDE, NARROW_PLOT))
    named = ", ".join(f"{one.words} at {one.frequency_hz:.1f} Hz" for one in partials)
    return (Drawn("What was heard, by frequency", f"Spectrum of {entry.file}: {named}.", wide, narrow),)


def _expected(job: Job, entry: Pluck, note: Reading) -> tuple[tuple[str, ...], tuple[Drawn, ...]]:
    """The note that the drive file lets expect of the span, where it tells one, and the note against it."""
    from twoturn.mechanics.belt import belt_at_rest
    from twoturn.pluck.of_drive import expected_notes
    from twoturn.words.terms import span_id

    if entry.span is None or job.drive.is_list:
        return (), ()
    ends = set(span_id(entry.span).split(":"))
    belts = tuple(belt_at_rest(job.drive, belt) for belt in job.drive.belts)
    row = next((one for one in expected_notes(job.drive, belts) if set(one.span.name.split(":")) == ends), None)
    if row is None or row.low_hz is None or row.high_hz is None:
        return ("The drive file does not tell a note to expect of this span.",), ()
    low, high = (float(f"{edge:.3g}") for edge in (row.low_hz, row.high_hz))
    words = (
        f"Computed from the drive file, cold, with the tensioner as it should stand: {low:g} to {high:g} Hz. "
        "That is what to expect, not what is required."
    )
    title = "Note against what the drive file lets expect"
    return (words,), (band_of(title, note, Limits(low, high, "Hz")),)


def band_of(title: str, value: Reading, limits: Limits, verdict: str = "") -> Drawn:
    """A value with its uncertainty against limits, as a sentence over a band.

    Parameters
    ----------
    title
        What it shows.
    value, limits
        The value, and the limits in its unit.
    verdict
        The verdict's word; empty for none.
    """
    from twoturn.picture.band import band_svg, band_words

    pair, both = (value.value, value.expanded), (limits.low, limits.high)
    wide, narrow = (band_svg(pair, both, limits.unit, verdict, width=width) for width in (WIDE, NARROW_BAND))
    return Drawn(title, f"{title}: {band_words(pair, both, limits.unit)}.", wide, narrow)


def of_sensors(job: Job, entry: Capture, path: Path, tell: Tell) -> tuple[Said, CaptureReading | None, Lacking | None]:
    """A recording of the crankshaft's and camshafts' sensors.

    Parameters
    ----------
    job, entry, path
        The job, the entry that would hold the reading, and its file.
    tell
        Called with the share done [-].

    Raises
    ------
    RecordingError
        The file cannot be read, or has no such channel.
    """
    from twoturn.acts.capture_edges import with_told_edges
    from twoturn.acts.capture_request import Request, decode_for
    from twoturn.acts.fill_readings import capture_reading
    from twoturn.capture.read import read_capture

    read = read_capture(path)
    tell(0.3)
    decoded = with_told_edges(decode_for(read, Request(crank=entry.crank), job.drive), entry.edge)
    tell(0.8)
    reading, told = capture_reading(job, entry, decoded)
    shafts = tuple(shaft.id for shaft in job.drive.shafts if shaft.role == "camshaft")
    crank = decoded.crank.channel if decoded.crank is not None else ""
    lacking = Lacking(tuple(channel.name for channel in read.channels), shafts, crank)
    if reading is None:
        return Said(doubts=decoded.doubts, refused=sentence(told.removeprefix(f"{entry.file}: "))), None, lacking
    words, pictures = _strip(job, entry, decoded)
    return Said(words, (), reading.doubts, pictures), reading, lacking


def _strip(job: Job, entry: Capture, decoded: Decoded) -> tuple[tuple[str, ...], tuple[Drawn, ...]]:
    """What is said of the turning, and the strip over two crank turns."""
    from twoturn.acts.capture import tdc_of
    from twoturn.acts.capture_picture import capture_picture, for_job
    from twoturn.acts.capture_turning import evenness_of, firing_of
    from twoturn.acts.recording_words import sensor_words

    named, comparison = for_job(decoded, entry, job)
    tdc = tdc_of(job.drive, comparison)
    cylinders = evenness_of(named, tdc, job.drive)
    svg = capture_picture(named, comparison, tdc, cylinders, firing_of(tdc, job.drive))
    edges = "; ".join(
        f"{cam.channel}: {', '.join(f'{edge.edge} at {edge.angle_deg:.1f}°' for edge in cam.edges)}"
        for cam in named.cams
    )
    alt = f"Cam edges of {entry.file} over two crank turns. {edges}."
    return tuple(sensor_words(named, cylinders)), (Drawn("Cam edges over two crank turns", alt, svg),)
