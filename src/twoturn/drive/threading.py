"""In which order a belt is put on its wheels: taut side first, all the slack to the tensioner."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.drive.parts import Belt, Drive, Pulley

FREE_ROLES = ("idler", "tensioner")


@dataclass(frozen=True)
class Threading:
    """The order of threading.

    Attributes
    ----------
    order
        Pulley ids, first the driving sprocket; empty when it cannot be derived.
    given
        True when the drive file's ``[fit] order`` says so.
    why
        Why it cannot be derived, in one sentence; empty when it can.
    """

    order: tuple[str, ...]
    given: bool = False
    why: str = ""


def thread_order(drive: Drive, belt: Belt) -> Threading:
    """The order in which a belt is put on its wheels.

    ``[fit] order`` of the drive file where there is one. Otherwise derived: the driving sprocket pulls the belt in;
    that side is taut, the side it leaves by is slack and carries the tensioner. So from the driver against travel down
    to just after the tensioner, then the pulleys between driver and tensioner along travel, the tensioner last.
    """
    given = _given(drive, belt)
    if given:
        return Threading(given, given=True)
    rollers = [pulley for pulley in belt.pulleys if pulley.is_tensioner or pulley.role == "tensioner"]
    why = _why_not(belt, rollers)
    if why:
        return Threading((), why=f"{why}; write the order into [fit]")
    place = belt.pulleys.index(rollers[0])
    after = belt.pulleys[:place:-1]
    ahead = belt.pulleys[1:place]
    return Threading(tuple(pulley.id for pulley in (belt.driver, *after, *ahead, rollers[0])))


def _given(drive: Drive, belt: Belt) -> tuple[str, ...]:
    """The order the file gives for this belt; a list that names no belt belongs to the one that has its pulleys."""
    ids = {pulley.id for pulley in belt.pulleys}
    for table in drive.file.fit:
        mine = table.belt == belt.id if table.belt is not None else bool(table.order) and set(table.order) <= ids
        if mine and table.order:
            return tuple(table.order)
    return ()


def _why_not(belt: Belt, rollers: list[Pulley]) -> str:
    if not rollers:
        return f'the threading order of "{belt.id}" cannot be derived: no tensioner is given to take the slack'
    if len(rollers) > 1:
        names = ", ".join(f'"{pulley.id}"' for pulley in rollers)
        return f'the threading order of "{belt.id}" cannot be derived: it has several tensioners ({names})'
    place = belt.pulleys.index(rollers[0])
    if place == 0:
        return f'the threading order of "{belt.id}" cannot be derived: its tensioner "{rollers[0].id}" drives it'
    driven_before = any(pulley.role not in FREE_ROLES for pulley in belt.pulleys[1:place])
    driven_after = any(pulley.role not in FREE_ROLES for pulley in belt.pulleys[place + 1 :])
    if driven_before and not driven_after:
        return (
            f'the threading order of "{belt.id}" cannot be derived: '
            f'its tensioner "{rollers[0].id}" stands on the taut side'
        )
    return ""
