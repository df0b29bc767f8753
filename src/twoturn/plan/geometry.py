"""What the plan takes from the geometry, where the drive has coordinates; nothing where it has none."""

from __future__ import annotations

from twoturn.drive.laid import lay
from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.parts import Belt, Drive
from twoturn.mechanics.belt import belt_at_rest
from twoturn.timing.counts import ToothCount, tooth_counts
from twoturn.words.numbers import plain, pointer_words

HAND_WARM_C = 40.0
WORTH_SAYING_DEG = 0.5
WORTH_SAYING_N = 10.0


def counts_between_marks(drive: Drive, belt: Belt) -> tuple[ToothCount, ...]:
    """Belt teeth [-] from mark to mark along travel, by the drive's geometry.

    Empty where the drive has no coordinates, fewer than two marks, or a count that is no whole number: a doubtful count
    is not something to thread a belt by.
    """
    rest = belt_at_rest(drive, belt)
    if rest.shape is None or len(belt.marked) < 2:
        return ()
    rows = tuple(tooth_counts(lay(belt, rest.shape.centres)))
    return rows if all(row.near_integer or row.meshes for row in rows) else ()


def hand_warm(drive: Drive, belt: Belt, tensioner: Tensioner) -> str:
    """How a setting made cold reads on a hand-warm engine (40 °C), in words; empty where not known or no matter.

    The setting is solved at the reference temperature and held, the engine grows: the pointer [°] of an automatic
    roller moves, a fixed roller's belt pulls harder [N].
    """
    warmer_k = HAND_WARM_C - drive.file.drive.reference_temperature_c
    if warmer_k <= 0:
        return ""
    cold, warm = belt_at_rest(drive, belt), belt_at_rest(drive, belt, warmer_k)
    pairs = zip(cold.tensioners, warm.tensioners, strict=False)
    found = next((pair for pair in pairs if pair[0].stand.table.pulley == tensioner.pulley), None)
    if found is None:
        return ""
    before, after = found[0].rest, found[1].rest
    if tensioner.kind == "locked eccentric":
        changed = abs(after.tension_n - before.tension_n) > WORTH_SAYING_N
        return f"{plain(round(after.tension_n, -1))} N" if changed else ""
    if tensioner.kind not in ("double eccentric", "sprung arm") or after.on_stop or before.on_stop:
        return ""
    changed = abs(after.pointer - before.pointer) > WORTH_SAYING_DEG
    return pointer_words(after.pointer, decimals=0 if abs(after.pointer) >= 3 else 1) if changed else ""
