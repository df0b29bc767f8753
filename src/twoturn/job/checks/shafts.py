"""Checks of every phased shaft: its mark on, or its pin or rod in by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from twoturn.drive.model.work import PinTable
from twoturn.drive.parts import Shaft
from twoturn.drive.turning import timed_sprocket
from twoturn.job.checks.base import Case, Check
from twoturn.job.checks.readings import Valid, mark_words, reading_words, valid_readings
from twoturn.job.evidence import Evidence
from twoturn.job.needs import Need
from twoturn.job.places import check_slug
from twoturn.plan.wording import pin_id, shaft_name
from twoturn.quantity.conformity import Limits, Verdict, accept_simple, worst
from twoturn.words.numbers import list_words, with_unit

MARK_TEETH: Final = 0.25
"""Default limit of a timing mark [teeth]: ± a quarter tooth (common practice, printed as a default)."""


def check_shafts(case: Case, needs: tuple[Need, ...]) -> list[Check]:
    """One check for each shaft that must agree with the crankshaft and can be seen or pinned.

    Parameters
    ----------
    case
        The job.
    needs
        Requirements of the drive file: one on a mark or a depth replaces the default.
    """
    return [_check(shaft, case, needs) for shaft in case.drive.shafts if shaft.phased and _can_be_shown(shaft, case)]


def _can_be_shown(shaft: Shaft, case: Case) -> bool:
    """Whether a belt turns the shaft, or a pin enters it; a shaft geared to another one behind covers is not opened."""
    return timed_sprocket(case.drive, shaft) is not None or bool(_pins(shaft, case))


def _pins(shaft: Shaft, case: Case) -> list[PinTable]:
    return [pin for pin in case.drive.file.pin if pin.shaft == shaft.id]


def _check(shaft: Shaft, case: Case, needs: tuple[Need, ...]) -> Check:
    mark, pin, depth = (_need(quantity, shaft, case, needs) for quantity in ("mark", "pin", "pin depth"))
    marks, pins = valid_readings(mark, case), valid_readings(pin, case)
    depths = valid_readings(depth, case)
    rods = [item for item in _pins(shaft, case) if shaft.role == "balance shaft"]
    name = shaft_name(case.drive, shaft).removeprefix("the ")
    found = (*marks.items, *pins.items, *depths.items)
    check = Check(
        f"timing-{check_slug(shaft.id)}",
        f"Timing of the {name}",
        "prove",
        True,
        Verdict.NOT_SHOWN,
        None,
        _required_words(shaft, case, mark, rods, depth),
        "Neither its mark nor a pin is entered after the turns.",
        _next(shaft, case, rods),
        source=case.source,
        kind="maker" if mark.kind != "default" or _pins(shaft, case) else "default",
        method="as prescribed",
        entries=tuple(dict.fromkeys(item.act.number for item in found)),
    )
    if not found:
        return _nothing(check, (marks, pins, depths))
    return _judged(check, found, bool(rods), mark, depth)


def _need(quantity: str, shaft: Shaft, case: Case, needs: tuple[Need, ...]) -> Need:
    """The drive file's own requirement of a shaft, or the default."""
    for need in needs:
        if need.quantity == quantity and need.shaft == shaft.id and need.state in (None, "after turns"):
            return need
    limits, kind = None, "default"
    if quantity == "mark":
        limits = Limits(-MARK_TEETH, MARK_TEETH, "teeth")
    least = [pin.min_depth_mm for pin in _pins(shaft, case) if pin.min_depth_mm is not None]
    if quantity == "pin depth" and least:
        limits, kind = Limits(max(least), None, "mm"), "maker"
    base = Need(
        quantity, quantity, "prove", quantity, "after turns", limits, "", shaft.id, shaft.id, None,
        case.places.belts_of_shaft(shaft.id), "as prescribed", "default", case.source,
    )  # fmt: skip
    return base if kind == "default" else replace(base, kind="maker")


