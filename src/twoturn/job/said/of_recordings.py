"""Recordings as sentences: what was read, with the digits that its uncertainty supports, and the file."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from twoturn.job.entries.recordings import Capture, CaptureReading, Pluck, PluckReading
from twoturn.job.said.words import amount, headed, joined, place
from twoturn.quantity.reading import Reading
from twoturn.quantity.show import show
from twoturn.words.numbers import count_words

UNREAD = "not read yet"


def pluck(entry: Pluck) -> str:
    """``Plucked span roller to camshaft: 144.3 ± 0.1 Hz, five plucks, from after-turns.wav``."""
    head = joined(f"plucked {place(entry.span) or 'span'}", "as found" if entry.as_found else None)
    read = UNREAD if entry.reading is None else _note(entry.reading)
    return headed(head, read, amount(entry.length_mm, "mm", before="free span "), f"from {entry.file}")


def _note(read: PluckReading) -> str:
    parts = [show(Reading(read.frequency_hz, read.u_hz, "Hz", read.dof or math.inf))]
    if read.tension_n is not None and read.u_n is not None:
        parts.append(show(Reading(read.tension_n, read.u_n, "N", read.tension_dof or math.inf)))
    return ", ".join([*parts, count_words(read.plucks, "pluck")])


def capture(entry: Capture) -> str:
    """``Sensor recording: camshaft falling 186.41 ± 0.04°, crank wheel 60-2, 218 rpm, from as-left.csv``."""
    regime = entry.regime
    channels = {"crankshaft": entry.crank, **(entry.cams or {})}
    leads = [f"{shaft} on {lead}" for shaft, lead in channels.items() if lead and lead != shaft]
    read = None if entry.reading is None else _edges(entry.reading)
    turning = {True: "while cranked", False: "while running", None: None}[regime.cranking]
    warm = amount(regime.temperature_c, "°C", before="at ")
    speed = amount(regime.rpm, "rpm") if entry.reading is None or not entry.reading.rpm else ""
    locked = {True: "timing adjusters locked", False: "timing adjusters not locked", None: None}[regime.phaser_locked]
    head = joined("sensor recording", "as found" if entry.as_found else None)
    edge = f"{entry.edge} edges" if entry.edge else None
    said = headed(head, read or UNREAD, turning, speed, warm, locked, *leads, edge, f"from {entry.file}")
    return f"{said}. {entry.text}" if entry.text else said


def _edges(read: CaptureReading) -> str:
    edges = [
        f"{edge.shaft} {edge.edge} {show(Reading(edge.angle_deg, edge.u_deg, '°', edge.dof or math.inf))}"
        for edge in read.edges
    ]
    wheel = [f"crank wheel {read.wheel}"] if read.wheel else []
    speed = [f"{read.rpm:.0f} rpm"] if read.rpm else []
    return ", ".join([*edges, *wheel, *speed])


SENTENCES: dict[str, Callable[[Any], str]] = {"pluck": pluck, "capture": capture}
