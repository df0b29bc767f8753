"""The act of making a list drive by taps: answers in, the text of a drive file out, ready to be changed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from twoturn.acts.drive_faults import Looked, look_at
from twoturn.acts.list_answers import Bolt, ListAnswers, Wheel, answers_of
from twoturn.acts.list_offered import NEEDS_TEETH, NUT, PHASED, SETTINGS

HEAD = "# List drive, made by taps. The vehicle maker's data come first."
DEG_PER_HOUR = 30


@dataclass(frozen=True)
class ListDrive:
    """A list drive as far as it was answered.

    Attributes
    ----------
    text
        The text of the drive file.
    fields
        A sentence for each answer that is not understood, by field.
    looked
        What the text says, with every fault.
    hints
        What to look at again.
    missing
        What has to be answered still: the field, and what it is in words.
    """

    text: str
    fields: dict[str, str]
    looked: Looked
    hints: tuple[str, ...] = ()
    missing: tuple[tuple[str, str], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Keys ``text``, ``fields``, ``hints``, ``missing`` (``field``, ``said``), and those of ``Looked.as_json``."""
        missing = [{"field": field, "said": said} for field, said in self.missing]
        own = {"text": self.text, "fields": self.fields, "hints": list(self.hints), "missing": missing}
        looked = self.looked.as_json()
        return {**own, **looked, "good": looked["good"] and not missing}


def list_drive(data: Mapping[str, Any]) -> ListDrive:
    """A list drive from the answers of a page; never raises for what they hold."""
    answers, fields = answers_of(data)
    text = list_text(answers)
    return ListDrive(text, fields, look_at(text), tuple(hints_of(answers)), tuple(missing_of(answers, fields)))


