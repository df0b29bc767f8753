"""Checks of each belt: tooth count, travel direction, turned by hand, and nothing moved after the last turns."""

from __future__ import annotations

from twoturn.drive.parts import Belt
from twoturn.job.checks.base import Case, Check
from twoturn.job.entries.record import LastQuestion
from twoturn.job.entries.work import BeltData, BeltFitted, PartFitted, Turned
from twoturn.job.needs import at_belt
from twoturn.job.order import Act
from twoturn.job.resets import is_belt
from twoturn.job.state import Touched
from twoturn.quantity.conformity import Verdict, decide_yes_no
from twoturn.words.numbers import list_words, turns_words
from twoturn.words.terms import way_of_sense

_ROUNDING = 1e-9


def check_belt(belt: Belt, case: Case) -> list[Check]:
    """Tooth count, travel direction and turns of one belt.

    Parameters
    ----------
    belt, case
        One of the drive's belts, and the job.
    """
    data = _data(belt, case)
    return [_teeth(belt, data, case), _arrow(belt, data, case), _turns(belt, case)]


def _data(belt: Belt, case: Case) -> list[tuple[Act, BeltData]]:
    """What was entered of the belts that were fitted, whether as a belt or as a part."""
    found: list[tuple[Act, BeltData]] = []
    for act in case.timeline.acts:
        entry = act.entry
        if isinstance(entry, BeltFitted) or (isinstance(entry, PartFitted) and is_belt(entry)):
            named = entry.belt or (entry.at if isinstance(entry, PartFitted) else None)
            if named == belt.id or (named is None and len(case.drive.belts) == 1):
                found.append((act, entry))
    return found


def _latest(told: list[tuple[Act, BeltData]], case: Case) -> list[tuple[Act, BeltData]]:
    """The last one told, and those whose order against it cannot be told."""
    return [pair for pair in told if not any(case.state.before(pair[0], other[0]) for other in told)]


def _named(belt: Belt, case: Case) -> str:
    return "" if len(case.drive.belts) == 1 else f", {belt.id}"


def _teeth(belt: Belt, data: list[tuple[Act, BeltData]], case: Case) -> Check:
    wanted = belt.table.teeth
    told = _latest([(act, entry) for act, entry in data if entry.teeth is not None], case)
    check = Check(
        at_belt("teeth", belt, case.places),
        f"Teeth of the new belt{_named(belt, case)}",
        "fit",
        True,
        Verdict.NOT_SHOWN,
        None,
        f"{wanted} teeth",
        "No tooth count of the belt that was fitted is entered.",
        "Enter the number of teeth as printed on the belt, or counted.",
        source=case.source,
        kind="maker",
        entries=tuple(act.number for act, _ in told),
    )
    if not told:
        return check
    verdict = decide_yes_no(entry.teeth == wanted for _, entry in told)
    wrong = next((entry for _, entry in told if entry.teeth != wanted), None)
    if wrong is not None:
        why = f"The belt fitted has {wrong.teeth} teeth; this drive takes {wanted}."
        return check.but(
            verdict=verdict, reading=f"{wrong.teeth} teeth", why=why, next="Take it off and fit the right belt."
        )
    how = "counted" if any(entry.teeth_from == "counted" for _, entry in told) else "as printed"
    return check.but(verdict=verdict, reading=f"{wanted} teeth, {how}", why=f"{wanted} teeth, {how}.", next="")


