"""The answer of ``twoturn capture`` in short sentences."""

from __future__ import annotations

from typing import Any

from twoturn.quantity.show import half_width, plus_minus
from twoturn.words.numbers import sure_words

BARE = "as recorded"
U95 = 1.96  # standard uncertainties in the half width of a 95 % interval
CAUTION = (
    "Keep hands and leads clear of belts and fan while cranking. The vehicle maker's procedure and values come first."
)


def capture_lines(answer: dict[str, Any]) -> list[str]:
    """The lines of the answer for a person: the caution, then the result; which zero was taken comes last.

    Parameters
    ----------
    answer
        As from ``capture_json``.
    """
    lines = [f"Caution: {CAUTION}", *_shift_lines(answer), *map(_sentence, answer["why"]), *_beside_lines(answer)]
    lines += [*_crank_lines(answer), *_cam_lines(answer)]
    lines += _cylinder_lines(answer.get("cylinders") or [], answer.get("cylinders_why") or "")
    lines += map(_sentence, answer["notes"])
    return [*lines, _sentence(answer["crank"]["anchor"])] if answer["crank"] else lines


def _sentence(words: str) -> str:
    """Words with a capital and a full stop."""
    return f"{words[0].upper()}{words[1:].rstrip('.')}."


def _crank_lines(answer: dict[str, Any]) -> list[str]:
    """Crank wheel, turns and speed."""
    crank, rpm = answer["crank"], answer["rpm"]
    if crank is None:
        return [] if answer["why"] else ["No crank wheel was understood."]
    edges = "bare edge times" if crank["edge"] == BARE else f"{crank['edge']} edges ({crank['sensor']})"
    lines = [f"Crank: {crank['channel']}, wheel {crank['wheel']}, {edges}."]
    if answer["turns"]:
        speed = f" at {rpm['mean']:.0f} rpm ({rpm['min']:.0f} to {rpm['max']:.0f})" if rpm else ", speed unknown"
        lines.append(f"{answer['turns']:.1f} turns{speed}.")
    if crank["hidden_deg"] is not None:
        lines.append(
            f"Angle between teeth: ± {half_width(U95 * crank['hidden_deg'], '°')}, "
            f"across the gap ± {half_width(U95 * crank['hidden_gap_deg'], '°')} "
            f"(each tooth reckoned from the others, 19 of 20 times)."
        )
    if crank["false_edges"] or crank["missed_teeth"]:
        lines.append(f"Left out: {crank['false_edges']} false edges; missed: {crank['missed_teeth']} teeth.")
    return lines


def _cam_lines(answer: dict[str, Any]) -> list[str]:
    """Edges of every cam channel."""
    lines = []
    for cam in answer["cams"]:
        sharp = f"; its {cam['sharper']} edges are the sharper ones" if cam.get("sharper") else ""
        flutter = f"; flutters by {cam['flutter_deg']:.2f}° (1 σ)" if cam.get("flutter_deg") else ""
        lines.append(f"Cam: {cam['channel']}{sharp}{flutter}.")
        for edge in cam["edges"]:
            angle, half = _with_half(edge["angle_deg"], edge["u"])
            told = f"{angle:>7} ± {half}° (19 of 20 times), scatter {edge['scatter_deg']:.2f}°, {edge['count']} times"
            lines.append(f"  {'edge' if edge['edge'] == BARE else edge['edge']:<11} {told}")
    return lines


def _cylinder_lines(rows: list[dict[str, Any]], unnamed: str) -> list[str]:
    """How much each compression slows the crankshaft."""
    if not rows:
        return []
    names = [str(row["cylinder"] or f"at {row['at_deg']:.0f}°") for row in rows]
    shares = [f"{plus_minus(100 * row['share'], 100 * U95 * row['u'], '')} %" for row in rows]
    told = ", ".join(f"{name}: {share}" for name, share in zip(names, shares, strict=True))
    by = "by cylinder" if rows[0]["cylinder"] else f"by compression ({unnamed})" if unnamed else "by compression"
    return [f"Cranking evenness {by}, how much each slows the crankshaft against the mean: {told}."]


def _with_half(value: float, u: float) -> tuple[str, str]:
    """A value and the half width of its 95 % interval, to the digits it supports [any unit, as its ``u``]."""
    size, _, half = plus_minus(value, U95 * u, "").partition(" ± ")
    return size, half or "0"


def _shift_lines(answer: dict[str, Any]) -> list[str]:
    """How late each cam is."""
    if answer["authority"] == "reference":
        return _change_lines(answer["shifts"], (answer.get("against") or {}).get("file") or "the reference recording")
    lines = []
    for shift in answer["shifts"]:
        name = shift["shaft"] or shift["channel"]
        way = "late" if shift["deg"] >= 0 else "early"
        size, half = _with_half(abs(shift["deg"]), shift["u"])
        text = f"{name}: {size}° {way} ± {half}° (19 of 20 times) against the maker's edges"
        text += _beyond(shift) + _repeats(shift) + _teeth(shift, way)
        allowed = shift["tolerance_deg"]
        lines.append(text + (f"; the maker allows ± {allowed:g}°." if allowed is not None else "."))
        if _beyond(shift):
            lines.append(f"Next: enter the recording in the job ({name}); twoturn prove gives the verdict.")
    return lines


def _beyond(shift: dict[str, Any]) -> str:
    """That a shift is more than the maker allows, or may be; empty where it is not, or nothing is stated."""
    allowed, size, half = shift["tolerance_deg"], abs(shift["deg"]), U95 * shift["u"]
    if allowed is None or size + half <= allowed:
        return ""
    return ", more than the maker allows" if size - half > allowed else ", at the limit of what the maker allows"


def _repeats(shift: dict[str, Any]) -> str:
    if shift.get("repeats_deg") is None:
        return ""
    return f", or any multiple of {shift['repeats_deg']:.3g}° from there"


def _teeth(shift: dict[str, Any], way: str) -> str:
    """Whole belt teeth with how sure they are; empty where none are told."""
    if shift["teeth"] is None:
        return ""
    count = abs(shift["teeth"])
    teeth = f"{count} belt {'tooth' if count == 1 else 'teeth'} {way}"
    if not count:
        teeth = "on its tooth" if way in ("late", "early") else "no belt tooth"
    return f"; {teeth} ({sure_words(shift['probability'])} sure)"


def _change_lines(shifts: list[dict[str, Any]], file: str) -> list[str]:
    """By how much each cam stands elsewhere than in another recording, and what that tells."""
    lines = []
    for shift in shifts:
        name = shift["shaft"] or shift["channel"]
        way = "later" if shift["deg"] >= 0 else "earlier"
        size, half = _with_half(abs(shift["deg"]), shift["u"])
        text = f"{name}: {size}° {way} than in {file} ± {half}° (19 of 20 times)"
        lines.append(f"{text}{_repeats(shift)}{_teeth(shift, way)}.")
    told = f"That tells a change against {file}, not right or wrong: it is right only where {file} was."
    return [*lines, told] if lines else []


def _beside_lines(answer: dict[str, Any]) -> list[str]:
    """What the other recording says beside the maker's edges."""
    against = answer.get("against")
    if not against or answer["authority"] == "reference":
        return []
    return [*_change_lines(against["shifts"], against["file"]), *map(_sentence, against["why"])]
