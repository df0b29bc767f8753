"""What makes a reading less sure: clipping, noise gates, few plucks, too much noise."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from twoturn.pluck.result import HeardPluck, OtherNotes, is_contested
from twoturn.pluck.working import CLIPPED_SHARE, Array, Bools
from twoturn.recording.sound import Sound

SILENT = 1e-5  # of full scale: below the last bit of a 16-bit recording
FEW = 3
LAST_BIT, AUDIBLE, CUT_SHARE = 2e-5, 0.01, 0.03  # of full scale, twice; of the blocks of a recording
COARSE = 1e-4  # of full scale: what is stored in coarser steps falls silent by itself
BLURRED = 0.005  # relative uncertainty of the note from what rings along [-]


def too_little(sound: Sound, shortest_s: float) -> str:
    """Why a recording cannot be looked at at all; empty when it can.

    Parameters
    ----------
    sound
        The recording.
    shortest_s
        Shortest that can hold a pluck [s].

    Returns
    -------
    str
        One sentence, or nothing.
    """
    if sound.duration_s < shortest_s:
        return f"the recording lasts {1000 * sound.duration_s:.0f} ms: too short to hold a pluck"
    if float(np.abs(sound.mono - sound.mono.mean()).max()) < SILENT:
        return "the recording is silent: was the microphone on?"
    if sound.rate_hz < 2000:
        return f"{sound.rate_hz:g} samples a second are too few for a pluck: record with 8000 or more"
    return ""


def doubts_of(sound: Sound, heard: Sequence[HeardPluck], others: OtherNotes = ()) -> tuple[str, ...]:
    """Sentences on what makes a reading less sure.

    Parameters
    ----------
    sound
        The recording.
    heard
        The plucks found.
    others
        Notes of those that ring at another one [Hz], and the number of plucks at each [-].

    Returns
    -------
    tuple of str
        None, one or more sentences.
    """
    found = list(sound.notes)
    if sound.clipped_share > CLIPPED_SHARE:
        found.append("the recording is clipped: hold the microphone further away or pluck more gently")
    if sound.step <= COARSE and is_gated(sound.mono, sound.rate_hz):
        found.append("the sound between is cut to nothing: switch the telephone's noise suppression off")
    agreeing = [row for row in heard if row.agrees]
    if heard and len(agreeing) < FEW:
        count = "one pluck" if len(agreeing) == 1 else f"{len(agreeing)} plucks"
        found.append(f"only {count} heard: three or more show whether they agree")
    if others:
        found.append(other_words(others, len(agreeing)))
    if agreeing and all(1 not in row.pluck.number for row in agreeing):
        found.append("the first partial itself is not heard: it is taken from the spacing of the others")
    if agreeing and max(row.pluck.snr_db for row in agreeing) < 12:
        found.append("the plucks hardly rise above the noise: hold the microphone closer to the span")
    if agreeing and float(np.median([row.pluck.room_u_hz / row.pluck.f1_hz for row in agreeing])) > BLURRED:
        found.append(
            "other sound rings along, from a hard room, another span or the belt's twisting, and widens the range: "
            "hold the microphone closer and pluck across the middle of the belt's width"
        )
    return tuple(found)


def other_words(others: OtherNotes, agreeing: int) -> str:
    """One sentence on plucks at other notes.

    Parameters
    ----------
    others
        The notes [Hz] and the number of plucks at each [-], one or more.
    agreeing
        How many plucks were combined [-].
    """
    count = sum(plucks for _, plucks in others)
    hertz = [f"{note:.0f}" for note, _ in sorted(others)]
    notes = " and ".join([", ".join(hertz[:-1]), hertz[-1]] if len(hertz) > 1 else hertz)
    rings = "pluck rings" if count == 1 else "plucks ring"
    counts = ", so that none of the notes counts" if is_contested(count, agreeing) else ""
    return f"{count} more {rings} at {notes} Hz{counts}: record one span alone, and set nothing in between"


def is_gated(samples: Array, rate_hz: float) -> bool:
    """Whether something cut the sound off abruptly to nothing, as a noise gate does.

    Parameters
    ----------
    samples
        One channel, shape (n,) [-].
    rate_hz
        Samples a second [Hz].

    Returns
    -------
    bool
        True where a tenth of the recording or more is next to silent and the level falls to it by 25 dB in 20 ms, or
        where 40 ms and more at a time hold nothing but the last bit: no room is that quiet.
    """
    block = max(1, int(0.02 * rate_hz))
    count = len(samples) // block
    if count < 10:
        return False
    level = np.sqrt(np.mean(samples[: count * block].reshape(count, block) ** 2, axis=1)) + 1e-9
    if level.max() > AUDIBLE and cut_share(level < LAST_BIT) > CUT_SHARE:
        return True
    quiet = level < 1e-3 * level.max()
    falls = level[1:] < level[:-1] * 10 ** (-25 / 20)
    return bool(np.mean(quiet) > 0.1 and np.any(falls & quiet[1:]))


def cut_share(silent: Bools) -> float:
    """Share of blocks that are silent two or more in a row [-].

    Parameters
    ----------
    silent
        Whether each block is silent, shape (blocks,).
    """
    paired = silent[1:] & silent[:-1]
    return float(np.mean(np.append(paired, False) | np.insert(paired, 0, False)))
