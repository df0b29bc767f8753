"""What a drive file says, in short lines for the person at the engine."""

from __future__ import annotations

from typing import Any

from twoturn.mechanics.setting.closing import DOUBT
from twoturn.words.numbers import list_words, plain, pointer_words, range_words, turns_words, with_unit
from twoturn.words.terms import shown

LABEL = 22
SELDOM = 0.01


def drive_lines(
    answer: dict[str, Any], unset: frozenset[str] = frozenset(), unmarked: frozenset[str] = frozenset()
) -> list[str]:
    """All lines for an answer of ``twoturn drive``; a doubt about the whole file comes first.

    Parameters
    ----------
    answer
        What :func:`twoturn.acts.drive.answer_of` says.
    unset
        Pulleys of fixed rollers whose file names no place: they have no pointer to speak of.
    unmarked
        Belts without painted lines and without a timing mark.
    """
    lines = [answer["name"], f"Numbers from: {answer['source']}", ""]
    doubts = [text for belt in answer["belts"] for text in belt["why"] if text.startswith(DOUBT)]
    lines += [*doubts, ""] if doubts else []
    turns = answer["marks_return_turns"]
    at = f"At {plain(answer['temperature_c'])} °C"
    back = "" if turns is None else f" The marks are back after {turns_words(turns)} of the crankshaft."
    lines.append(f"{at}.{back}")
    lines += [f"  {text}" for shaft in answer["shafts"] for text in _shaft(shaft)]
    for belt in answer["belts"]:
        lines += ["", *_belt(belt, unset, belt["id"] in unmarked)]
    lines += _notes(answer["notes"], _has_window(answer["belts"]))
    lines += _distances(answer["distances"])
    return [*lines, "", *answer["why"], f"Caution: {answer['caution']}"]


def _row(label: str, text: str) -> str:
    return f"  {label:<{LABEL}}{text}"


def _has_window(belts: list[dict[str, Any]]) -> bool:
    """Whether any tensioner has a pointer window."""
    rows = [row for belt in belts for row in belt.get("tensioners", [belt["tensioner"]]) if row is not None]
    return any(row.get("window") is not None for row in rows)


def _notes(rows: list[dict[str, Any]], window: bool) -> list[str]:
    """The note to expect of every span, the one worth plucking first."""
    known = [row for row in rows if row["low_hz"] is not None]
    if not known:
        return []
    place = "anywhere in its window" if window else "as this file sets it"
    lines = ["", f"Note to expect when a span is plucked, computed with the tensioner {place} (not what is required):"]
    for row in known:
        cold = row["cold"]
        also = "" if cold["low_hz"] == row["low_hz"] else f"; cold {_notes_range(cold)}"
        pick = "" if row["worth"] else "not worth plucking: "
        lines.append(f"  {row['span'].replace(':', ' to ')}: {_notes_range(row)}{also} ({pick}{row['why']})")
    return lines


def _notes_range(row: dict[str, Any]) -> str:
    at_rest = with_unit(row["frequency_hz"]["value"], "Hz", 0)
    return f"{range_words(row['low_hz'], row['high_hz'], 'Hz', 0)}, {at_rest} at rest"


def _distances(rows: list[dict[str, Any]]) -> list[str]:
    """How far every measured distance is from the one fitted."""
    if not rows:
        return []
    off = [f"  {row['between'].replace(':', ' to ')}: {with_unit(row['residual_mm'], 'mm', 2)}" for row in rows]
    return ["", "Distances, measured less fitted:", *off]


def _shaft(shaft: dict[str, Any]) -> list[str]:
    if shaft["ratio"] is None or shaft["deg_per_tooth"] is None or not shaft["phased"]:
        return []
    return [f"{shaft['id']}: one belt tooth is {with_unit(shaft['deg_per_tooth'], '°', 2)} of crankshaft."]


def _belt(belt: dict[str, Any], unset: frozenset[str], unmarked: bool) -> list[str]:
    size = [f"{belt['teeth']} teeth"]
    if belt["pitch_mm"] is not None:
        closed = "" if belt["closure"] is None else " (closed on the notch)"
        length = with_unit(belt["length_mm"], "mm", 2)
        size.append(f"pitch {with_unit(belt['pitch_mm'], 'mm', 3)}, {length} without load{closed}")
    lines = [f"Belt {belt['id']}: {', '.join(size)}."]
    if belt["thread_order"]:
        lines.append(_row("Put it on in order", ", ".join(belt["thread_order"])))
    lines += [] if unmarked else _lines_meet(belt)
    lines += [_count(row) for row in belt["tooth_counts"] if row["from"] != row["to"]]
    lines += _path(belt)
    for tensioner in belt.get("tensioners", [belt["tensioner"]]):
        if tensioner is not None:
            lines += _tensioner(tensioner, tensioner["pulley"] in unset)
    lines += _fits(belt)
    known = [sentence for sentence in belt["why"] if not sentence.startswith(DOUBT)]
    return lines + (["  To know:"] if known else []) + [f"    {sentence}" for sentence in known]


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


def _tensioner(row: dict[str, Any], unset: bool) -> list[str]:
    lines = [_row("Tensioner", f"{row['pulley']}, {shown(row['kind'])}")]
    if row["tension_n"] is None:
        known = row["pointer_deg"] is not None and not unset
        return lines + ([_row("Pointer", pointer_words(row["pointer_deg"], "°"))] if known else [])
    lines.append(_row("Tension at rest", f"{with_unit(row['tension_n'], 'N', 0)}{_friction(row)}"))
    pointer, unit = (row["pointer_mm"], "mm") if row.get("pointer_mm") is not None else (row["pointer_deg"], "°")
    place = pointer_words(pointer, unit)
    if row["on_stop"] is not None:
        place += f", on its {row['on_stop']} stop"
    if row.get("protrusion_mm") is not None:
        place += f"; the ram stands out {with_unit(row['protrusion_mm'], 'mm')}"
    if not unset:
        lines.append(_row("Pointer", place))
    if row["adjuster_deg"] is not None:
        lines.append(_row("Setting eccentric", f"at {_clock(row['adjuster_deg'])} on the clock"))
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


def _clock(angle_deg: float) -> str:
    """A clock angle from 0° up to 360°."""
    return with_unit(round(angle_deg % 360.0, 1) % 360.0, "°")


def _fits(belt: dict[str, Any]) -> list[str]:
    if not belt["fits"]:
        return []
    own = [fit for fit in belt["fits"] if fit["teeth"] == belt["teeth"]]
    text = f"{belt['teeth']} teeth{_share(own[0])}" if own else f"not with its own {belt['teeth']} teeth"
    lines = [_row("Belts that can be set", text)]
    for fit in belt["fits"]:
        seldom = fit["probability"] is not None and fit["probability"] < SELDOM
        if fit["teeth"] != belt["teeth"] and not seldom:
            also = f"{fit['teeth']} teeth by the coordinates alone{_share(fit)}: the printed count decides"
            lines.append(_row("Not told apart", also))
    return lines


def _share(fit: dict[str, Any]) -> str:
    """How often a belt fits, in plain words; nothing where it is not known."""
    if fit["probability"] is None:
        return ""
    cases = round(100 * fit["probability"])
    number = "fewer than one" if fit["probability"] < SELDOM else str(cases)
    return f" (fits in {number} of 100 cases of the coordinates' uncertainty)"
