"""How the engine turned in a sensor recording: cranking evenness by cylinder, flutter of the cams while it runs."""

from __future__ import annotations

import math

from twoturn.capture.cams import Cam
from twoturn.capture.decode import Decoded
from twoturn.capture.shift.compare import regime_of
from twoturn.capture.turning.evenness import Compression, compressions, firing_tdcs
from twoturn.capture.turning.wave import compression_wave
from twoturn.drive.parts import Drive
from twoturn.words.numbers import list_words

FLUTTER_DEG = 0.5
"""More than this from cycle to cycle is told as flutter [crank degrees], 1 σ (judgement)."""
DRIFT_DEG = 0.3
"""More than this from the first to the last cycle is told as drift [crank degrees] (judgement)."""
SHARPER = 1.5
"""So many times less scatter makes a flank the sharper one [-] (judgement)."""


def firing_of(tdc_deg: float | None, drive: Drive | None) -> tuple[tuple[int, float], ...]:
    """Firing TDC of every cylinder after the zero [crank degrees]; empty where TDC or the firing order is unknown."""
    engine = drive.file.engine if drive else None
    return firing_tdcs(tdc_deg, engine.cylinders, engine.firing_order) if engine else ()


def evenness_of(decoded: Decoded, tdc_deg: float | None, drive: Drive | None) -> tuple[Compression, ...]:
    """How much each compression slows the crankshaft, TDC in crank degrees; empty where the engine was not cranked."""
    if decoded.angle is None or not regime_of(decoded).cranked:
        return ()
    engine = drive.file.engine if drive else None
    count = (engine.cylinders or len(engine.firing_order) or None) if engine else None
    wave = compression_wave(decoded.angle, count)
    return () if wave is None else compressions(decoded.angle, wave, firing_of(tdc_deg, drive))


def unnamed_words(tdc_deg: float | None, drive: Drive | None) -> str:
    """Why cylinders are told by angle and not by number, and what to do; empty where they are known.

    Parameters
    ----------
    tdc_deg
        Firing TDC of cylinder 1 [crank degrees]; None where unknown.
    drive
        The drive, where given.
    """
    if firing_of(tdc_deg, drive):
        return ""
    if drive is None:
        return "give the drive file for the cylinders"
    timing, engine = drive.file.timing, drive.file.engine
    absent = [
        key
        for key, known in (
            ("gap_to_tdc_deg", timing.gap_to_tdc_deg is not None),
            ("cam_edges", timing.cam_edges),
            ("firing_order", engine.firing_order),
        )
        if not known
    ]
    if absent:
        return f"the drive file states no {list_words(absent, 'or')}, so the cylinders are not known"
    return "which cylinder is which is known only where the cam edges fit the maker's"


def cylinder_words(rows: tuple[Compression, ...]) -> list[str]:
    """A sentence on cylinders that slow the crankshaft clearly less than the others."""
    weak = [row for row in rows if row.weak]
    if not weak:
        return []
    names = [f"cylinder {row.cylinder}" if row.cylinder else f"the one at {row.at_deg:.0f}°" for row in weak]
    shares = list_words([f"{name} ({100 * row.share:.0f} %)" for name, row in zip(names, weak, strict=True)])
    return [f"{shares} slows the crankshaft less than the others: test its compression; timing alone changes all alike"]


def flutter_of(decoded: Decoded, cam: Cam) -> float | None:
    """Scatter of a cam's edges from cycle to cycle while the engine runs [crank degrees]; None while it is cranked."""
    sharp = [edge.scatter_deg for edge in cam.edges if edge.count > 2 and cam_sharper(cam) in (edge.edge, None)]
    if not sharp or regime_of(decoded).cranked is not False:
        return None
    return math.sqrt(sum(one**2 for one in sharp) / len(sharp))


def cam_sharper(cam: Cam) -> str | None:
    """The flank whose edges scatter clearly less, by half; None where neither does."""
    mean = {}
    for name in ("rising", "falling"):
        rows = [edge.scatter_deg for edge in cam.edges if edge.edge == name and edge.count > 2]
        mean[name] = sum(rows) / len(rows) if rows else None
    rising, falling = mean["rising"], mean["falling"]
    if not rising or not falling or max(rising, falling) < SHARPER * min(rising, falling):
        return None
    return "rising" if rising < falling else "falling"


def drift_words(cam: Cam) -> list[str]:
    """A sentence on a cam whose edges all moved one way during the recording."""
    moved = [
        (edge.drift_deg, edge.drift_u) for edge in cam.edges if edge.drift_deg is not None and edge.drift_u is not None
    ]
    if not moved or not all(abs(deg) > max(DRIFT_DEG, 3 * u) for deg, u in moved):
        return []
    if len({deg > 0 for deg, _ in moved}) > 1:
        return []
    mean = sum(deg for deg, _ in moved) / len(moved)
    way = "later" if mean > 0 else "earlier"
    return [
        f"{cam.channel} moved {abs(mean):.1f}° {way} during the recording: speed, a phaser or the belt changed; record "
        "again at a steady speed"
    ]


def flutter_words(decoded: Decoded) -> list[str]:
    """Sentences on cams that drift, or flutter against the crankshaft while the engine runs."""
    told = []
    for cam in decoded.cams:
        told += drift_words(cam)
        flutter = flutter_of(decoded, cam)
        if flutter is not None and flutter > FLUTTER_DEG:
            told.append(
                f"{cam.channel} flutters by {flutter:.1f}° (1 σ) against the crankshaft while the engine runs: a slack "
                "or worn drive does that; look at tension, tensioner and damper"
            )
    return told
