"""What is laid out beside the parts: torque tools with their range, special tools, pins, fluids, time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from twoturn.drive.model.work import FastenerTable
from twoturn.drive.parts import Drive
from twoturn.errors import DomainError
from twoturn.fastener.torque_tools import tools_needed
from twoturn.plan.facts import Facts
from twoturn.plan.model import Minutes, PinLine, TorqueToolLine
from twoturn.plan.wording import pin_id
from twoturn.words.numbers import list_words, plain

JOBS_NEEDED = 3


def remark_words(extra: dict[str, Any]) -> str:
    """Keys of the drive file that twoturn does not know, in words."""
    return "; ".join(f"{key.replace('_', ' ')}: {value}" for key, value in extra.items())


def torque_tools(drive: Drive) -> tuple[tuple[TorqueToolLine, ...], list[str]]:
    """The fewest usual torque tools for the drive's fasteners, and a sentence for each torque no usual tool reaches."""
    wanted = {
        stage.torque_nm: _at_torque(drive, stage.torque_nm)
        for fastener in drive.file.fastener
        for stage in fastener.stages
        if stage.torque_nm is not None
    }
    notes, reachable = [], []
    for torque_nm, fasteners in wanted.items():
        try:
            tools_needed([torque_nm])
            reachable.append(torque_nm)
        except DomainError as error:
            notes.append(f"{list_words(fasteners)}: {error.sentence}")
    lines = [
        TorqueToolLine(
            one.low_nm,
            one.high_nm,
            one.torques_nm,
            tuple(dict.fromkeys(name for torque_nm in one.torques_nm for name in wanted[torque_nm])),
        )
        for one in tools_needed(reachable)
    ]
    return tuple(lines), notes


def _at_torque(drive: Drive, torque_nm: float) -> list[str]:
    def uses(fastener: FastenerTable) -> bool:
        return any(stage.torque_nm == torque_nm for stage in fastener.stages)

    return [fastener.id for fastener in drive.file.fastener if uses(fastener)]


def special_tools(facts: Facts) -> tuple[str, ...]:
    """Special tools: those of the drive file with their use, then what pins and angle stages ask for."""
    file = facts.drive.file
    found = []
    for tool in file.tool:
        extra = dict(tool.remarks)
        use = extra.pop("use", None)
        rest = remark_words(extra)
        said = [str(part) for part in (use, rest) if part]
        found.append((tool.name or "tool without a name") + (f": {'; '.join(said)}" if said else ""))
    if any(stage.angle_deg or stage.loosen_deg for item in file.fastener for stage in item.stages):
        found.append("angle gauge")
    return tuple(dict.fromkeys(found))


def pins(drive: Drive) -> tuple[PinLine, ...]:
    """Pins, bars and rods to count in and out."""
    return tuple(PinLine(pin_id(pin), pin.shaft, pin.size_mm, pin.min_depth_mm, pin.purpose) for pin in drive.file.pin)


def fluids(drive: Drive) -> tuple[str, ...]:
    """Fluids to have ready, in words; what twoturn does not know of them is kept as a remark."""
    table = drive.file.fluids
    said = []
    if table.coolant_l:
        kind = f", {table.coolant_type}" if table.coolant_type else ""
        said.append(f"coolant: {plain(table.coolant_l)} l{kind}")
    if table.bleed_order:
        said.append(f"bleed in this order: {', then '.join(table.bleed_order)}")
    said += [f"{key.replace('_', ' ')}: {value}" for key, value in table.remarks.items()]
    return tuple(said)


def minutes(shop_times_min: Sequence[float] | None) -> Minutes | None:
    """The shop's time for jobs of this kind; None until it has three.

    Parameters
    ----------
    shop_times_min
        Working times of earlier jobs of this kind in this shop [min].

    Returns
    -------
    Minutes or None
        From the tenth to the ninetieth percentile (linear between ranks), in whole minutes.
    """
    import numpy as np

    times = [] if shop_times_min is None else list(shop_times_min)
    if len(times) < JOBS_NEEDED:
        return None
    low, high = np.percentile(np.asarray(times, dtype=float), [10, 90])
    return Minutes(float(np.floor(low)), float(np.ceil(high)), len(times))
