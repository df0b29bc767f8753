"""The tensioner set by its kind, where the drive file gives no value of its own for it."""

from __future__ import annotations

from typing import Final

from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.parts import Belt
from twoturn.job.checks.base import Case, Check
from twoturn.job.checks.readings import reading_words
from twoturn.job.entries.work import AdjusterMoved
from twoturn.job.evidence import Evidence
from twoturn.job.needs import SETTING, Need, own_id
from twoturn.job.order import Act
from twoturn.job.state import Standing
from twoturn.plan.sequence import sequence_of
from twoturn.quantity.conformity import Verdict, decide_yes_no, worst
from twoturn.words.terms import TENSIONER_KINDS

SETTING_TITLE: Final = "Tension set at the "
BY_KIND: Final[dict[str, str]] = {
    "double eccentric": "pointer in the notch after the turns",
    "sprung arm": "pointer in the notch after the turns, or set to plan",
    "slide": "pointer in the notch or twist as prescribed after the turns, or set to plan",
    "locked eccentric": "twist as prescribed after the turns, or set to plan",
    "hydraulic": "set to plan: ram fitted and its pin drawn",
}
_TO_PLAN = frozenset({"sprung arm", "slide", "locked eccentric", "hydraulic"})


def check_tensioners(case: Case, needs: tuple[Need, ...]) -> list[Check]:
    """One check for each tensioner whose setting no requirement covers, and of every tang that was spoken of.

    Parameters
    ----------
    case, needs
        The job, and the requirements of its drive.
    """
    found = []
    for belt in case.drive.belts:
        for tensioner in belt.tensioners:
            if not any(_covers(need, tensioner, belt) for need in needs):
                found.append(_check(tensioner, belt, case))
            found.extend(_tang(tensioner, belt, case))
    return found


def _tang(tensioner: Tensioner, belt: Belt, case: Case) -> list[Check]:
    """One check where a tang must sit in its seat and an entry says whether it does; it is not asked for."""
    told: list[tuple[Act, bool]] = []
    for act in case.timeline.acts:
        entry = act.entry
        if isinstance(entry, AdjusterMoved) and entry.tang_seated is not None:
            meant = case.places.tensioner_of(entry.at)
            if meant is not None and meant[0] is tensioner:
                told.append((act, entry.tang_seated))
    last = [(act, seated) for act, seated in told if not any(case.state.before(act, other) for other, _ in told)]
    if not tensioner.tang or not last:
        return []
    seated = all(yes for _, yes in last)
    check = Check(
        own_id("tang", tensioner, belt, case.places),
        f"Tang of the {tensioner.pulley} in its seat",
        "set",
        True,
        decide_yes_no(yes for _, yes in last),
        "in its seat" if seated else "not in its seat",
        "tang in its seat",
        "Signed: in its seat." if seated else "Signed as not in its seat: the arm is free and the belt will go slack.",
        "" if seated else "Slacken the tensioner, put the tang in its seat, set it again, turn and read again.",
        source=case.source,
        kind="maker",
        method="as prescribed",
        entries=tuple(act.number for act, _ in last),
    )
    return [check]


def _covers(need: Need, tensioner: Tensioner, belt: Belt) -> bool:
    """Whether a requirement shows that this tensioner is set."""
    if need.quantity not in SETTING or need.state == "as found" or need.kind == "default":
        return False
    if need.place in (tensioner.pulley, belt.id):
        return True
    return (need.span is not None and need.belts == {belt.id}) or need.place is None


def _check(tensioner: Tensioner, belt: Belt, case: Case) -> Check:
    check = Check(
        own_id("tensioner", tensioner, belt, case.places),
        f"{SETTING_TITLE}{tensioner.pulley} ({TENSIONER_KINDS[tensioner.kind]})",
        "prove",
        True,
        Verdict.NOT_SHOWN,
        None,
        BY_KIND[tensioner.kind],
        "No entry shows how the tensioner was set.",
        f"Enter it: {BY_KIND[tensioner.kind]}.",
        source=case.source,
        kind="default",
        method="as prescribed",
    )
    answers, failing = _answers(tensioner, belt, case)
    signed = _signed_to_plan(tensioner, belt, case) if tensioner.kind in _TO_PLAN else None
    no = next((item for item in answers if not _is_yes(item)), None)
    entries = tuple(dict.fromkeys(item.act.number for item in answers))
    if no is not None:
        return check.but(
            verdict=Verdict.NOT_MET,
            reading=reading_words(no),
            entries=entries,
            why=f"{reading_words(no)[:1].upper()}{reading_words(no)[1:]}; required: {BY_KIND[tensioner.kind]}.",
            next="Set the tensioner again, turn again, then read again.",
        )
    if answers:
        said = reading_words(answers[-1])
        why = f"{said[:1].upper()}{said[1:]} after the turns."
        return check.but(verdict=worst([Verdict.PROVEN]), reading=said, entries=entries, why=why, next="")
    if signed is not None:
        return check.but(
            verdict=Verdict.PROVEN,
            reading="set to plan",
            entries=(signed,),
            why="Signed: set by its whole sequence.",
            next="",
        )
    return check if failing is None else check.but(why=failing.why, next=failing.next)


def _answers(tensioner: Tensioner, belt: Belt, case: Case) -> tuple[list[Evidence], Standing | None]:
    """Pointer and twist of this tensioner that count, and why the nearest other one does not."""
    found, failing = [], None
    for item in case.of("pointer", "hand twist"):
        if item.quantity == "hand twist" and tensioner.kind not in ("slide", "locked eccentric"):
            continue
        here = item.place == tensioner.pulley or (item.quantity == "hand twist" and item.belts == {belt.id})
        if not here:
            continue
        standing = case.state.standing(item.act, item.touched, "after turns", sequence_of(tensioner).settle_min)
        if standing.counts:
            found.append(item)
        elif failing is None or standing.rank >= failing.rank:
            failing = standing
    return found, failing


def _is_yes(item: Evidence) -> bool:
    if item.yes is not None:
        return item.yes
    return item.value is not None and abs(item.value.value) <= item.value.expanded


def _signed_to_plan(tensioner: Tensioner, belt: Belt, case: Case) -> int | None:
    """Number of the entry that says the whole setting sequence was followed, if nothing moved the tensioner since."""
    moves = [
        reset
        for reset in case.state.resets
        if belt.id in reset.belts
        and reset.act.entry.kind in ("adjuster moved", "belt fitted", "moved at end", "loosened")
    ]
    for reset in moves:
        entry = reset.act.entry
        if not isinstance(entry, AdjusterMoved) or not entry.to_plan:
            continue
        meant = case.places.tensioner_of(entry.at)
        others = [other for other in moves if other is not reset]
        if meant and meant[0] is tensioner and all(case.state.before(other.act, reset.act) for other in others):
            return reset.act.number
    return None
