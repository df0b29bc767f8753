"""Several tensioners on one belt: every balance holds at once, with one tension."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, LockedEccentric
from twoturn.drive.parts import Drive
from twoturn.drive.path import BoolArray, FloatArray
from twoturn.drive.radii import block_growth
from twoturn.mechanics.rest.balances import Standing
from twoturn.mechanics.rest.known import BeltAtRest, Resting, on_the_notch, shape_of
from twoturn.mechanics.rest.loop import Loop, balance, look
from twoturn.mechanics.rest.stand import Setting, Stand

GRID = 61
NEWTON_STEPS = 30
STEP = 1e-5
NO_REST = (
    "The belt has several tensioners and no position was found in which all of them rest between their stops; "
    "only the path with every pointer on the notch is given."
)


@dataclass(frozen=True)
class Unit:
    """One of several tensioners.

    Attributes
    ----------
    stand, loop
        The tensioner and the belt's pulleys at the temperature.
    solves
        What is solved for it: "pointer", "adjuster" (pointer on the notch), "target" (pointer of a locked roller), or
        "" where it is held.
    pointer, adjuster_deg
        Where it stands, as far as that is not solved [° or mm, °].
    free_mm
        L₀ of the belt at the temperature [mm].
    """

    stand: Stand
    loop: Loop
    solves: str
    pointer: float
    adjuster_deg: float
    free_mm: float

    def at(self, value: FloatArray | None) -> tuple[FloatArray | float, FloatArray | float]:
        """Pointer and adjuster where the unknown has a value."""
        if value is None:
            return self.pointer, self.adjuster_deg
        return (self.pointer, value) if self.solves == "adjuster" else (value, self.adjuster_deg)

    def grid(self) -> FloatArray:
        """Values for a first look."""
        if self.solves == "adjuster":
            low, high = self.stand.limits.adjuster_range or (-180.0, 180.0)
        else:
            low, high = self.stand.limits.span
        return np.linspace(low, high, GRID)


def joint_at_rest(drive: Drive, empty: BeltAtRest) -> BeltAtRest:
    """Rest state of a belt with several tensioners.

    Parameters
    ----------
    drive
        The drive.
    empty
        The belt and the temperature, nothing known yet.
    """
    why = _why_not(empty)
    if why:
        return on_the_notch(drive, empty, (why,))
    stands = [Stand(drive, empty.belt, table) for table in empty.belt.tensioners]
    units = solved([_first(stand) for stand in stands])
    if units is not None and empty.warmer_k != 0:
        units = solved([_later(unit, empty.warmer_k) for unit in units])
    if units is None:
        return on_the_notch(drive, empty, (NO_REST,))
    return _answer(drive, empty, units)


def _why_not(empty: BeltAtRest) -> str:
    tables = empty.belt.tensioners
    free = [table for table in tables if getattr(table, "set_deg", None) is None]
    if len(free) > 2:
        return "The belt has more than two free tensioners; their rest position is not computed."
    if empty.belt.table.closure == "at notch":
        return 'closure "at notch" is for a belt with one tensioner; here several would have to be on their notch.'
    for table in tables:
        if isinstance(table, LockedEccentric) and table.set_deg is None and table.target_n is None:
            return f'The locked eccentric "{table.pulley}" has neither set_deg nor target_n.'
        given = isinstance(table, DoubleEccentric) and table.adjuster_deg is not None
        if given and getattr(table, "spring_reacts_on", "engine") == "adjuster":
            return "A spring that reacts on its adjuster cannot be computed beside a second tensioner."
        if table.locked_after_setting and not isinstance(table, LockedEccentric):
            return "A tensioner that is locked after setting cannot be computed beside a second one."
    return ""


def _first(stand: Stand) -> Unit:
    """A tensioner as it is set at the reference temperature."""
    table, free = stand.table, float(stand.free_mm())
    if isinstance(table, LockedEccentric):
        solves = "target" if table.set_deg is None else ""
        return Unit(stand, stand.loop(), solves, table.set_deg or 0.0, 0.0, free)
    if isinstance(table, DoubleEccentric):
        if table.adjuster_deg is None:
            return Unit(stand, stand.loop(), "adjuster", 0.0, 0.0, free)
        return Unit(stand, stand.loop(), "pointer", 0.0, stand.limits.held_in_range(table.adjuster_deg), free)
    return Unit(stand, stand.loop(), "pointer", 0.0, 0.0, free)


def _later(unit: Unit, warmer_k: float) -> Unit:
    """The same tensioner at another temperature, its settings held."""
    solves = "" if isinstance(unit.stand.table, LockedEccentric) else "pointer"
    reacts = getattr(unit.stand.table, "spring_reacts_on", "engine") == "adjuster"
    zero = unit.adjuster_deg if reacts and isinstance(unit.stand.table, DoubleEccentric) else None
    stand = unit.stand.with_setting(Setting(unit.adjuster_deg, zero))
    free = float(stand.free_mm(warmer_k))
    return Unit(stand, stand.loop(warmer_k), solves, unit.pointer, unit.adjuster_deg, free)


@dataclass(frozen=True)
class _Joint:
    """What all tensioners show at some values of the unknowns; (cases, units)."""

    residual: FloatArray
    good: BoolArray
    tension_n: FloatArray


def _evaluate(units: list[Unit], values: FloatArray, free_mm: float) -> _Joint:
    """All balances at unknowns (cases, unknowns)."""
    columns = iter(range(values.shape[1]))
    at = [unit.at(values[:, next(columns)] if unit.solves else None) for unit in units]
    poses = [unit.loop.kind.pose(*where) for unit, where in zip(units, at, strict=True)]
    centres = np.array(np.broadcast_to(units[0].loop.centres, (values.shape[0], units[0].loop.centres.size)))
    for unit, pose in zip(units, poses, strict=True):
        centres[:, unit.loop.at] = pose.centre
    residual, good = [], []
    tension = np.zeros(values.shape[0])
    for unit, where in zip(units, at, strict=True):
        seen = look(replace(unit.loop, centres=centres), *where)
        found = balance(seen, unit.stand.cord, free_mm, unit.loop.kind.per_unit)
        tension = found.tension_n
        if unit.solves == "target":
            residual.append(getattr(unit.stand.table, "target_n", 0.0) - tension)
            good.append(seen.leads)
        elif unit.solves:
            scale = float(np.abs(unit.loop.kind.pose(0.0, unit.adjuster_deg).effort))
            residual.append(np.where(seen.closed, found.lead / scale, np.nan))
            good.append(seen.leads & (found.slope < 0) & (tension > 0))
    return _Joint(np.stack(residual, axis=1), np.stack(good, axis=1), tension)


def _jacobian(units: list[Unit], values: FloatArray, free_mm: float) -> FloatArray:
    """Central differences of the residuals at unknowns (cases, k); (cases, k, k)."""
    count = values.shape[1]
    columns = []
    for index in range(count):
        push = np.eye(count)[index] * STEP
        ahead = _evaluate(units, values + push, free_mm).residual
        columns.append((ahead - _evaluate(units, values - push, free_mm).residual) / (2 * STEP))
    return np.stack(columns, axis=2)


def solved(units: list[Unit]) -> list[Unit] | None:
    """The same tensioners where all of them rest; None where no such position was found."""
    unknown = [unit for unit in units if unit.solves]
    free = float(units[0].free_mm)
    if not unknown:
        return units
    grids = np.meshgrid(*(unit.grid() for unit in unknown), indexing="ij")
    values = np.stack([grid.ravel() for grid in grids], axis=1)
    start = values[_promising(_evaluate(units, values, free).residual.reshape(*grids[0].shape, -1))]
    found = _newton(units, start, free)
    found = _kept(units, unknown, found, free)
    if not found.size:
        return None
    best = iter(found[np.argmin(np.sum(found**2, axis=1))])
    answer = []
    for unit in units:
        if not unit.solves:
            answer.append(unit)
            continue
        pointer, adjuster = unit.at(np.array(next(best)))
        answer.append(replace(unit, pointer=float(pointer), adjuster_deg=float(adjuster)))
    return answer


def _promising(residual: FloatArray) -> BoolArray:
    """Grid points at a corner of a cell in which every residual may vanish; flat over the grid."""
    good = np.ones(residual.shape[:-1], dtype=bool)
    with np.errstate(invalid="ignore"):
        for index in range(residual.shape[-1]):
            value = residual[..., index]
            low, high = value.copy(), value.copy()
            for axis in range(value.ndim):
                low = np.fmin(low, np.roll(low, -1, axis=axis))
                high = np.fmax(high, np.roll(high, -1, axis=axis))
            good &= (low <= 0) & (high >= 0)
    return good.ravel()


def _newton(units: list[Unit], values: FloatArray, free_mm: float) -> FloatArray:
    """Unknowns improved until every balance holds; those that run away are dropped."""
    moved = np.full(values.shape[0], np.inf)
    for _ in range(NEWTON_STEPS):
        if not values.size:
            return values
        residual = _evaluate(units, values, free_mm).residual
        jacobian = _jacobian(units, values, free_mm)
        fine = np.asarray(np.isfinite(residual).all(axis=1) & np.isfinite(jacobian).all(axis=(1, 2)))
        fine &= np.abs(np.linalg.det(np.where(fine[:, None, None], jacobian, 0.0))) > 1e-14
        values, residual, jacobian = values[fine], residual[fine], jacobian[fine]
        step = np.clip(np.linalg.solve(jacobian, residual[..., None])[..., 0], -10.0, 10.0)
        values = values - step
        moved = np.abs(step).max(axis=1) if step.size else np.zeros(0)
        if np.all(moved < 1e-11):
            break
    return values[moved < 1e-8]


def _kept(units: list[Unit], unknown: list[Unit], values: FloatArray, free_mm: float) -> FloatArray:
    """Those of the solutions that are accepted, inside every stop and range, and stable together."""
    if not values.size:
        return values
    keep = _evaluate(units, values, free_mm).good.all(axis=1)
    for index, unit in enumerate(unknown):
        ends = unit.grid()
        keep &= (values[:, index] >= ends[0] - 1e-9) & (values[:, index] <= ends[-1] + 1e-9)
    if all(unit.solves == "pointer" for unit in unknown) and len(unknown) == 2:
        keep &= np.linalg.det(_jacobian(units, values, free_mm)) > 0
    return values[keep]


def _answer(drive: Drive, empty: BeltAtRest, units: list[Unit]) -> BeltAtRest:
    growth = block_growth(drive, empty.warmer_k)
    places = {
        unit.stand.table.pulley: complex(unit.stand.kind(growth).pose(unit.pointer, unit.adjuster_deg).centre)
        for unit in units
    }
    shape = shape_of(drive, empty.belt, empty.warmer_k, places)
    tension = float(units[0].stand.cord.tension_n(shape.path.length_mm, empty.free_mm or 1.0))
    resting = tuple(
        Resting(
            replace(
                unit.stand,
                setting=replace(
                    unit.stand.setting,
                    adjuster_deg=unit.adjuster_deg,
                    pointer=unit.pointer if isinstance(unit.stand.table, LockedEccentric) else None,
                ),
            ),
            Standing(unit.pointer, unit.adjuster_deg, tension),
        )
        for unit in units
    )
    note = "The belt has several tensioners: their rest position is solved together, without windows and slopes."
    return replace(empty, shape=shape, tension_n=tension, tensioners=resting, why=(note,))
