"""Pins counted in and out: starting an engine with a pin in destroys it."""

from __future__ import annotations

from twoturn.job.checks.base import Case, Check
from twoturn.job.entries.read import PinIn, PinOut
from twoturn.job.order import Act
from twoturn.quantity.conformity import Verdict
from twoturn.words.numbers import list_words


def check_pins(case: Case) -> list[Check]:
    """One check when a pin was put in to hold: every one of them must be out again.

    Parameters
    ----------
    case
        The job.
    """
    held: dict[str, list[Act]] = {}
    for act in case.timeline.acts:
        if isinstance(act.entry, PinIn) and act.entry.use == "hold":
            for pin in case.places.pins_meant(act.entry.pin):
                held.setdefault(pin, []).append(act)
    if not held:
        return []
    still = [pin for pin, acts in held.items() if not all(_is_out(pin, act, case) for act in acts)]
    entries = tuple(dict.fromkeys(act.number for acts in held.values() for act in acts))
    check = Check(
        "pins-out",
        "Pins counted in and out",
        "prove",
        True,
        Verdict.NOT_SHOWN,
        f"{len(held) - len(still)} of {len(held)} out",
        "every pin that went in is out again",
        f"No entry says that it came out again: {list_words(still)}.",
        "Count the pins on the bench and enter them as out. Never crank with a pin in.",
        source="common practice",
        kind="default",
        entries=entries,
    )
    if still:
        return [check]
    return [check.but(verdict=Verdict.PROVEN, why="Every pin that went in came out.", next="")]


def _is_out(pin: str, put_in: Act, case: Case) -> bool:
    return any(
        pin in case.places.pins_meant(act.entry.pin) and case.state.before(put_in, act)
        for act in case.timeline.acts
        if isinstance(act.entry, PinOut)
    )
