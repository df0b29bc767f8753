"""What the plan takes from the geometry, where the drive has coordinates; nothing where it has none."""

from __future__ import annotations

from twoturn.drive.laid import lay
from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.parts import Belt, Drive
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.rest.balances import Standing
from twoturn.mechanics.rest.known import BeltAtRest
from twoturn.mechanics.spread.pushed import SHARE, laid_apart
from twoturn.timing.counts import ToothCount, tooth_counts
from twoturn.words.numbers import plain, pointer_words

HAND_WARM_C = 40.0
WORTH_SAYING_DEG = 0.5
WORTH_SAYING_N = 10.0
WHOLE = 0.1


def counts_between_marks(drive: Drive, belt: Belt, rest: BeltAtRest | None = None) -> tuple[ToothCount, ...]:
    """Belt teeth [-] from mark to mark along travel, by the drive's geometry.

    Empty where the drive has no coordinates or fewer than two marks. A count that is no whole number is among them:
    `is_whole` tells. ``rest`` is the belt at rest, where it was solved already.
    """
    if len(belt.marked) < 2:
        return ()
    rest = rest or belt_at_rest(drive, belt)
    if rest.shape is None:
        return ()
    return tuple(tooth_counts(lay(belt, rest.shape.centres), laid_apart(drive, rest), SHARE))


def is_whole(belt: Belt, row: ToothCount) -> bool:
    """Whether a count can be threaded by: a whole number [-] within 0.1, or what marks beside the gaps ask for.

    A mark on a tooth stands half a tooth beside a gap, a mark on the hub as far as the drive file says.
    """
    if row.near_integer:
        return abs(row.teeth - round(row.teeth)) < WHOLE
    offset = any(p.table.mark_offset_deg is not None for p in belt.pulleys if p.id in (row.start, row.end))
    return bool(row.meshes) and (offset or abs(row.teeth % 1 - 0.5) < WHOLE)


def hand_warm(drive: Drive, belt: Belt, tensioner: Tensioner, cold: BeltAtRest | None = None) -> str:
    """How a setting made cold reads on a hand-warm engine (40 °C), in words; empty where not known or no matter.

    The setting is solved at the reference temperature and held, the engine grows: the pointer [°] of an automatic
    roller moves, a fixed roller's belt pulls harder [N]. ``cold`` is the belt at rest at the reference temperature,
    where it was solved already.
    """
    warmer_k = HAND_WARM_C - drive.file.drive.reference_temperature_c
    if warmer_k <= 0 or tensioner.kind not in ("locked eccentric", "double eccentric", "sprung arm"):
        return ""
    cold = cold or belt_at_rest(drive, belt)
    if not cold.tensioners:
        return ""
    pairs = zip(cold.tensioners, belt_at_rest(drive, belt, warmer_k).tensioners, strict=False)
    found = next((pair for pair in pairs if pair[0].stand.table.pulley == tensioner.pulley), None)
    return "" if found is None else _changed(tensioner, found[0].rest, found[1].rest)


def _changed(tensioner: Tensioner, before: Standing, after: Standing) -> str:
    if tensioner.kind == "locked eccentric":
        pulls = abs(after.tension_n - before.tension_n) > WORTH_SAYING_N
        return f"{plain(round(after.tension_n, -1))} N" if pulls else ""
    if after.on_stop or before.on_stop or abs(after.pointer - before.pointer) <= WORTH_SAYING_DEG:
        return ""
    return pointer_words(after.pointer, decimals=0 if abs(after.pointer) >= 3 else 1)
