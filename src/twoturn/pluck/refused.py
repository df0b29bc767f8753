"""Why the sound that comes nearest to a pluck was not taken for one."""

from __future__ import annotations

from dataclasses import replace

from twoturn.pluck.evidence import Evidence
from twoturn.pluck.partials import Pluck

REASONS = (
    ("its tones are not the partials of one span", {"series": 4.1, "count": 3.0, "astray": 0.0}),
    ("it dies away too soon for a tight span", {"quality": 3.0, "rung": 8.0}),
    ("it was sounding already before it starts, as hum, a motor or a voice does", {"older": -7.2}),
    ("more sounds beside its partials than in them", {"share": -0.01, "band_share": -0.09, "other": -3.5}),
    ("it hardly rises above the noise", {"strength": 10.0, "unsure": -2.5}),
    (
        "it swells or dies away unlike a span, or rings bright like metal",
        {"attack": 0.3, "unlike": 0.3, "longer": -0.4, "bright": -6.0},
    ),
)
"""What may be said, and the quantities of the evidence it rests on as they usually are with a pluck."""


def reason(evidence: Evidence) -> str:
    """What most keeps a sound from being taken for a pluck: what would gain most, were it as plucks have it.

    Parameters
    ----------
    evidence
        What speaks for and against it.
    """
    return max(REASONS, key=lambda row: replace(evidence, **row[1]).log_odds)[0]


def refused(pluck: Pluck, evidence: Evidence) -> str:
    """One sentence on the sound that comes nearest to a pluck.

    Parameters
    ----------
    pluck
        It, fitted as a pluck.
    evidence
        What speaks for and against its being one.
    """
    return (
        f"nothing here rings like a plucked span; what comes nearest, at {pluck.time_s:.2f} s with a note near "
        f"{pluck.f1_hz:.0f} Hz, is not taken for one: {reason(evidence)}"
    )
