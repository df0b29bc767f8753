"""Tightening in stages: torque, angle, turning loose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from twoturn.errors import DomainError
from twoturn.fastener.joint import STIFFNESS_BAND, Joint, preload_per_degree
from twoturn.fastener.preload import Band, Bolt, assembly_preload, tighten

SURELY_LOOSE_DEG = 180.0
"""Turning back [°] after which no engine bolt clamps any more (its stretch is less than half a pitch)."""


@dataclass(frozen=True)
class Stage:
    """One stage of tightening.

    Attributes
    ----------
    kind
        "torque" (to a torque), "angle" (further by an angle) or "loosen" (back by an angle).
    amount
        Torque [N·m] or angle [°], above 0.
    """

    kind: Literal["torque", "angle", "loosen"]
    amount: float

    def __post_init__(self) -> None:
        unit = "N·m" if self.kind == "torque" else "°"
        if not 0 < self.amount <= 5000:
            raise DomainError(f"a stage of {self.amount:g} {unit} cannot be right", allowed=f"more than 0 {unit}")

    @property
    def words(self) -> str:
        """As a plan prints it: ``25 N·m``, ``90° further``, ``180° loose``."""
        if self.kind == "torque":
            return f"{self.amount:g} N·m"
        return f"{self.amount:g}° {'further' if self.kind == 'angle' else 'loose'}"


@dataclass(frozen=True)
class StageResult:
    """Where a bolt stands after a stage.

    Attributes
    ----------
    stage
        The stage.
    preload_n
        Clamp load afterwards; None where it cannot be told.
    stretched
        True when the bolt is drawn to its yield point at the best estimate: it is a single-use bolt then.
    why
        One sentence: how the preload was found, or why it cannot be told.
    """

    stage: Stage
    preload_n: Band | None
    stretched: bool
    why: str


def final_torque(stages: Sequence[Stage]) -> float | None:
    """The torque that remains to be checked with a wrench.

    Parameters
    ----------
    stages
        Stages in order.

    Returns
    -------
    float or None
        Torque [N·m] of the last stage; None where the last stage is an angle, or turning loose.
    """
    return stages[-1].amount if stages and stages[-1].kind == "torque" else None


def follow_stages(bolt: Bolt, stages: Sequence[Stage], joint: Joint | None = None) -> tuple[StageResult, ...]:
    """Preload after each stage, as far as it can be told.

    Parameters
    ----------
    bolt
        The bolt with its friction band.
    stages
        Stages in order.
    joint
        What it clamps; without it an angle's effect cannot be told, and is not.

    Returns
    -------
    tuple of StageResult
        One a stage. Preload [N] never passes what the bolt can bear: its yield point at the best estimate and at high
        friction, its tensile strength at the upper end.

    Raises
    ------
    DomainError
        A torque at which the bolt would break.

    References
    ----------
    VDI 2230 part 1:2015, 5.4.3 (torque- and angle-controlled tightening).
    """
    results: list[StageResult] = []
    before: Band | None = Band(0.0, 0.0, 0.0)
    for stage in stages:
        torque = stage.kind == "torque"
        result = _after_torque(bolt, stage, before) if torque else _after_turn(bolt, stage, before, joint)
        results.append(result)
        before = result.preload_n
    return tuple(results)


def _after_torque(bolt: Bolt, stage: Stage, before: Band | None) -> StageResult:
    done = tighten(bolt, stage.amount)
    limits = _limits(bolt)
    if before is None:
        return StageResult(stage, None, False, f"{stage.words} after a stage whose preload is not known: not told")
    if before.value >= done.preload_n.value:
        return StageResult(stage, before, False, f"{stage.words} is less than already holds: nothing turns")
    band = _capped(done.preload_n, limits)
    stretched = done.preload_n.value >= limits.value
    return StageResult(stage, band, stretched, f"from {stage.words} over the friction band")


def _after_turn(bolt: Bolt, stage: Stage, before: Band | None, joint: Joint | None) -> StageResult:
    if stage.kind == "loosen" and stage.amount >= SURELY_LOOSE_DEG:
        return StageResult(stage, Band(0.0, 0.0, 0.0), False, "turned loose: the next torque counts afresh")
    if joint is None and stage.kind == "loosen":
        return StageResult(stage, None, False, "how much is left depends on the grip length, which is not given")
    if joint is None:
        return StageResult(stage, None, False, "what the angle adds depends on the grip length, which is not given")
    if before is None:
        return StageResult(stage, None, False, "the preload before this stage is not known")
    sign = 1 if stage.kind == "angle" else -1
    step = sign * preload_per_degree(bolt, joint) * stage.amount
    ends = sorted(step * (1 + sign_of_error * STIFFNESS_BAND) for sign_of_error in (-1, 1))
    elastic = Band(before.value + step, before.low + ends[0], before.high + ends[1])
    limits = _limits(bolt)
    band = _capped(elastic, limits)
    stretched = elastic.value >= limits.value
    why = f"{stage.words} with a grip of {joint.grip_mm:g} mm"
    return StageResult(stage, band, stretched, why + (": drawn to its yield point, on purpose" if stretched else ""))


def _limits(bolt: Bolt) -> Band:
    """Most the bolt can bear: yield at best estimate and high friction, least tensile strength at low friction."""
    grade, mu = bolt.grade, bolt.friction
    value, low = (float(assembly_preload(bolt.thread, grade.yield_mpa, one, 1.0)) for one in (mu.value, mu.high))
    return Band(value, low, float(assembly_preload(bolt.thread, grade.tensile_mpa, mu.low, 1.0)))


def _capped(band: Band, limits: Band) -> Band:
    pairs = ((band.value, limits.value), (band.low, limits.low), (band.high, limits.high))
    value, low, high = (max(0.0, min(pair)) for pair in pairs)
    return Band(value, low, high)
