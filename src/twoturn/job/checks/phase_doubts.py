"""What speaks against a shift of a cam: another wheel, a phaser that was not locked, a crank sensor that has moved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from twoturn.capture.shift.named import Phaser, Rival, Seen, rivals_of, whole_places, witness_words
from twoturn.capture.turning.regime import Regime, like_speeds
from twoturn.capture.turning.wave import Wave, wave_shift, witness
from twoturn.capture.wheel.written import same_wheel
from twoturn.drive.parts import Drive
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.job.checks.laid_over import Laid
from twoturn.job.entries.recordings import CaptureReading, WaveReading

_LEADS: Final = "Look at the leads and the file, or correct crank_wheel in the drive file."
_CRANK_IT: Final = (
    "Record it while the starter turns the engine, or enter regime = { phaser_locked = true } if it was locked."
)
TEETH_EITHER_WAY: Final = 1.5
"""So many belt teeth either way a crank wheel must tell apart [-], as the capture command asks."""
_LOOK_ONLY: Final = "Look at the marks or pins, or state crank_wheel in the drive file."
_LOOK: Final = "Look at a mark or a pin; then at the crank sensor and its wheel."


@dataclass(frozen=True)
class Round:
    """What is known round the shifts of one recording.

    Attributes
    ----------
    drive
        The drive.
    reading, then
        What was read of it, and of the recording it is compared with, where there is one.
    regime
        How the engine turned.
    locked
        Whether a person says that every phaser stood locked.
    found
        How its edges lie over the expected ones, by shaft.
    """

    drive: Drive
    reading: CaptureReading
    then: CaptureReading | None
    regime: Regime
    locked: bool
    found: Mapping[str, Laid]


@dataclass(frozen=True)
class Judged:
    """Rivals of a shift, notes, and whether a mark or pin must stand behind it."""

    rivals: tuple[Rival, ...]
    notes: tuple[str, ...]
    needs_witness: bool


def doubt_of(told: Round, shaft: str, u: float) -> tuple[str, str]:
    """Why a shift may be none, and what to do, a sentence each; empty where it is one.

    Parameters
    ----------
    told
        What is known round it.
    shaft
        The shaft.
    u
        Standard uncertainty of the shift [crank degrees].
    """
    stated, wheel = told.drive.file.timing.crank_wheel, told.reading.wheel
    if stated is not None and wheel is not None and same_wheel(stated, wheel) is False:
        return (
            f"The drive states a {stated} crank wheel, the recording shows {wheel}: another engine or channel.",
            _LEADS,
        )
    if told.then is not None and _unlike_wheels(told.reading, told.then):
        return "The crank wheel is not that of the recording as found: another engine or channel.", ""
    if told.found[shaft].doubt:
        return told.found[shaft].doubt, ""
    if repeats := _repeats(told, shaft):
        return repeats, _LOOK_ONLY
    if _phaser(told, shaft) is not None and not told.regime.cranked:
        return "Its timing adjuster (phaser) may stand anywhere in its range while the engine runs.", _CRANK_IT
    seen = _seen(told, shaft, u)
    if seen.out and seen.witness == "moved alike":
        return "What moved is the crank sensor or its wheel: the compression wave moved with the cams.", _LOOK
    return "", ""


def judged_round(told: Round, shaft: str, u: float) -> Judged:
    """What else explains a shift, and what the compression wave says of it.

    Parameters
    ----------
    told, shaft, u
        As for :func:`doubt_of`; u is a standard uncertainty [crank degrees].
    """
    seen = _seen(told, shaft, u)
    rivals = rivals_of(seen)
    words = witness_words(seen, _wave(told, shaft))
    places = bool(whole_places(seen.deg, u, seen.place_deg)) and seen.witness != "stayed"
    phaser = any(rival.kind == "phaser" for rival in rivals)
    return Judged(rivals, (f"{words[0].upper()}{words[1:]}.",) if words else (), seen.out and (places or phaser))


def _repeats(told: Round, shaft: str) -> str:
    """Why a tooth out could look like none: the wheel repeats too soon, or its teeth were counted by the cam alone."""
    stated, wheel = told.drive.file.timing.crank_wheel, told.reading.wheel or ""
    if "no gap" in wheel and not (stated and same_wheel(stated, wheel)):
        return "The crank wheel shows no gap and the drive does not state it: its teeth are counted by the cam alone."
    step = shaft_deg_per_tooth(told.drive, told.drive.shaft(shaft))
    half = 360.0 / told.reading.zeros
    if step is None or half >= TEETH_EITHER_WAY * float(step):
        return ""
    return f"The crank wheel repeats every {2 * half:.3g}°: a belt tooth out could look like none."


def _unlike_wheels(now: CaptureReading, then: CaptureReading) -> bool:
    if now.wheel is not None and then.wheel is not None and same_wheel(now.wheel, then.wheel) is False:
        return True
    return now.zeros != then.zeros


def _phaser(told: Round, shaft: str) -> Phaser | None:
    """The shaft's phaser; None where it has none or was told to stand locked."""
    table = told.drive.shaft(shaft).table
    if told.locked or table is None or table.phaser is None:
        return None
    return Phaser(table.phaser.range_deg, table.phaser.locked_at)


def _wave(told: Round, shaft: str) -> tuple[float, float] | None:
    now, then = told.reading.wave, told.then.wave if told.then else None
    if now is None or then is None or told.then is None or not told.regime.cranked:
        return None
    if not like_speeds(told.regime, Regime(told.then.rpm)):
        return None
    return wave_shift(_as_wave(now), _as_wave(then), told.found[shaft].offset_deg)


def _as_wave(reading: WaveReading) -> Wave:
    return Wave(reading.per_cycle, reading.slowest_deg, reading.u_deg, 1.0)


def _seen(told: Round, shaft: str, u: float) -> Seen:
    match, wave = told.found[shaft].match, _wave(told, shaft)
    said = witness(match.shift_deg, wave, told.reading.wave.per_cycle) if wave and told.reading.wave else "silent"
    return Seen(
        deg=match.shift_deg,
        u=u,
        all_deg=[laid.match.shift_deg for laid in told.found.values()],
        one_polarity=match.rising_deg is None or match.falling_deg is None,
        wheel=told.reading.wheel or "",
        place_deg=told.reading.place_deg,
        witness=said,
        phaser=_phaser(told, shaft),
    )
