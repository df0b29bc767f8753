"""The budget of a repeat job: at most 25 taps and 15 typed characters, counted on every shipped drive and printed.

A reading with a gauge costs its digits beside the budget. A second belt, or a pump timed by its lift, is a second
proof: its own turns, marks, pins and setting.

Counted as a tablet counts them: a one-tap answer is a tap, a photo is a tap (the camera's own button is the camera's),
a typed answer is its characters and the tap that sends it, a mark picked on a picture is a tap. What a careful man
enters on a repeat job is common practice (no source): registration and odometer, label, as found, old belt, what stays,
belt, setting and its photo, torques in one go, turns, marks and pins with a photo, the last question, his name.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from tests.job.asked.answering import ENGINES, GAUGED, Bench, is_open

from twoturn.job.asked.model import Asked
from twoturn.quantity.conformity import Verdict

MOST_TAPS, MOST_CHARACTERS = 25, 15
SECOND_PROOF = 5
"""Further taps of a second proof [-]."""
REGISTRATION = "QX10DEM"
ODOMETER = "118420"
OPENED = 2
"""Taps that find the vehicle and begin the job with the drive that it had last time."""
HANDED_OVER = 1
"""The tap that hands over once the name is under it."""
USUAL = (
    "identify-vehicle/vehicle",
    "record-as-found/mark",
    "look-at-old-belt/finding",
    "check-what-stays/finding",
    "hand-over/signed",
)
PHOTOS = ("lay-out-parts/photo", "prove-timing/photo", "prove-setting/photo")
"""Of the five photos that are the record these three are asked on every job; label, pins or marks, pointer or gauge."""


@dataclass
class Count:
    """Taps, typed characters, and digits read off a gauge [-]."""

    taps: int = 0
    characters: int = 0
    read_off: int = 0

    def one(self, asked: Asked, bench: Bench) -> None:
        """Answer a question and count what it took."""
        if asked.quick is not None:
            bench.tap(asked.id)
            self.taps += 1
            return
        given = GAUGED[asked.id]
        bench.type(asked.id, given)
        typed = [value for key, value in given.items() if asked.filled.get(key) != value]
        self.taps += 1
        self.read_off += sum(len(value) for value in typed if isinstance(value, str))


def repeat_job(name: str) -> tuple[Bench, Count]:
    """A repeat job as it is entered, and what it took."""
    bench, count = Bench(name), Count(taps=OPENED, characters=len(REGISTRATION))
    bench.type("identify-vehicle/odometer", {"km": ODOMETER})
    count.taps, count.characters = count.taps + 1, count.characters + len(ODOMETER)
    for asked_id in [one for one in USUAL[:-1] if one in bench.every]:
        count.one(bench.every[asked_id], bench)
    for asked_id in [one for one in bench.every if one.startswith(PHOTOS) and "@" not in one]:
        bench.type(asked_id, {"file": "photo.jpg"})
        count.taps += 1
    count.one(bench.every["fit-covers/torque/all"], bench)
    for _ in range(40):
        one = next((one for one in bench.every.values() if is_open(one)), None)
        if one is None:
            break
        count.one(one, bench)
    count.one(bench.every[USUAL[-1]], bench)
    count.taps += HANDED_OVER
    return bench, count


@pytest.mark.parametrize("name", ENGINES)
def test_a_repeat_job_keeps_to_its_budget(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    bench, count = repeat_job(name)
    with capsys.disabled():
        read_off = f" and {count.read_off} read off a gauge" if count.read_off else ""
        print(f"\nrepeat job, {name}: {count.taps} taps, {count.characters} typed characters{read_off}")
    assert bench.found.verdict is Verdict.PROVEN
    proofs = sum(step.id.startswith("prove-") and "setting" not in step.id for step in bench.plan.steps)
    assert count.taps <= MOST_TAPS + SECOND_PROOF * (proofs - 1)
    assert count.characters <= MOST_CHARACTERS
