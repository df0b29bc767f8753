"""Shifts of cams as whole belt teeth: on which shaft, how sure, and what else would explain them as well."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from twoturn.capture.decode import Decoded
from twoturn.capture.shift.compare import CamShift, Comparison
from twoturn.capture.shift.match import alike_cam
from twoturn.capture.shift.named import Phaser, Rival, Seen, rivals_of, witness_words
from twoturn.capture.turning.regime import Regime
from twoturn.capture.wheel.written import same_wheel
from twoturn.drive.parts import Drive, Shaft
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.timing.evidence import Evidence
from twoturn.timing.priors import rest_sigma_deg
from twoturn.timing.teeth_out import explain
from twoturn.timing.whole_teeth import told_teeth
from twoturn.words.numbers import list_words

UNKNOWN_REST_DEG = 1.5
TEETH_EITHER_WAY = 1.5
"""So many belt teeth either way a crank wheel must tell apart before whole teeth are told [-]."""
_WHEEL_LEFT_OPEN = "A sensor recording alone does not tell the sprocket"


@dataclass(frozen=True)
class Judging:
    """What shifts are judged with.

    Attributes
    ----------
    decoded, comparison
        The recording and its comparison.
    drive
        The drive, where given.
    deg_per_tooth
        Crank degrees of one belt tooth, where no drive tells them.
    regime
        How the engine turned.
    phaser_locked
        Whether a person says that every phaser stood locked.
    """

    decoded: Decoded
    comparison: Comparison
    drive: Drive | None
    deg_per_tooth: float | None
    regime: Regime
    phaser_locked: bool = False


def shift_rows(judging: Judging) -> tuple[tuple[dict[str, Any], ...], tuple[str, ...]]:
    """Shifts with whole belt teeth, their probability and their rivals, the greatest first, and sentences.

    Parameters
    ----------
    judging
        What they are judged with.
    """
    rows, why, evidence = [], [], []
    for shift in judging.comparison.shifts:
        shaft = _shaft_of(shift, judging.drive)
        untold = untold_teeth(judging, shift, shaft)
        row = _row(judging, shift, shaft, untold)
        rows.append(row)
        why += [untold] if untold else []
        if judging.drive and shaft and row["deg_per_tooth"] and not untold:
            evidence.append(Evidence(shaft.id, shift.deg, shift.loose_u, "capture"))
    if rows and not any(row["deg_per_tooth"] for row in rows):
        why.append(
            "how far one belt tooth moves the camshaft is not known (give the drive file): no whole teeth are told"
        )
    if judging.drive and evidence:
        told = explain(judging.drive, evidence)
        for row in rows:
            if row["shaft"] in told.teeth and row["teeth"] is not None:
                together = told.teeth[row["shaft"]]
                if together[0] or row["teeth"] == 0:
                    row["teeth"], row["probability"] = together
        why += [words for words in told.cannot_separate if not words.startswith(_WHEEL_LEFT_OPEN)]
    why += _rival_sentences(judging, rows)
    rows.sort(key=lambda row: -abs(row["deg"]))
    return tuple(rows), tuple(dict.fromkeys(why))


def _row(judging: Judging, shift: CamShift, shaft: Shaft | None, untold: str) -> dict[str, Any]:
    """One shift with the keys of the JSON answer."""
    drive = judging.drive
    per_tooth = _per_tooth(judging, shaft)
    teeth, probability = None, None
    if per_tooth and not untold:
        rest = rest_sigma_deg(shaft.hub, drive.crankshaft.hub) if drive and shaft else UNKNOWN_REST_DEG
        teeth, probability = told_teeth(shift.deg, shift.loose_u, per_tooth, rest)
    seen = _seen(judging, shift, shaft)
    rivals = rivals_of(seen)
    return {
        "shaft": shaft.id if shaft else None,
        "channel": shift.channel,
        "deg": shift.deg,
        "u": shift.u,
        "tolerance_deg": shift.wanted.tolerance_deg,
        "rising_deg": shift.match.rising_deg,
        "falling_deg": shift.match.falling_deg,
        "teeth": teeth,
        "probability": probability,
        "deg_per_tooth": per_tooth,
        "repeats_deg": _repeats(judging),
        "rivals": [{"kind": rival.kind, "words": rival.words} for rival in rivals],
        "second_witness": _second_witness(seen, rivals),
    }


def untold_teeth(judging: Judging, shift: CamShift, shaft: Shaft | None) -> str:
    """Why no whole teeth are told of a shift, in one sentence with what to do; empty where they are."""
    phaser = phaser_of(shaft)
    if phaser is not None and not judging.phaser_locked and not judging.regime.cranked:
        reach = f" of {phaser.range_deg:g}°" if phaser.range_deg else ""
        return (
            f"{shift.name} has a timing adjuster (phaser) that may stand anywhere in its range{reach} while the engine "
            "runs: this recording shows where it stood, not the timing; record while the starter turns the engine, or "
            "say that it was locked (--phaser-locked)"
        )
    if judging.comparison.witness == "moved alike":
        return "no whole belt teeth are told: what moved is the crank sensor or its wheel; look at a mark or a pin"
    per_tooth, crank = _per_tooth(judging, shaft), judging.decoded.crank
    stated = judging.drive.file.timing.crank_wheel if judging.drive else None
    if crank is not None and crank.wheel.even and not (stated and same_wheel(stated, crank.wheel.text)):
        return (
            "the crank wheel shows no gap, so its teeth in a turn were counted by the cam alone, which may be a part "
            "of the truth: no whole belt teeth are told; state crank_wheel in the drive file, or look at marks or pins"
        )
    if per_tooth and crank is not None and crank.zeros:
        half = 360.0 / crank.zeros
        if half < TEETH_EITHER_WAY * per_tooth:
            return (
                f"the crank wheel repeats every {2 * half:.3g}°, so a belt tooth ({per_tooth:.1f}°) out could look "
                "like none: no whole teeth are told; look at the marks or pins"
            )
    return ""


def phaser_of(shaft: Shaft | None) -> Phaser | None:
    """The phaser of a shaft; None where the drive gives it none."""
    table = shaft.table.phaser if shaft and shaft.table else None
    return None if table is None else Phaser(table.range_deg, table.locked_at)


def _seen(judging: Judging, shift: CamShift, shaft: Shaft | None) -> Seen:
    crank = judging.decoded.crank
    wheel = crank.wheel if crank else None
    phaser = None if judging.phaser_locked else phaser_of(shaft)
    if judging.drive is None and judging.regime.cranked is False and not judging.phaser_locked:
        phaser = Phaser()
    return Seen(
        deg=shift.deg,
        u=shift.loose_u,
        all_deg=[other.deg for other in judging.comparison.shifts],
        one_polarity=shift.match.rising_deg is None or shift.match.falling_deg is None,
        wheel=wheel.text if wheel else "",
        place_deg=360.0 / wheel.places * wheel.normal_step if wheel else None,
        witness=judging.comparison.witness,
        phaser=phaser,
    )


def _repeats(judging: Judging) -> float | None:
    """After how much the crank wheel looks alike [crank degrees]; None for a whole turn, which no cam takes."""
    crank = judging.decoded.crank
    return None if crank is None or crank.zeros <= 2 else 720.0 / crank.zeros


def _second_witness(seen: Seen, rivals: tuple[Rival, ...]) -> str:
    """``"not needed"``, ``"needed"``, or which one there is."""
    if not seen.out:
        return "not needed"
    if any(rival.kind != "cam sensor" for rival in rivals):
        return "needed"
    return "compression wave" if seen.witness == "stayed" else "not needed"


def _rival_sentences(judging: Judging, rows: list[dict[str, Any]]) -> list[str]:
    """Sentences on what else explains the shifts; cams with the same rivals share one."""
    shared: dict[tuple[str, ...], list[str]] = {}
    for row in rows:
        if row["rivals"]:
            ways = tuple(rival["words"] for rival in row["rivals"])
            shared.setdefault(ways, []).append(row["shaft"] or row["channel"])
    look = "look at a mark or a pin before the belt comes off"
    told = [
        f"{list_words(names)}: it may also be that {', or that '.join(ways)}; {look}" for ways, names in shared.items()
    ]
    comparison = judging.comparison
    if comparison.shifts:
        greatest = max(comparison.shifts, key=lambda shift: abs(shift.deg))
        seen = _seen(judging, greatest, _shaft_of(greatest, judging.drive))
        told.append(witness_words(seen, comparison.wave))
    return [words for words in told if words]


def _shaft_of(shift: CamShift, drive: Drive | None) -> Shaft | None:
    """The shaft a shift belongs to: by its id, by its name, or the only camshaft."""
    if drive is None:
        return None
    cams = [shaft for shaft in drive.shafts if shaft.role == "camshaft"]
    for name in (shift.name, shift.channel):
        for shaft in cams:
            if alike_cam(shaft.id, name):
                return shaft
    return cams[0] if len(cams) == 1 else None


def _per_tooth(judging: Judging, shaft: Shaft | None) -> float | None:
    """Crank degrees of one belt tooth at a shaft; None where the tooth count is not known."""
    if judging.drive is None or shaft is None:
        return judging.deg_per_tooth
    step: Fraction | None = shaft_deg_per_tooth(judging.drive, shaft)
    return judging.deg_per_tooth if step is None else float(step)
