"""What the plan takes from the geometry, where the drive has coordinates; nothing where it has none."""

from __future__ import annotations

from twoturn.drive.laid import lay
from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.parts import Belt, Drive
from twoturn.mechanics.belt import BeltAtRest, belt_at_rest
from twoturn.mechanics.rest import Standing
from twoturn.timing.counts import ToothCount, tooth_counts
from twoturn.words.numbers import plain, pointer_words

HAND_WARM_C = 40.0
WORTH_SAYING_DEG = 0.5
WORTH_SAYING_N = 10.0


def counts_between_marks(drive: Drive, belt: Belt, rest: BeltAtRest | None = None) -> tuple[ToothCount, ...]:
    """Belt teeth [-] from mark to mark along travel, by the drive's geometry.

    Empty where the drive has no coordinates, fewer than two marks, or a count that is no whole number: a doubtful count
    is not something to thread a belt by. ``rest`` is the belt at rest, where it was solved already.
    """
    if len(belt.marked) < 2:
        return ()
    rest = rest or belt_at_rest(drive, belt)
    if rest.shape is None:
        return ()
    rows = tuple(tooth_counts(lay(belt, rest.shape.centres)))
    return rows if all(row.near_integer or row.meshes for row in rows) else ()


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