def list_text(answers: ListAnswers) -> str:
    """The drive file of some answers: one table after the other, as a person would write them."""
    blocks = [
        HEAD,
        _table("drive", name=answers.name, crank_turns=answers.crank_turns, source=answers.source),
        _table("[belt]", teeth=answers.belt_teeth),
        *(_shaft(wheel) for wheel in answers.wheels if any(_held_by(bolt, wheel) for bolt in answers.bolts)),
        *(_pulley(wheel) for wheel in answers.wheels),
        _tensioner(answers),
        *(_fastener(bolt, answers) for bolt in answers.bolts if bolt.name),
        *(_pin(wheel) for wheel in answers.wheels if wheel.pin),
        _timing(answers),
        _engine(answers),
        _table("interval", km=answers.km, months=answers.months),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _table(table: str, /, **keys: object) -> str:
    """A table with the keys that are answered; nothing without any."""
    lines = [f"{key} = {_value(value)}" for key, value in keys.items() if value not in (None, "")]
    return "\n".join([f"[{table}]", *lines]) if lines else ""


def _value(value: object) -> str:
    """A plain value as TOML writes it."""
    import tomli_w

    if isinstance(value, float) and value == int(value):
        value = int(value)
    return tomli_w.dumps({"x": value}).removeprefix("x = ").rstrip("\n")


def _inline(**keys: object) -> str:
    return "{ " + ", ".join(f"{key} = {_value(value)}" for key, value in keys.items()) + " }"


def _held_by(bolt: Bolt, wheel: Wheel) -> bool:
    """Whether a bolt alone holds a wheel in its place: it is named after it, and no key does."""
    return bolt.holds and wheel.role in PHASED and bolt.name == f"{wheel.name} bolt"


def _shaft(wheel: Wheel) -> str:
    return _table("[shaft]", id=wheel.name, role=wheel.role, hub="friction")


def _pulley(wheel: Wheel) -> str:
    mark = None if wheel.mark_hour is None else wheel.mark_hour * DEG_PER_HOUR
    return _table("[pulley]", id=wheel.name, role=wheel.role, teeth=wheel.teeth, mark_deg=mark)


def _tensioner(answers: ListAnswers) -> str:
    rollers = [wheel.name for wheel in answers.wheels if wheel.role == "tensioner"]
    if not answers.kind or not rollers:
        return ""
    tightens = answers.tightens if answers.kind != "slide" else None
    head = _table(
        "[tensioner]",
        pulley=rollers[0],
        kind=answers.kind,
        tightens=tightens,
        settle_min=answers.wait_min or None,
        locked_after_setting=True if answers.kind in ("sprung arm", "slide") and answers.setting == "locked" else None,
    )
    acts = "".join(f"  {act},\n" for act in _acts(answers))
    return f"{head}\nsetting = [\n{acts}]"


def _acts(answers: ListAnswers) -> Iterator[str]:
    """The setting sequence; a nut that is not on the list is left out."""
    nut = next((bolt.name for bolt in answers.bolts if bolt.name == NUT), None)
    way = next(way for way in SETTINGS[answers.kind] if way.id == answers.setting)
    last = max((at for at, act in enumerate(way.acts) if act == "turns"), default=-1)
    for at, act in enumerate(way.acts):
        verb, _, rest = act.partition(" ")
        if verb == "nut" and nut is not None:
            yield _inline(fastener=nut, **({"light": True} if rest == "light" else {"loosen": True} if rest else {}))
        elif verb == "turns":
            yield _inline(turns=answers.after_turns if at == last else 2)
        elif verb in ("to", "pin", "read"):
            yield _inline(**{verb: rest})
        elif verb == "hold":
            yield _inline(hold=True)
        elif verb == "let":
            yield _inline(text="Let the spring push the roller against the belt")


def _fastener(bolt: Bolt, answers: ListAnswers) -> str:
    stages = []
    if bolt.torque_nm is not None:
        stages.append(_inline(torque_nm=bolt.torque_nm))
    if bolt.angle_deg is not None:
        stages.append(_inline(angle_deg=bolt.angle_deg))
    head = _table(
        "[fastener]",
        id=bolt.name,
        thread=bolt.thread,
        locks=_locks(bolt, answers),
        single_use=True if bolt.single_use else None,
        count=bolt.count if bolt.count > 1 else None,
    )
    return f"{head}\nstages = [{', '.join(stages)}]" if stages else head


def _locks(bolt: Bolt, answers: ListAnswers) -> str | None:
    """Whose setting a fastener holds: the tensioner's nut, or the bolt of a wheel without a key."""
    if bolt.name == NUT and answers.kind == "hydraulic":
        return None  # it holds the ram; the ram itself keeps the tension
    if bolt.name == NUT:
        return next((wheel.name for wheel in answers.wheels if wheel.role == "tensioner"), None)
    return next((wheel.name for wheel in answers.wheels if _held_by(bolt, wheel)), None)


def _pin(wheel: Wheel) -> str:
    return _table("[pin]", id=f"{wheel.name} pin", shaft=wheel.name, size_mm=wheel.pin_mm, purpose=wheel.pin)


def _timing(answers: ListAnswers) -> str:
    return _table("timing", after_turns=answers.after_turns) if answers.after_turns != 2 else ""


def _engine(answers: ListAnswers) -> str:
    known = answers.interference if answers.interference in ("yes", "no") else None
    source = answers.source if known else None
    return _table("engine", interference=known, source=source, fuel=answers.fuel)


def missing_of(answers: ListAnswers, fields: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """What has to be answered before the drive can be kept: the field as the page names it, and a sentence."""
    if not answers.name:
        yield "name", "The name of the engine or drive."
    if not answers.source:
        yield "source", "Where the numbers come from."
    if answers.belt_teeth is None:
        yield "belt_teeth", "How many teeth the belt has."
    if len(answers.wheels) < 2:
        yield "The next wheel", "The other wheels, in the order in which the belt runs over them."
    for at, wheel in enumerate(answers.wheels):
        if wheel.role in NEEDS_TEETH and wheel.teeth is None and f"wheels.{at}.teeth" not in fields:
            yield f"wheels.{at}.teeth", f"How many teeth the wheel of the {wheel.name} has."
        unsaid = wheel.role in PHASED and not wheel.mark_said and not wheel.pin
        if unsaid and f"wheels.{at}.mark_hour" not in fields:
            yield f"wheels.{at}.mark_hour", f"Where the mark of the {wheel.name} is, from the sheet."
    if answers.wheels and not any(wheel.role == "camshaft" for wheel in answers.wheels) and len(answers.wheels) > 1:
        yield "The next wheel", "A camshaft."
    if not answers.kind and any(wheel.role == "tensioner" for wheel in answers.wheels):
        yield "What kind of tensioner?", "What kind of tensioner it is."
    yield from ((field, sentence) for field, sentence in fields.items())


def hints_of(answers: ListAnswers) -> list[str]:
    """What a careful person would look at again; none of it is refused.

    Notes
    -----
    A four-stroke engine's camshafts and its injection pump turn once in two crank turns (common practice, no source).
    """
    crank = answers.wheels[0].teeth if answers.wheels else None
    found = []
    for wheel in answers.wheels:
        half = wheel.role in ("camshaft", "injection pump")
        if half and crank and wheel.teeth and wheel.teeth != 2 * crank:
            found.append(
                f"{wheel.name}: {wheel.teeth} teeth, where twice the crankshaft's is {2 * crank}: count once more."
            )
        if wheel.role in PHASED and wheel.mark_said and wheel.mark_hour is None and not wheel.pin:
            found.append(f"{wheel.name}: neither mark nor pin, so on paper nothing can prove its timing.")
    if answers.kind and not any(wheel.role == "tensioner" for wheel in answers.wheels):
        found.append("The belt has no tensioner among its wheels yet.")
    found += [
        f"{bolt.name}: no torque, so the plan asks for the vehicle maker's."
        for bolt in answers.bolts
        if bolt.torque_nm is None
    ]
    return found
