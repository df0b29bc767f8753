"""The proof sheet and the plan as PDF."""

from __future__ import annotations

import io
import tempfile
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
        return [*_proof(Path(name)), _plan()]


def _proof(folder: Path) -> list[Row]:
    sheets, whole, pages = {}, {}, {}
    for shipped in JOBS:
        place = folder / shipped.id
        proof = prove(place)

        def sheet(proof=proof) -> bytes:  # type: ignore[no-untyped-def]
            return proof_sheet(proof.job, proof.filled, proof.assessment, proof.checkpoint)

        pages[shipped.id] = _pages(sheet())
        sheets[shipped.id] = best_of(sheet, 3)
        whole[shipped.id] = best_of(lambda place=place: prove(place, place / "sheet.pdf"), 3)  # type: ignore[misc]
    each = ", ".join(f"{name} {sheets[name]:.2f} s ({pages[name]} pages)" for name in sheets)
    total = ", ".join(f"{name} {seconds:.2f} s" for name, seconds in whole.items())
    how = "drawing, plots of the recordings, typesetting; PDF/UA-1"
    return [
        Row("proof sheet as PDF", how, each, "0.5 s each", max(sheets.values()) < 0.5),
        Row("`prove` with its proof sheet", "job read, recordings heard, judged, printed", total, "none", None),
    ]


def _plan() -> Row:
    times, pages = {}, {}
    for path in DRIVES:
        plan = plan_job(path)
        times[short(path)] = best_of(lambda plan=plan, path=path: plan_sheet(plan, path), 3)  # type: ignore[misc]
        pages[short(path)] = _pages(plan_sheet(plan, path))
    each = ", ".join(f"{name} {seconds:.2f} s ({pages[name]} pages)" for name, seconds in times.items())
    return Row("plan as PDF", "all shipped drives, with the drawing", each, "0.5 s each", max(times.values()) < 0.5)


def _pages(data: bytes) -> int:
    return len(pypdf.PdfReader(io.BytesIO(data)).pages)
