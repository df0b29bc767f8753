"""The parts of a job's page, each with a digest by which a page that is open knows whether its own still holds."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from twoturn.acts.shop.job_view import JobView
from twoturn.acts.shop.shop import Shop
from twoturn.job.asked.answers import CONDITIONS
from twoturn.job.asked.mending import said_by
from twoturn.job.asked.model import Asked, Given, Units
from twoturn.job.asked.rounds import WORK
from twoturn.job.asked.typed import in_units, with_unit
from twoturn.job.checks.base import Check
from twoturn.job.entries.base import EntryBase
from twoturn.plan.model import STAGES, Step
from twoturn.quantity.conformity import Verdict
from twoturn.web.show import environment

CSRF, PAGE = f"csrf-{secrets.token_hex(12)}", f"page-{secrets.token_hex(12)}"
"""What stands in a part for the token of forms and for the page's own text; no page knows them beforehand."""
STAGE_TITLES = {
    "due": "Is it due?",
    "plan": "Before the work",
    "strip": "Taking off",
    "look": "Old belt",
    "fit": "Fitting",
    "set": "Tension",
    "prove": "Proof",
    "hand over": "Hand over",
}


@dataclass(frozen=True)
class Part:
    """A part of the page.

    Attributes
    ----------
    name
        ``now``, ``verdict``, ``lists``, ``entries``, or ``step-`` with the step's id.
    html
        Its text, with ``CSRF`` and ``PAGE`` where those belong.
    digest
        Of its text.
    """

    name: str
    html: str
    digest: str


@dataclass(frozen=True)
class Question:
    """A question with what the checks say that it can answer.

    Attributes
    ----------
    asked
        The question.
    at
        Its id on the page.
    checks
        Those of its checks that some entry answers already, or that it is the first to answer.
    holds
        Of each entry that answers it, ``proven`` where what was entered holds, else ``not met`` or ``not shown``.
    said
        What each of them says in its fields, by the entry's number and the field's key.
    """

    asked: Asked
    at: str
    checks: tuple[Check, ...]
    holds: tuple[str, ...] = ()
    said: Mapping[int, Mapping[str, Given]] = field(default_factory=dict)

    @property
    def lacks_tool(self) -> bool:
        """Whether it asks for a torque tool and none is known: one tap could not be entered."""
        fields = self.asked.fields if self.asked.kind == "torque" else ()
        return any(one.key == "tool" and one.required and not one.value for one in fields)


@dataclass(frozen=True)
class StepPart:
    """A step as the page shows it.

    Attributes
    ----------
    number, step, questions
        Its place in the plan from 1, the step, its questions.
    state
        ``done``, ``needed`` where a required check waits for it, ``not met`` or ``not shown`` where what was entered
        does not hold, or ``open``.
    may_go_back
        Whether it matters and later steps were worked at, so that "I am going back here" means something.
    """

    number: int
    step: Step
    questions: tuple[Question, ...]
    state: str
    may_go_back: bool


@dataclass(frozen=True)
class Parts:
    """All parts in their order, those of steps also by stage."""

    all: Mapping[str, Part]
    stages: tuple[tuple[str, str, tuple[Part, ...]], ...]

    def changed(self, known: Mapping[str, str]) -> dict[str, Part]:
        """The parts whose digest is not the one that is known."""
        return {name: part for name, part in self.all.items() if known.get(name) != part.digest}


def at_of(asked_id: str) -> str:
    """A question's id on the page."""
    return "q-" + asked_id.replace("/", "--")


def parts_of(shop: Shop, view: JobView, units: Units) -> Parts:
    """The parts of a job's page; those whose content is that of the last time are not made anew."""
    key = ("parts", view.head.id, units)
    before: dict[str, tuple[Any, Part]] = shop.answers.get(key) or {}
    made: dict[str, tuple[Any, Part]] = {}
    for name, template, values in _wanted(view, units):
        held = before.get(name)
        same = held is not None and held[0] == values
        made[name] = held if same and held is not None else (values, _part(name, template, values))
    shop.answers.put(key, made)
    parts = {name: part for name, (_, part) in made.items()}
    return Parts(parts, tuple(_stages(view, parts)))


def filled_in(html: str, csrf: str, key: str) -> str:
    """A part for one visitor: with the token, and with keys that begin with ``key``."""
    return html.replace(CSRF, csrf).replace(PAGE, key)


def _stages(view: JobView, parts: Mapping[str, Part]) -> Iterator[tuple[str, str, tuple[Part, ...]]]:
    for stage in STAGES:
        steps = tuple(parts[f"step-{step.id}"] for step in view.plan.steps if step.stage == stage)
        if steps:
            yield stage.replace(" ", "-"), STAGE_TITLES[stage], steps


