"""How a page of the bench recorded a sound: what the browser says it did to it, kept with the entry."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

UNKNOWN = "unknown"
ALTERS = {
    "echoCancellation": "echo cancelling",
    "noiseSuppression": "noise suppression",
    "autoGainControl": "gain control",
}
"""What a browser may do to a sound, by its name in the browser (W3C, Media Capture and Streams)."""


@dataclass(frozen=True)
class Recorded:
    """What the browser did to a sound.

    Attributes
    ----------
    alters
        ``"on"``, ``"off"`` or ``"unknown"`` for each of :data:`ALTERS`, by their words.
    rate_hz
        Samples a second [Hz]; None where the browser does not say.
    """

    alters: Mapping[str, str]
    rate_hz: float | None = None

    @property
    def words(self) -> str:
        """One sentence for the entry."""
        said = [f"{what} {state}" for what, state in self.alters.items()]
        rate = f"{self.rate_hz:.0f} samples a second" if self.rate_hz else "samples a second unknown"
        return f"Recorded in the page: {', '.join([*said, rate])}."

    @property
    def doubts(self) -> tuple[str, ...]:
        """That the browser altered the sound, or may have."""
        found = []
        for state, told in (("on", "was on"), (UNKNOWN, "may have been on")):
            what = [name for name, said in self.alters.items() if said == state]
            if what:
                joined = " and ".join((", ".join(what[:-1]), what[-1]) if len(what) > 1 else what)
                found.append(
                    f"the browser's {joined} {told} while it recorded: they thin and cut a ringing note; "
                    "where it matters, record with the phone's own recorder and choose the file"
                )
        return tuple(found)


def recorded_of(settings: Mapping[str, Any]) -> Recorded:
    """What a browser's settings say, as read back from its track; what it does not tell stays unknown.

    Parameters
    ----------
    settings
        Keys of :data:`ALTERS` and ``sampleRate``; anything else is left out.
    """
    rate = settings.get("sampleRate")
    known = isinstance(rate, int | float) and not isinstance(rate, bool) and math.isfinite(rate) and 1 <= rate <= 1e6
    return Recorded({words: _state(settings.get(key)) for key, words in ALTERS.items()}, float(rate) if known else None)  # type: ignore[arg-type]


def _state(value: object) -> str:
    """A setting in words; texts are kinds of being on, such as ``"all"`` or ``"remote-only"``."""
    if isinstance(value, bool):
        return "on" if value else "off"
    return "on" if isinstance(value, str) and value not in ("", UNKNOWN, "undefined", "null") else UNKNOWN
