"""The invented jobs shipped for practice: their texts, and the simulated recordings that belong to them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import numpy as np

from twoturn.simulate.engine import Cranking, SensorEngine, capture_text
from twoturn.simulate.span import RingingSpan, Workshop, plucked
from twoturn.simulate.wav import wav_bytes

Recording = Callable[[np.random.Generator], bytes]


@dataclass(frozen=True)
class ShippedJob:
    """One invented job.

    Attributes
    ----------
    id, shows
        Its folder's name, and in a sentence what it is there for.
    verdict
        The verdict it is made to end with.
    recordings
        Makers of its simulated recordings, by file name.
    """

    id: str
    shows: str
    verdict: str
    recordings: dict[str, Recording]


PLUCKED_AT_S = (0.5, 1.3, 2.2, 3.0, 3.9)


def _span(frequency_hz: float) -> Recording:
    shop = Workshop()
    span = RingingSpan(f1_hz=frequency_hz)
    return lambda rng: wav_bytes(plucked(span, PLUCKED_AT_S, shop, rng), shop.rate_hz)


def _sensors(engine: SensorEngine, cranking: Cranking) -> Recording:
    return lambda rng: capture_text(engine, cranking, rng).encode()


# Cam edges after the zero of the crank wheel: the drive's angle after TDC, plus the way from the gap to TDC.
ALDER = SensorEngine(cams={"camshaft": (("falling", 72.0 + 114.0), ("rising", 369.0))}, tdc_deg=114.0)
CEDAR = SensorEngine(cams={"camshaft": (("rising", 118.0 + 78.0), ("falling", 380.0))}, tdc_deg=78.0)
CEDAR_TOOTH_DEG = 360 / 22

JOBS: tuple[ShippedJob, ...] = (
    ShippedJob(
        "alder-proven",
        "proven with instruments: a plucked span and a sensor recording beside marks and torques",
        "proven",
        {"after-turns.wav": _span(144.3), "as-left.csv": _sensors(ALDER, Cranking(late_deg={"camshaft": 0.4}))},
    ),
    ShippedJob(
        "damson-paper-alone",
        "proven with paper data alone: no phone, no sensor leads, typed in the evening",
        "proven",
        {},
    ),
    ShippedJob(
        "cedar-one-tooth-late",
        "the camshaft one tooth late: its mark shows it, and so does the sensor recording",
        "not met",
        {"turned-with-starter.csv": _sensors(CEDAR, Cranking(late_deg={"camshaft": CEDAR_TOOTH_DEG + 0.6}))},
    ),
    ShippedJob(
        "alder-note-too-early",
        "the note was taken before the two turns by hand, so it does not count",
        "not shown",
        {"before-turns.wav": _span(144.0)},
    ),
    ShippedJob(
        "fir-not-all-shown",
        "a job that lacks things, and the sheet says which",
        "not shown",
        {},
    ),
)


def job_text(job: ShippedJob) -> str:
    """The job file of a shipped job."""
    return files("twoturn.demo").joinpath("jobs", job.id, "job.toml").read_text(encoding="utf-8")


def write_job(job: ShippedJob, folder: Path, seed: int = 2) -> None:
    """Write a shipped job into ``folder``: its job file and its simulated recordings.

    Parameters
    ----------
    job
        The job.
    folder
        Where to; made when it is not there.
    seed
        Seed of the recordings' random numbers [-]; the same seed gives the same files.
    """
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "job.toml").write_text(job_text(job), encoding="utf-8")
    for number, (name, make) in enumerate(job.recordings.items()):
        (folder / name).write_bytes(make(np.random.default_rng([seed, number])))
