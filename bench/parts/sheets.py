"""The proof sheet and the plan as PDF."""

from __future__ import annotations

import io
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pypdf

from bench.shipped import DRIVES, short
from bench.table import Row, best_of
from twoturn.acts.plan import plan_job, plan_sheet
from twoturn.acts.proof_sheet import proof_sheet
from twoturn.acts.prove import prove
from twoturn.demo.jobs_shipped import JOBS, write_job


def measure() -> list[Row]:
    """Rows of the proof sheet, of a whole `prove` with its sheet, and of the plan."""
    with tempfile.TemporaryDirectory() as name:
        for shipped in JOBS:
            write_job(shipped, Path(name) / shipped.id)
        plan_sheet(plan_job(DRIVES[-1]), DRIVES[-1])  # loads the typesetter and its fonts
        proof = _proof(Path(name))
        return [*proof, _plan()]


def _proof(folder: Path) -> list[Row]:
    sheets, proofs, pages = {}, {}, {}
    for shipped in JOBS:
        place = folder / shipped.id
        proof = prove(place)

        def sheet(proof=proof) -> bytes:  # type: ignore[no-untyped-def]
            return proof_sheet(proof.job, proof.filled, proof.assessment, proof.checkpoint)

        sheets[shipped.id], printed = _first(sheet)
        pages[shipped.id] = _pages(printed)
        proofs[shipped.id] = best_of(lambda place=place: prove(place), 3)  # type: ignore[misc]
    each = ", ".join(f"{name} {sheets[name]:.2f} s ({pages[name]} pages)" for name in sheets)
    total = ", ".join(f"{name} {seconds:.2f} s" for name, seconds in proofs.items())
    how = "first time each: drawing, recordings heard again for their plots, typesetting; PDF/UA-1"
    return [
        Row("proof sheet as PDF", how, each, "0.5 s each", max(sheets.values()) < 0.5),
        Row("judging a job folder without its sheet", "job read, recordings heard, judged", total, "none", None),
    ]


def _plan() -> Row:
    times, pages = {}, {}
    for path in DRIVES[:-1]:
        plan = plan_job(path)
        times[short(path)], printed = _first(lambda plan=plan, path=path: plan_sheet(plan, path))  # type: ignore[misc]
        pages[short(path)] = _pages(printed)
    each = ", ".join(f"{name} {seconds:.2f} s ({pages[name]} pages)" for name, seconds in times.items())
    return Row("plan as PDF", "first time each, with the drawing", each, "0.5 s each", max(times.values()) < 0.5)


def _first(make: Callable[[], bytes]) -> tuple[float, bytes]:
    """Processor time of the first printing [s], for the typesetter remembers what it printed before; and the sheet."""
    start = time.process_time()
    printed = make()
    return time.process_time() - start, printed


def _pages(data: bytes) -> int:
    return len(pypdf.PdfReader(io.BytesIO(data)).pages)