def _required_words(shaft: Shaft, case: Case, mark: Need, rods: list[PinTable], depth: Need) -> str:
    said = []
    if _has_mark(shaft, case) or not _pins(shaft, case):
        limit = mark.text or "within ¼ tooth (default)"
        said.append(f"mark {limit}")
    if not rods:
        said.extend(f"{pin_id(pin)} in by hand" for pin in _pins(shaft, case))
        return list_words(said, "or")
    low = depth.limits.low if depth.limits else None
    deep = f", at least {with_unit(low, 'mm')} deep" if low is not None else ""
    return f"{list_words([pin_id(pin) for pin in rods])} in by hand{deep}"


def _has_mark(shaft: Shaft, case: Case) -> bool:
    return shaft.id in case.places.marked_shafts()


def _next(shaft: Shaft, case: Case, rods: list[PinTable]) -> str:
    if rods:
        return (
            f"After the turns, put {list_words([pin_id(pin) for pin in rods])} in by hand and enter how deep it went."
        )
    pins = _pins(shaft, case)
    if pins and not _has_mark(shaft, case):
        return f"After the turns, put {list_words([pin_id(pin) for pin in pins])} in by hand as a check and enter it."
    return "After the turns, look at the mark and enter how it stands" + (", or try the pin." if pins else ".")


def _nothing(check: Check, tried: tuple[Valid, ...]) -> Check:
    failing = [(valid.failing.rank, number, valid) for number, valid in enumerate(tried) if valid.failing is not None]
    if not failing:
        return check
    nearest = max(failing, key=lambda item: item[:2])[2]
    if nearest.failing is None:
        return check
    return check.but(why=nearest.failing.why, next=nearest.failing.next, entries=nearest.failing_numbers)


def _judged(check: Check, found: tuple[Evidence, ...], has_rod: bool, mark: Need, depth: Need) -> Check:
    """Any no wins; a mark or a pin proves, of a balance shaft with a rod only the rod's depth."""
    verdicts = [_one(item, mark, depth) for item in found]
    no = next((item for item, verdict in zip(found, verdicts, strict=True) if verdict is Verdict.NOT_MET), None)
    if no is not None:
        return check.but(
            verdict=Verdict.NOT_MET,
            reading=_words(no),
            value=no.value,
            why=f"{_words(no)[:1].upper()}{_words(no)[1:]}; required: {check.requirement}.",
            next="Do not turn back and do not crank: take the belt off, set the shafts and fit it again.",
        )
    shown = [
        item
        for item, verdict in zip(found, verdicts, strict=True)
        if verdict is Verdict.PROVEN and (not has_rod or _shows_depth(item, depth))
    ]
    if not shown:
        said = list_words(list(dict.fromkeys(_words(item) for item in found)))
        why = "Only the rod's depth shows a balance shaft: with its marks on it can stand half a turn out."
        return check.but(reading=said, why=why if has_rod else f"{said}: does not show it.")
    said = list_words(list(dict.fromkeys(_words(item) for item in shown)))
    return check.but(
        verdict=worst([Verdict.PROVEN]),
        reading=said,
        value=shown[0].value,
        why=f"{said[:1].upper()}{said[1:]}.",
        next="",
    )


def _shows_depth(item: Evidence, depth: Need) -> bool:
    return item.quantity == "pin depth" or (item.quantity == "pin" and depth.limits is None)


def _one(item: Evidence, mark: Need, depth: Need) -> Verdict:
    if item.value is None:
        return Verdict.PROVEN if item.yes else Verdict.NOT_MET
    limits = mark.limits if item.quantity == "mark" else depth.limits
    if limits is None:
        return Verdict.NOT_SHOWN
    ends = (item.value.value, -item.value.value) if item.either_sign else (item.value.value,)
    return worst(accept_simple(end, limits) for end in ends)


def _words(item: Evidence) -> str:
    if item.quantity == "mark":
        return mark_words(item)
    if item.quantity == "pin":
        return f"{item.place} in freely" if item.yes else f"{item.place} does not go in"
    return f"{item.place} {reading_words(item)} deep"
