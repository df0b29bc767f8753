"""What angles alone cannot tell apart, in words."""

from __future__ import annotations

from twoturn.drive.parts import Drive
from twoturn.timing.explanation import Explanation
from twoturn.timing.posterior import Frame
from twoturn.words.numbers import list_words

RIVAL = 0.1
HARDLY = 0.5


def inseparable(drive: Drive, frame: Frame, found: tuple[Explanation, ...], common: float) -> list[str]:
    """Sentences on what the evidence cannot tell apart, and what would.

    Parameters
    ----------
    drive, frame
        The drive and the frame of the evidence.
    found
        The explanations, most probable first.
    common
        Probability [-] that everything recorded moved alike by no whole tooth.
    """
    said = _rivals(frame, found)
    if sum(item.probability for item in found) < HARDLY:
        said.append(
            "No whole tooth explains all of this: look for a sheared key, a slipped hub or sensor wheel, "
            "a stretched chain or a wrong reading."
        )
    captures = [row for row in frame.rows if row.kind == "capture"]
    crank = frame.train.crank
    alike = common > RIVAL or any(crank in item.slips for item in found if item.probability > RIVAL)
    if captures and len(captures) == len(frame.rows) and alike:
        said.append(
            f"A sensor recording alone does not tell the sprocket of the {crank} from its sensor or sensor wheel: "
            "look at the marks."
        )
    looked = [row for row in frame.rows if row.kind in ("mark", "pin") and _half_speed(drive, row.shaft)]
    if looked and not captures:
        said.append(
            "Marks and pins can agree at overlap too: make sure that cylinder 1 was at firing TDC, "
            "with both its valves shut."
        )
    return said


def _rivals(frame: Frame, found: tuple[Explanation, ...]) -> list[str]:
    """Smallest sets that show the same angles as the most probable one."""
    best = found[0]
    if not best.slips:
        return []
    rivals = [
        item
        for item in found[1:]
        if item.probability >= RIVAL * best.probability and item.overlap == best.overlap and _same(frame, item, best)
    ]
    if not rivals:
        return []
    names = list_words([best.words, *(item.words for item in rivals)], "or")
    return [
        f"Angles alone do not tell these apart: {names}. "
        "The belt's painted lines before the turns, or its teeth counted from mark to mark, do."
    ]


def _same(frame: Frame, one: Explanation, other: Explanation) -> bool:
    """Whether two sets of slips show the same angles on every belt."""
    for columns in frame.belts.values():
        for column in columns:
            step = frame.train.steps[frame.steps[column]]
            here, there = (item.slips.get(step.sprocket, 0) - item.slips.get(step.driver, 0) for item in (one, other))
            if (here - there) % step.teeth:
                return False
    return True


def _half_speed(drive: Drive, shaft: str) -> bool:
    ratio = drive.shaft(shaft).ratio
    return ratio is not None and abs(ratio) * 2 == 1
