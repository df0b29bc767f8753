"""What a drive file says, in short lines for the person at the engine."""

from __future__ import annotations

from typing import Any

from twoturn.words.numbers import list_words, plain, pointer_words, range_words, turns_words, with_unit
from twoturn.words.terms import shown

LABEL = 22


def drive_lines(answer: dict[str, Any]) -> list[str]:
    """All lines for an answer of ``twoturn drive``."""
    lines = [answer["name"], f"Numbers from: {answer['source']}", ""]
    turns = answer["marks_return_turns"]
    at = f"At {plain(answer['temperature_c'])} °C"
    back = "" if turns is None else f" The marks are back after {turns_words(turns)} of the crankshaft."
    lines.append(f"{at}.{back}")
    lines += [f"  {text}" for shaft in answer["shafts"] for text in _shaft(shaft)]
    for belt in answer["belts"]:
        lines += ["", *_belt(belt)]
    return [*lines, "", *answer["why"], f"Caution: {answer['caution']}"]


def _row(label: str, text: str) -> str:
    return f"  {label:<{LABEL}}{text}"


def _shaft(shaft: dict[str, Any]) -> list[str]:
    if shaft["ratio"] is None or shaft["deg_per_tooth"] is None or not shaft["phased"]:
        return []
    return [f"{shaft['id']}: one belt tooth is {with_unit(shaft['deg_per_tooth'], '°', 2)} of crankshaft."]


def _belt(belt: dict[str, Any]) -> list[str]:
    size = [f"{belt['teeth']} teeth"]
    if belt["pitch_mm"] is not None:
        size.append(
            f"pitch {with_unit(belt['pitch_mm'], 'mm', 3)}, {with_unit(belt['length_mm'], 'mm', 2)} without load"
        )
    lines = [f"Belt {belt['id']}: {', '.join(size)}."]
    if belt["thread_order"]:
        lines.append(_row("Put it on in order", ", ".join(belt["thread_order"])))
    lines += _lines_meet(belt)
    lines += [_count(row) for row in belt["tooth_counts"]]
    lines += _path(belt)
    for tensioner in belt.get("tensioners", [belt["tensioner"]]):
        if tensioner is not None:
            lines += _tensioner(tensioner)
    lines += _fits(belt)
    if belt["why"]:
        lines.append("  To know:")
    return lines + [f"    {sentence}" for sentence in belt["why"]]


def _lines_meet(belt: dict[str, Any]) -> list[str]:
    turns = belt["realign_crank_turns"]
    if turns is None:
        return []
    text = f"painted lines and marks meet only after {turns_words(turns)}: do not wait for them after two"
    return [_row("Painted lines", text if turns > 2 else f"meet the marks after {turns_words(turns)}")]


def _count(row: dict[str, Any]) -> str:
    whole = "near a whole number" if row["near_integer"] else "not near a whole number: check the drive file"
    if row["closes"]:
        whole = "closes the loop, no evidence of its own"
    return _row("Teeth between marks", f"{row['from']} to {row['to']}: {plain(row['teeth'], 2)} ({whole})")


def _path(belt: dict[str, Any]) -> list[str]:
    if belt["path_length_mm"] is None:
        return []
    lines = [_row("Belt path", with_unit(belt["path_length_mm"], "mm", 2))]
    if belt["closure"] is not None:
        offset = with_unit(belt["closure"]["offset_mm"], "mm", 2)
        u = with_unit(belt["closure"]["u_mm"], "mm", 2)
        lines.append(_row("Closed on the notch", f"with {offset} of length offset (standard uncertainty {u})"))
    for pulley in belt["pulleys"]:
        mesh = "" if pulley["teeth_in_mesh"] is None else f", {plain(pulley['teeth_in_mesh'])} teeth in mesh"
        lines.append(_row("Wrap", f"{pulley['id']}: {with_unit(pulley['wrap_deg'], '°')}{mesh}"))
    spans = (f"{span['from']} to {span['to']}: {with_unit(span['length_mm'], 'mm')}" for span in belt["spans"])
    return lines + [_row("Free span", span) for span in spans]


def _tensioner(row: dict[str, Any]) -> list[str]:
    lines = [_row("Tensioner", f"{row['pulley']}, {shown(row['kind'])}")]
    if row["tension_n"] is None:
        return lines
    lines.append(_row("Tension at rest", f"{with_unit(row['tension_n'], 'N', 0)}{_friction(row)}"))
    pointer, unit = (row["pointer_mm"], "mm") if row.get("pointer_mm") is not None else (row["pointer_deg"], "°")
    place = pointer_words(pointer, unit)
    if row["on_stop"] is not None:
        place += f", on its {row['on_stop']} stop"
    if row.get("protrusion_mm") is not None:
        place += f"; the ram stands out {with_unit(row['protrusion_mm'], 'mm')}"
    lines.append(_row("Pointer", place))
    if row["adjuster_deg"] is not None:
        lines.append(_row("Setting eccentric", f"at {with_unit(row['adjuster_deg'], '°')} on the clock"))
    return lines + _window(row, unit) + _slopes(row, unit)


def _friction(row: dict[str, Any]) -> str:
    if row["low_n"] is None or row["low_n"] == row["high_n"]:
        return ""
    return f"; friction leaves {range_words(row['low_n'], row['high_n'], 'N', 0)}"


def _window(row: dict[str, Any], unit: str) -> list[str]:
    if row["window"] is None:
        return []
    reached = list_words([pointer_words(end, unit) for end in row["window"]["reached"]])
    band = range_words(row["window"]["low_n"], row["window"]["high_n"], "N", 0)
    return [_row("Over the window", f"{band}, between {reached}")]


def _slopes(row: dict[str, Any], unit: str) -> list[str]:
    if row["n_per_k"] is None:
        return []
    texts = [f"{with_unit(row['n_per_k'], 'N', 2)} a kelvin warmer"]
    if row["deg_per_mm_belt"]:
        texts.append(f"pointer {with_unit(row['deg_per_mm_belt'], unit)} a millimetre of longer belt")
    if row["n_per_deg"] is not None:
        texts.append(f"{with_unit(row['n_per_deg'], 'N', 2)} a {'millimetre' if unit == 'mm' else 'degree'} of pointer")
    return [_row("Changes by", ", ".join(texts))]


def _fits(belt: dict[str, Any]) -> list[str]:
    lines = []
    for fit in belt["fits"]:
        chance = "" if fit["probability"] is None else f" (probability {plain(fit['probability'], 2)})"
        if fit["teeth"] == belt["teeth"]:
            lines.append(_row("Can be set", f"with its {fit['teeth']} teeth{chance}"))
        else:
            also = f"the coordinates alone would allow {fit['teeth']} teeth{chance}: the printed count decides"
            lines.append(_row("Not told apart", also))
    return lines