def _wanted(view: JobView, units: Units) -> Iterator[tuple[str, str, dict[str, Any]]]:
    found = view.proof.assessment
    yield (
        "now",
        "job/now.html",
        {"job": view.head.id, "now": view.now, "at": _target(view), "verdict": found.verdict.value},
    )
    where = {check: one for questions in view.asked.values() for one in questions for check in one.checks}
    rows = [(check, at_of(where[check.id].id) if check.id in where else "") for check in found.required]
    yield "verdict", "job/verdict.html", {
        "job": view.head.id, "verdict": found.verdict.value, "rows": rows, "warnings": view.proof.filled.warnings,
        "value_only": found.value_only, "spare": tuple(check for check in found.checks if not check.required),
    }  # fmt: skip
    yield "lists", "job/lists.html", {"plan": replace(view.plan, steps=())}
    for part in _steps(view, units):
        yield f"step-{part.step.id}", "job/step.html", {"job": view.head.id, "part": part, "units": units}
    yield "entries", "job/entries.html", {
        "job": view.head.id, "lines": view.lines, "checkpoint": view.checkpoint, "holds": _holds_of_lines(view),
    }  # fmt: skip


def _target(view: JobView) -> str:
    """Where on the page the one thing to do now is."""
    return at_of(view.now.asked_id) if view.now.asked_id else f"step-{view.now.step_id}" if view.now.step_id else ""


def _steps(view: JobView, units: Units) -> Iterator[StepPart]:
    checks = {check.id: check for check in view.proof.assessment.checks}
    entries = view.proof.filled.entries
    order = {step.id: number for number, step in enumerate(view.plan.steps, 1)}
    worked = [order.get(line.step, 0) for line in view.lines if line.stands and line.kind in WORK]
    for number, step in enumerate(view.plan.steps, 1):
        asked = view.asked.get(step.id, ())
        questions = tuple(_with_checks(one, checks, units, entries) for one in asked)
        begun = any(one.done or one.needed for one in asked)
        yield StepPart(number, step, questions, _state(questions), begun and max(worked, default=0) > number)


def _with_checks(one: Asked, checks: Mapping[str, Check], units: Units, entries: Sequence[EntryBase]) -> Question:
    mine = tuple(checks[id_] for id_ in one.checks if id_ in checks)
    holds = tuple(_holds(one, mine, number) for number in one.done)
    said = {number: _said(one, entries[number - 1], units) for number in one.done}
    return Question(in_units(one, units), at_of(one.id), mine, holds, said)


def _said(one: Asked, entry: EntryBase, units: Units) -> dict[str, Given]:
    """What an entry says in the fields of its question, in a person's units."""
    texts = said_by(one, entry)
    return texts | {
        each.key: with_unit(texts[each.key], each.unit)
        for each in one.every_field
        if each.key in texts and units.of(each.unit) != each.unit
    }


def _holds(one: Asked, checks: tuple[Check, ...], number: int) -> str:
    """Whether what an entry says holds: by the checks that rest on it, else by all that its question answers."""
    on_it = [check for check in checks if number in check.entries]
    found = {check.verdict for check in on_it or (() if one.kind in CONDITIONS else checks)}
    worst = next((each for each in (Verdict.NOT_MET, Verdict.NOT_SHOWN) if each in found), Verdict.PROVEN)
    return worst.value


def _holds_of_lines(view: JobView) -> dict[int, str]:
    """Of the entries that answer a question and do not hold: ``not met`` or ``not shown``, by their number."""
    checks = {check.id: check for check in view.proof.assessment.checks}
    every = [one for asked in view.asked.values() for one in asked]
    told = {
        number: _holds(one, tuple(checks[id_] for id_ in one.checks if id_ in checks), number)
        for one in every
        for number in one.done
    }
    return {number: said for number, said in told.items() if said != Verdict.PROVEN.value}


def _state(questions: tuple[Question, ...]) -> str:
    told = {said for one in questions for said in one.holds}
    if Verdict.NOT_MET.value in told:
        return Verdict.NOT_MET.value
    if any(one.asked.needed and not one.asked.answered for one in questions):
        return "needed"
    if Verdict.NOT_SHOWN.value in told:
        return Verdict.NOT_SHOWN.value
    return "done" if told else "open"


def _part(name: str, template: str, values: Mapping[str, Any]) -> Part:
    html = environment().get_template(template).render(name=name, csrf=CSRF, page=PAGE, **values)
    digest = hashlib.sha256(html.replace(CSRF, "").replace(PAGE, "").encode()).hexdigest()[:10]
    return Part(name, html.replace('data-digest=""', f'data-digest="{digest}"', 1), digest)
