"""The one thing to do now: cure, put right, the next step of the work, what is not shown yet, or hand over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from twoturn.drive.parts import Drive
from twoturn.job.asked.back import back_to, is_behind, shown_by
from twoturn.job.asked.help import help_words
from twoturn.job.asked.model import Asked, Known
from twoturn.job.asked.sheet import Sheet
from twoturn.job.assess import Assessment
from twoturn.job.checks.base import Check
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.work import StepDone
from twoturn.plan.model import Plan, Step
from twoturn.quantity.conformity import Verdict
from twoturn.words.numbers import list_words

HAND_OVER = "hand-over"
Sort = Literal["do", "cure first", "not met", "not shown", "hand over"]
Questions = Mapping[str, tuple[Asked, ...]]


@dataclass(frozen=True)
class Now:
    """The one thing to do now.

    Attributes
    ----------
    step_id
        Id of the step it is done at; of a check that is not met, of the step to go back to.
    title
        One line, as big as the page can show it.
    words
        What helps to do it: values, direction, tools; of a check, why and what next.
    asked_id
        Id of the question that is answered next; None where none is.
    sort
        What it is: work, a cure, a check to put right, one to show, or handing over.
    """

    step_id: str
    title: str
    words: tuple[str, ...]
    asked_id: str | None = None
    sort: Sort = "do"


def what_now(
    drive: Drive,
    plan: Plan,
    entries: Sequence[EntryBase],
    asked: Questions,
    assessment: Assessment,
) -> Now:
    """The one thing to do now.

    Parameters
    ----------
    drive, plan, entries
        The drive, the plan of this job, and the entries so far.
    asked
        Its questions, by step.
    assessment
        What the entries prove.
    """
    job = _Job(Sheet(drive, plan, tuple(entries), Known()), asked, assessment)
    return job.cure() or job.put_right() or job.next_step() or job.to_show() or job.hand_over()


@dataclass(frozen=True)
class _Job:
    """A job, asked what comes next."""

    sheet: Sheet
    asked: Questions
    assessment: Assessment

    def cure(self) -> Now | None:
        """A severe finding that nobody cured yet."""
        for one in self._every():
            if one.kind == "cured" and one.needed and not one.answered:
                check = self._check(one.checks[0])
                words = (check.next,) if check is not None else ()
                return Now(one.step, one.title, words, one.id, "cure first")
        return None

    def put_right(self) -> Now | None:
        """A check that is not met, unless the work went back on it already or a lead hands over in spite of it."""
        named = {one.check for one in self.assessment.overrides}
        for check in self.assessment.required:
            if check.verdict is not Verdict.NOT_MET or check.id in named or is_behind(check, self.sheet):
                continue
            step = back_to(check, self.asked, self.sheet)
            if step is not None:
                words = [word for word in (check.why, check.next) if word]
                title = f"Not met: {check.title}"
                return Now(step.id, title, (*words, f"Go back to: {step.title}."), sort="not met")
        return None

    def next_step(self) -> Now | None:
        """The first step in the order of the work with something needed that nobody answered."""
        for step in self.sheet.plan.steps:
            if self._is_left(step):
                continue
            for one in self.asked.get(step.id, ()):
                if self._is_due(one):
                    return Now(step.id, step.title, help_words(step, one, self.sheet), one.id)
                short = self._too_few_turns(one)
                if short is not None:
                    return Now(step.id, step.title, (short.why, short.next), one.id)
        return None

    def to_show(self) -> Now | None:
        """A required check that the answers do not show."""
        for check in self.assessment.required:
            mine = shown_by(check.id, self.asked)
            left = mine and all(self._is_left(self.sheet.plan.step(one.step)) for one in mine)
            if check.verdict is Verdict.NOT_SHOWN and not left:
                last = next((one for one in reversed(mine) if one.answered or one.needed), mine[-1] if mine else None)
                words = tuple(word for word in (check.why, check.next) if word)
                place = (last.step, last.id) if last is not None else (self._end(), None)
                return Now(place[0], f"Not shown yet: {check.title}", words, place[1], "not shown")
        return None

    def hand_over(self) -> Now:
        """Nothing is left to do."""
        required = self.assessment.required
        failed = [check.title for check in required if check.verdict is Verdict.NOT_MET]
        missing = [check.title for check in required if check.verdict is Verdict.NOT_SHOWN]
        unsigned = next((one for one in self._every() if one.kind == "signed" and one.step == HAND_OVER), None)
        words = (
            *((f"Not met, so a lead hands over and gives the reason: {list_words(failed)}.",) if failed else ()),
            *((f"Not shown, and listed on the sheet: {list_words(missing)}.",) if missing else ()),
        ) or ("Everything that is required is proven.",)
        sign = unsigned.id if unsigned is not None and not unsigned.answered else None
        return Now(self._end(), "Hand over", words, sign, "hand over")

    def _every(self) -> Iterator[Asked]:
        return (one for step in self.sheet.plan.steps for one in self.asked.get(step.id, ()))

    def _end(self) -> str:
        return HAND_OVER if self.sheet.has_step(HAND_OVER) else self.sheet.plan.steps[-1].id

    def _check(self, check_id: str) -> Check | None:
        return next((check for check in self.assessment.checks if check.id == check_id), None)

    def _is_due(self, one: Asked) -> bool:
        """Whether a question is needed, unanswered, and not proven already by an entry that stands elsewhere."""
        if not one.needed or one.answered:
            return False
        found = [self._check(check_id) for check_id in one.checks]
        shown = [check for check in found if check is not None and check.verdict is Verdict.PROVEN]
        return one.round > 1 or not shown or len(shown) < len(found)

    def _is_left(self, step: Step) -> bool:
        """Whether somebody left a step, with his reason."""
        for one in self.asked.get(step.id, ()):
            if one.kind == "step done" and one.done:
                entry = self.sheet.entries[one.done[-1] - 1]
                return isinstance(entry, StepDone) and not entry.yes
        return False

    def _too_few_turns(self, one: Asked) -> Check | None:
        """The check of the turns by hand where they were told and are too few, and no later step turns again."""
        if one.kind != "turned" or not one.answered or not one.checks:
            return None
        later = [other for other in self._every() if other.kind == "turned" and set(other.checks) & set(one.checks)]
        check = self._check(one.checks[0])
        if check is None or check.verdict is not Verdict.NOT_SHOWN or later[-1].id != one.id:
            return None
        return check