def _arrow(belt: Belt, data: list[tuple[Act, BeltData]], case: Case) -> Check:
    told = _latest([(act, entry) for act, entry in data if entry.arrow is not None], case)
    check = Check(
        at_belt("arrow", belt, case.places),
        f"Travel direction of the new belt{_named(belt, case)}",
        "fit",
        True,
        Verdict.NOT_SHOWN,
        None,
        "arrow with travel, or no arrow on this belt",
        "No entry says which way the arrow points.",
        'Look at the arrow and enter arrow = "with travel", or "none" where the belt has none.',
        source="common practice",
        kind="default",
        entries=tuple(act.number for act, _ in told),
    )
    if not told:
        return check
    verdict = decide_yes_no(entry.arrow != "against travel" for _, entry in told)
    if verdict is Verdict.NOT_MET:
        return check.but(
            verdict=verdict,
            reading="against travel",
            why="The arrow points against travel.",
            next="Fit it the other way round.",
        )
    reading = "no arrow on this belt" if told[-1][1].arrow == "none" else "with travel"
    return check.but(verdict=verdict, reading=reading, why=f"Arrow: {reading}.", next="")


def _turns(belt: Belt, case: Case) -> Check:
    """Turned by hand after the last reset of this belt."""
    wanted = case.state.turns_needed(frozenset({belt.id}))
    way = way_of_sense(case.drive.crank_sense)
    what = Touched("two turns", frozenset({belt.id}))
    resets = tuple(reset for reset in case.state.touching(what) if reset.shafts is None)
    turns = case.state.turns_before(None, resets)
    check = Check(
        at_belt("two-turns", belt, case.places),
        f"Turned by hand{_named(belt, case)}",
        "prove",
        True,
        Verdict.NOT_SHOWN,
        turns_words(turns),
        f"{turns_words(wanted)} {way} by hand after the last setting",
        "",
        f"Turn {turns_words(wanted)} {way} by hand, then read everything again.",
        source=case.source,
        kind="maker",
        entries=tuple(act.number for act in case.timeline.acts if isinstance(act.entry, Turned)),
    )
    if not case.state.has_belt(None, frozenset({belt.id})):
        return check.but(reading=None, why="No entry says that the belt was fitted.", next='Enter "belt fitted".')
    if turns < wanted - _ROUNDING:
        last = resets[-1] if resets else None
        after = f" after entry {last.act.number} ({last.what})" if last else ""
        said = f"Only {turns_words(turns)} by hand" if turns else "No turning by hand"
        return check.but(why=f"{said} told{after}; {turns_words(wanted)} needed.")
    return check.but(
        verdict=Verdict.PROVEN, why=f"{turns_words(turns).capitalize()} {way} since the last setting.", next=""
    )


def check_nothing_moved(case: Case) -> Check:
    """The one question at the end: after the last turns, was anything moved, or the crankshaft turned back?"""
    answers = [act for act in case.timeline.acts if isinstance(act.entry, LastQuestion)]
    check = Check(
        "nothing-moved",
        "Nothing moved after the last turns",
        "prove",
        True,
        Verdict.NOT_SHOWN,
        None,
        "nothing moved and the crankshaft not turned back after the last turns",
        "The last question was not answered: after the last turns, was anything moved, or the crankshaft turned back?",
        'Answer it: an entry "moved at end" with moved = false or true.',
        source="common practice",
        kind="default",
        entries=tuple(act.number for act in answers),
    )
    if not answers:
        return check
    last = answers[-1]
    later = [act for act in case.timeline.acts if _stirs(act, case) and case.state.before(last, act)]
    if later:
        numbers = list_words([str(act.number) for act in later[:3]])
        return check.but(
            why=f"It was answered before entry {numbers}; answer it again.",
            next="Answer the last question again, at the end.",
        )
    if isinstance(last.entry, LastQuestion) and last.entry.moved:
        return check.but(
            reading="something moved",
            why="Something was moved after the last turns; it voids earlier readings.",
            next="Say what was moved, turn by hand as the plan says, read everything again, then answer it again.",
        )
    return check.but(
        verdict=Verdict.PROVEN, reading="nothing moved", why="Signed: nothing moved after the last turns.", next=""
    )


def _stirs(act: Act, case: Case) -> bool:
    moved = any(reset.act is act for reset in case.state.resets)
    return (moved and not isinstance(act.entry, LastQuestion)) or isinstance(act.entry, Turned)
