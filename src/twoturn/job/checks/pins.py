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
    still = [pin for pin, acts in held.items() if not all(_is_out(pin, act, held, case) for act in acts)]
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
        short = next((act.entry for act in case.timeline.acts if _is_short(act, held, case)), None)
        if isinstance(short, PinOut):
            why = f"Counted {short.count} on the bench; more went in. One may still be in the engine."
            return [check.but(verdict=Verdict.NOT_MET, why=why, next="Find it, then enter the pins as out again.")]
        return [check]
    return [check.but(verdict=Verdict.PROVEN, why="Every pin that went in came out.", next="")]


def _is_out(pin: str, put_in: Act, held: dict[str, list[Act]], case: Case) -> bool:
    return any(
        pin in case.places.pins_meant(act.entry.pin) and case.state.before(put_in, act)
        for act in case.timeline.acts
        if isinstance(act.entry, PinOut) and not _is_short(act, held, case)
    )


def _is_short(act: Act, held: dict[str, list[Act]], case: Case) -> bool:
    """Whether an entry takes pins out and counts fewer than it names of those that held."""
    entry = act.entry
    if not isinstance(entry, PinOut) or entry.count is None:
        return False
    return entry.count < sum(pin in held for pin in case.places.pins_meant(entry.pin))
