"""What is said of a recording beside its picture: on the proof sheet, and at once on the bench."""

from __future__ import annotations

from collections.abc import Sequence

from twoturn.acts.capture_turning import cylinder_words, flutter_words
from twoturn.capture.decode import Decoded
from twoturn.capture.turning.evenness import Compression
from twoturn.drive.parts import Drive
from twoturn.job.entries.recordings import Pluck
from twoturn.job.needs import Need, needs_of
from twoturn.job.places import Places


def needs_of_span(entry: Pluck, drive: Drive) -> tuple[Need, ...]:
    """What is required, by numbers, of note or tension where and when an entry's span was plucked."""
    places = Places(drive)
    span = places.span(entry.span) if entry.span else None
    return tuple(
        need
        for need in needs_of(drive, places)
        if span is not None
        and need.quantity in ("frequency", "tension")
        and need.limits is not None
        and need.span == span[0]
        and (need.state == "as found") == entry.as_found
    )


def allowed_note(entry: Pluck, drive: Drive) -> tuple[float | None, float | None] | None:
    """From where to where the note of an entry's span may lie after the work [Hz]; None where nothing is required."""
    for need in () if entry.as_found else needs_of_span(entry, drive):
        if need.quantity == "frequency" and need.limits is not None and need.limits.unit == "Hz":
            return need.limits.low, need.limits.high
    return None


def sensor_words(decoded: Decoded, cylinders: Sequence[Compression]) -> list[str]:
    """Sentences on how the engine turned in a sensor recording."""
    words = []
    if decoded.rpm is not None:
        low, mean, high = decoded.rpm
        words.append(f"Crank speed {low:.0f} to {high:.0f} 1/min, mean {mean:.0f}; {decoded.turns:.0f} turns.")
    if cylinders:
        words.append("The per cents are how much each compression slows the crankshaft, against the mean of all.")
    told = (*cylinder_words(tuple(cylinders)), *flutter_words(decoded))
    return [*words, *(f"{one[0].upper()}{one[1:]}." for one in told)]
