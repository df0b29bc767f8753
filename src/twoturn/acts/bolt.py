"""The act of asking what a torque does to a bolt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from twoturn.errors import DomainError
from twoturn.fastener.joint import Joint
from twoturn.fastener.preload import Bolt, Tightened, friction_band, make_bolt, tighten
from twoturn.fastener.stages import Stage, StageResult, follow_stages
from twoturn.fastener.strength import find_grade
from twoturn.fastener.thread import Thread, parse_thread
from twoturn.fastener.torque_tools import extension_setting
from twoturn.quantity.parse import Typed, parse

LITTLE_USE = 0.4
"""Below this use of the yield point [-] a torque is unusually small for the bolt (common practice)."""

CAUTION = "The vehicle maker's torque, stages and lubrication come first; this is advice. Local law decides."


@dataclass(frozen=True)
class BoltQuestion:
    """What a person typed; numbers with decimal comma or point, a unit of the trade behind them if they like.

    Attributes
    ----------
    thread, grade, torque
        ``M8``, ``8.8``, ``25`` [N·m].
    friction_low, friction_high
        Ends of the friction band [-].
    extension, wrench, extension_angle
        Extension and wrench [mm] and the angle between them [°].
    angle, grip, seat
        Further angle after the torque [°], grip length [mm], outer diameter of the seat [mm].
    """

    thread: str
    grade: str
    torque: str
    friction_low: str | None = None
    friction_high: str | None = None
    extension: str | None = None
    wrench: str | None = None
    extension_angle: str | None = None
    angle: str | None = None
    grip: str | None = None
    seat: str | None = None


@dataclass(frozen=True)
class BoltAdvice:
    """What a torque does to a bolt: advice, never a verdict.

    Attributes
    ----------
    bolt
        The bolt with its friction band.
    tightened
        Preload and utilisation under the torque.
    setting_nm
        What to set on a wrench with its extension; None without one.
    stages
        What each stage leaves, where an angle was asked.
    understood
        The torque as understood.
    notes
        What to know, one sentence each.
    caution
        The sentence that always stands below.
    """

    bolt: Bolt
    tightened: Tightened
    setting_nm: float | None
    stages: tuple[StageResult, ...]
    understood: str
    notes: tuple[str, ...]
    caution: str

    def as_json(self) -> dict[str, Any]:
        """The answer of ``twoturn bolt --json``."""
        done, thread, grade = self.tightened, self.bolt.thread, self.bolt.grade
        return {
            "preload_n": done.preload_n.as_json(),
            "utilisation": done.utilisation.as_json(),
            "torque_nm": done.torque_nm,
            "torque_90_nm": done.torque_90_nm.as_json(),
            "yield_preload_n": done.yield_preload_n.as_json(),
            "setting_nm": self.setting_nm,
            "thread": _thread_json(thread),
            "stress_area_mm2": thread.stress_area_mm2,
            "grade": {"name": grade.name, "tensile_mpa": grade.tensile_mpa, "yield_mpa": grade.yield_mpa},
            "friction": self.bolt.friction.as_json(),
            "stages": [_stage_json(result) for result in self.stages],
            "understood": self.understood,
            "notes": list(self.notes),
            "caution": self.caution,
        }


def advise(question: BoltQuestion) -> BoltAdvice:
    """Preload, utilisation and wrench setting for a torque on a bolt.

    Parameters
    ----------
    question
        What was typed.

    Returns
    -------
    BoltAdvice
        Advice: the vehicle maker's torque wins.

    Raises
    ------
    TwoTurnError
        Something typed that cannot be understood, is not known, or cannot be.
    """
    thread = parse_thread(question.thread)
    grade = find_grade(question.grade, thread.diameter_mm)
    torque = parse(question.torque, "N·m", within=(0.01, 5000))
    friction = friction_band(
        _number(question.friction_low, "-", (0, 10)), _number(question.friction_high, "-", (0, 10))
    )
    bolt = make_bolt(thread, grade, friction, _number(question.seat, "mm", (0.1, 500)))
    done = tighten(bolt, torque.value)
    setting = _setting(question, torque)
    stages = _stages(question, bolt, torque)
    understood = f"{torque.value:.6g} N·m" if torque.assumed else torque.echo
    notes = tuple(_notes(bolt, done, stages, setting))
    return BoltAdvice(bolt, done, setting, stages, understood, notes, CAUTION)


def _number(text: str | None, unit: str, within: tuple[float, float]) -> float | None:
    return None if text is None else parse(text, unit, within).value


def _setting(question: BoltQuestion, torque: Typed) -> float | None:
    if question.extension is None:
        if question.wrench is not None or question.extension_angle is not None:
            raise DomainError("a wrench length without an extension changes nothing", next_step="add --extension-mm")
        return None
    if question.wrench is None:
        raise DomainError(
            f"an extension of {question.extension} without the wrench's length says nothing",
            next_step="add --wrench-mm, from the square to the middle of the hand",
        )
    extension = parse(question.extension, "mm", within=(-3000, 3000)).value
    wrench = parse(question.wrench, "mm", within=(10, 3000)).value
    angle = _number(question.extension_angle, "°", (-360, 360)) or 0.0
    return float(extension_setting(torque.value, wrench, extension, angle))


def _stages(question: BoltQuestion, bolt: Bolt, torque: Typed) -> tuple[StageResult, ...]:
    angle = _number(question.angle, "°", (0.1, 1440))
    grip = _number(question.grip, "mm", (0.1, 500))
    if angle is None:
        if grip is not None:
            raise DomainError("a grip length matters only for a tightening angle", next_step="add --angle-deg")
        return ()
    joint = None if grip is None else Joint(grip)
    return follow_stages(bolt, [Stage("torque", torque.value), Stage("angle", angle)], joint)


def _notes(bolt: Bolt, done: Tightened, stages: tuple[StageResult, ...], setting: float | None) -> list[str]:
    use, mu = done.utilisation, bolt.friction
    notes = [
        f"Friction is the doubt: counted from {mu.low:g} to {mu.high:g}. Oil the thread only if the maker says so."
    ]
    if use.value >= 1:
        notes.append("This torque draws the bolt past its yield point: renew it, and check size, class and unit.")
    elif use.high >= 1:
        notes.append(f"With a friction of {mu.low:g} the bolt reaches its yield point and stretches.")
    elif use.value < LITTLE_USE and not stages:
        notes.append("Little of the bolt is used: usual in aluminium or under a seal, otherwise check size and class.")
    notes += [f"{result.why[0].upper()}{result.why[1:]}." for result in stages[1:]]
    if bolt.thread.left_hand:
        notes.append("Left-hand thread: it tightens counter-clockwise; the preload is the same.")
    if not bolt.seat_known:
        notes.append("No head size is known for this thread: its seat is taken as 1.3 times the diameter.")
    if setting is not None:
        notes.append("The setting holds for the hand in the middle of the grip; it must lie in the wrench's range.")
    return notes


def _thread_json(thread: Thread) -> dict[str, float | str | bool]:
    return {
        "designation": thread.designation,
        "diameter_mm": thread.diameter_mm,
        "pitch_mm": thread.pitch_mm,
        "pitch_diameter_mm": thread.pitch_diameter_mm,
        "minor_diameter_mm": thread.minor_diameter_mm,
        "root_diameter_mm": thread.root_diameter_mm,
        "stress_area_mm2": thread.stress_area_mm2,
        "left_hand": thread.left_hand,
    }


def _stage_json(result: StageResult) -> dict[str, Any]:
    return {
        "stage": result.stage.words,
        "preload_n": None if result.preload_n is None else result.preload_n.as_json(),
        "stretched": result.stretched,
        "why": result.why,
    }
