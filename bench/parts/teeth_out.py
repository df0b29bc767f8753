"""Time to explain which sprocket is how many teeth out."""

from __future__ import annotations

from bench.shipped import DRIVES, short
from bench.table import Row, best_of, ms
from twoturn.drive.load import load_drive
from twoturn.drive.parts import Drive
from twoturn.timing.evidence import Evidence, mark_evidence
from twoturn.timing.teeth_out import explain


def measure() -> list[Row]:
    """One row for all shipped drives."""
    each = {}
    for path in DRIVES:
        drive = load_drive(path)
        evidence = _one_tooth_late(drive)
        if not evidence:
            continue
        each[short(path)] = best_of(lambda drive=drive, evidence=evidence: explain(drive, evidence), 10)  # type: ignore[misc]
    how = "a mark on every timed shaft and a sensor recording of each camshaft, the first shaft one tooth late"
    figure = ", ".join(f"{name} {ms(seconds)}" for name, seconds in each.items())
    return [Row("teeth out: one explanation", how, figure, "none", None)]


def _one_tooth_late(drive: Drive) -> list[Evidence]:
    from twoturn.drive.turning import shaft_deg_per_tooth

    timed = [one for one in drive.shafts if one.phased and one.role != "crankshaft" and shaft_deg_per_tooth(drive, one)]
    evidence = []
    for number, shaft in enumerate(timed):
        late = 1.0 if number == 0 else 0.0
        evidence.append(mark_evidence(drive, shaft.id, late))
        if shaft.role == "camshaft":
            evidence.append(Evidence(shaft.id, late * float(shaft_deg_per_tooth(drive, shaft) or 0), 0.3, "capture"))
    return evidence
