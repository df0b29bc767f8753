"""The vehicle, findings, cures, decisions and signatures as sentences."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from twoturn.findings.catalogue import catalogue
from twoturn.job.entries.found import Cured, FindingEntry, Photo
from twoturn.job.entries.record import Decided, LastQuestion, LeftOut, Override, Remark, Signed, Struck
from twoturn.job.entries.vehicle import Odometer, Temperature, Vehicle
from twoturn.job.said.words import headed
from twoturn.words.numbers import list_words, with_unit


def vehicle(entry: Vehicle) -> str:
    """``Vehicle: QX 10 DEMO, petrol, no hybrid, no stop-start``."""
    return headed(
        "vehicle",
        entry.registration,
        entry.model,
        entry.engine and f"engine {entry.engine}",
        entry.fuel,
        _yes_no(entry.hybrid, "hybrid"),
        _yes_no(entry.stop_start, "stop-start"),
        f"first registered {entry.first_registered.isoformat()}" if entry.first_registered else None,
        entry.vin and f"vehicle number {entry.vin}",
        entry.customer and f"customer {entry.customer}",
    )


def _yes_no(said: bool | None, word: str) -> str | None:
    return None if said is None else word if said else f"no {word}"


def odometer(entry: Odometer) -> str:
    """``Odometer: 118 400 km``."""
    return headed("odometer", f"{entry.km:,.0f} km".replace(",", " "))


def temperature(entry: Temperature) -> str:
    """``Engine block: stood overnight``; ``Shop air: 19 °C``."""
    told = entry.temperature_c
    word = "stood overnight" if told == "overnight" else told
    said = word if isinstance(word, str) else with_unit(word, "°C")
    return headed("engine block" if entry.of == "engine" else "shop air", said)


def finding(entry: FindingEntry) -> str:
    """``Found: coolant pump leaks``; ``All clear``, with what is not."""
    if entry.finding == ("all",):
        but = f"but: {_findings(entry.except_)}" if entry.except_ else ""
        said = f"All clear {but}".strip()
    else:
        said = headed("found" if entry.present else "not found", _findings(entry.finding))
    said += f" (belt {entry.belt})" if entry.belt else ""
    return f"{said}. {entry.text}" if entry.text else said


def _findings(ids: Sequence[str]) -> str:
    known = catalogue()
    return "; ".join(known[one].words if one in known else one for one in ids)


def cured(entry: Cured) -> str:
    """``Cured: coolant pump leaks: pump renewed``."""
    return headed("cured", f"{_findings(entry.finding)}: {entry.how}")


def photo(entry: Photo) -> str:
    """``Photo: old belt, from old-belt.jpg``."""
    return headed("photo", entry.shows, f"from {entry.file}" if entry.shows else entry.file)


def override(entry: Override) -> str:
    """``In spite of torque roller nut: towed home``."""
    checks = list_words([check.replace("-", " ") for check in entry.check])
    return headed(f"in spite of {checks}", entry.reason)


def left_out(entry: LeftOut) -> str:
    """``Left out, entry 12: gauge slipped``."""
    which = [str(one) for one in entry.entry]
    return headed(f"left out, {'entry' if len(which) == 1 else 'entries'} {list_words(which)}", entry.reason)


def struck_out(entry: Struck) -> str:
    """``Struck out, entry 3: another car``."""
    return headed(f"struck out, entry {entry.replaces}", entry.reason)


def remark(entry: Remark) -> str:
    """The text alone."""
    return entry.text


def moved_at_end(entry: LastQuestion) -> str:
    """``Nothing moved after the last turns``."""
    if entry.moved:
        return headed("moved after the last turns", entry.what)
    return "Nothing moved after the last turns"


def signed(entry: Signed) -> str:
    """``Signed as technician``."""
    return headed(f"signed as {entry.role}", entry.text)


def decided(entry: Decided) -> str:
    """The text alone."""
    return entry.text


SENTENCES: dict[str, Callable[[Any], str]] = {
    "vehicle": vehicle,
    "odometer": odometer,
    "temperature": temperature,
    "finding": finding,
    "cured": cured,
    "photo": photo,
    "override": override,
    "left out": left_out,
    "struck out": struck_out,
    "remark": remark,
    "moved at end": moved_at_end,
    "signed": signed,
    "decided": decided,
}
