"""The one thing to do now: cure, put right, the next work, what is not shown yet, or hand over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
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
BESIDE = frozenset({"photo", "remark", "tool"})
"""Kinds that are entered beside the work: alone they make nobody stop at a step."""
NO_PLACE = frozenset({"tool", "override", "left out", "reference"})
"""Kinds of entries that do not tell how far the work is, whatever step they name."""
MOST = 3
"""How many other steps are told of at most [-]."""


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
class _Open:
    """A question that is open, and the place of its step in the plan [-]."""

    step: int
    asked: Asked


def _titled(step: Step) -> str:
    return f"{step.only_if}: {step.title}" if step.only_if else step.title


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
        for check in self.assessment.required:
            if check.verdict is not Verdict.NOT_MET or self.assessment.answered(check) is not None:
                continue
            if is_behind(check, self.sheet):
                continue
            step = back_to(check, self.asked, self.sheet)
            if step is not None:
                words = [word for word in (check.why, check.next) if word]
                title = f"Not met: {check.title}"
                return Now(step.id, title, (*words, f"Go back to: {step.title}."), sort="not met")
        return None

    def next_step(self) -> Now | None:
        """The next work after what was entered last; what is needed and lies before it is told, or comes first."""
        due = [_Open(at, one) for at, step in enumerate(self._steps) for one in self._due(step)]
        ahead = self._ahead()
        before = [one for one in due if ahead is None or one.step < ahead.step]
        if ahead is None or (before and self._steps[ahead.step].stage == "hand over"):
            return self._do(before[0], before) if before else None
        return self._do(ahead, before)

    def _do(self, open_: _Open, before: Sequence[_Open]) -> Now:
        """The work at a question, with what is passed on the way to it and what is needed and lies before it."""
        step, one = self._steps[open_.step], open_.asked
        short = self._too_few_turns(one)
        words = help_words(step, one, self.sheet) if short is None else (short.why, short.next)
        earlier = dict.fromkeys(at.step for at in before if at.step != open_.step)
        needed = self._named("Also open before", earlier) if earlier else ()
        return Now(step.id, step.title, (*words, *self._passed(open_.step, earlier), *needed), one.id)

    def _passed(self, to: int, told: Mapping[int, None]) -> tuple[str, ...]:
        """The steps without a tap that lie between what was entered last and the next work."""
        between = range(self._last[0] + 1, to)
        quiet = [at for at in between if at not in told and not self._is_left(self._steps[at])]
        return self._named("On the way", dict.fromkeys(quiet)) if quiet else ()

    def _named(self, lead: str, places: Mapping[int, None]) -> tuple[str, ...]:
        """Some steps by number and title, as the page shows them."""
        steps = [(at + 1, self._steps[at]) for at in places]
        told = [f"step {number} {_titled(step)}" for number, step in steps[:MOST]]
        more = [f"{len(steps) - MOST} more"] if len(steps) > MOST else []
        return (f"{lead}: {'; '.join([*told, *more])}",)

    def _ahead(self) -> _Open | None:
        """The first question that is work, from what was entered last on."""
        last, asked_last = self._last
        for at in range(max(last, 0), len(self._steps)):
            step = self._steps[at]
            if step.only_if or self._is_left(step):
                continue
            for place, one in enumerate(self.asked.get(step.id, ())):
                behind = at == last and place <= asked_last
                if self._needs(one) or (not behind and self._is_work(one)):
                    return _Open(at, one)
        return None

    @cached_property
    def _last(self) -> tuple[int, int]:
        """Place in the plan of the last step at which something was entered in this round, and of the question there.

        Both are -1 before the first entry; the question is where the entry answers none, such as going back.
        """
        places = {self.sheet.numbers.get(step.id): at for at, step in enumerate(self._steps)}
        last = (-1, -1)
        for act in self.sheet.timeline.acts:
            if act.key is None or act.key[0] != self.sheet.rounds.latest or act.entry.kind in NO_PLACE:
                continue
            at = places.get(act.key[1], -1)
            mine = enumerate(self.asked.get(self._steps[at].id, ())) if at >= 0 else ()
            last = max(last, (at, max((place for place, one in mine if act.number in one.done), default=-1)))
        return last

    def _due(self, step: Step) -> Iterator[Asked]:
        """The questions of a step that are needed still."""
        return (one for one in self.asked.get(step.id, ()) if not self._is_left(step) and self._needs(one))

    def _needs(self, one: Asked) -> bool:
        return self._is_due(one) or self._too_few_turns(one) is not None

    def _is_work(self, one: Asked) -> bool:
        """Whether a question that nobody answered is done by one tap, or is the first of the odometer."""
        if one.answered or one.kind in BESIDE or (one.kind == "signed" and one.step == HAND_OVER):
            return False
        if one.kind == "odometer":
            return one.id == next(other.id for other in self._every() if other.kind == "odometer")
        every_torque = one.kind == "torque" and not one.needed
        return one.quick is not None and not every_torque

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

    @property
    def _steps(self) -> Sequence[Step]:
        return self.sheet.plan.steps

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
