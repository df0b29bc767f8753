"""What ``twoturn demo`` prints: the main job whole, the others in a few lines each."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from pathlib import Path

from twoturn.acts.demo import Shown
from twoturn.cli.prove_text import WIDTH, prove_lines
from twoturn.quantity.conformity import Verdict
from twoturn.words.terms import VERDICTS


def heading() -> str:
    """What is about to be seen."""
    return "Five invented jobs on invented engines; every recording in them is simulated.\n"


def main_lines(shown: Shown, plan: Path) -> Iterator[str]:
    """The main job as ``twoturn prove`` prints it."""
    yield f"== {shown.job.id}: {shown.job.shows}"
    yield f"$ twoturn prove {shown.folder} -o {shown.proof.proof_sheet}"
    yield from prove_lines(shown.proof)
    yield f"Its plan: {plan}"


def job_lines(shown: Shown) -> Iterator[str]:
    """A further job: verdict, what is not proven and why, and its sheet."""
    found = shown.proof.assessment
    yield ""
    yield f"== {shown.job.id}: {shown.job.shows}"
    yield f"{VERDICTS[found.verdict.value]}; proof sheet: {shown.proof.proof_sheet}"
    for verdict in (Verdict.NOT_MET, Verdict.NOT_SHOWN):
        for check in found.required:
            if check.verdict is verdict:
                said = f"{check.title}: {VERDICTS[verdict.value]}. {check.why}"
                yield from textwrap.wrap(said, WIDTH, initial_indent="  - ", subsequent_indent="    ")
