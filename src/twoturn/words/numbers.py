"""Numbers as sheets print them: units, plus-minus, past or short of the notch, early or late, teeth in words."""

from __future__ import annotations

NO_GAP = ("°", "%")
SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def plain(value: float, decimals: int = 1) -> str:
    """A number [any unit] with at most ``decimals`` [-] decimals, no empty decimals, and a true minus sign."""
    text = f"{value:.{max(0, decimals)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "0") else text.replace("-", "−")


def with_unit(value: float, unit: str, decimals: int = 1) -> str:
    """A number with its unit as printed: ``25 N·m``, ``8.2°``, ``−3°``; a plain number (unit "-") stands alone [-]."""
    text = plain(value, decimals)
    if unit in ("", "-"):
        return text
    return text + unit if unit.startswith("° ") or unit in NO_GAP else f"{text} {unit}"


def range_words(low: float | None, high: float | None, unit: str, decimals: int = 3) -> str:
    """Limits [unit] in words: ``96–108 Hz``, ``at least 22.5 N·m``, ``at most 0.05 mm``; both None: ``no limits``."""
    if low is None and high is None:
        return "no limits"
    if low is None:
        assert high is not None  # noqa: S101 - for the type checker
        return f"at most {with_unit(high, unit, decimals)}"
    if high is None:
        return f"at least {with_unit(low, unit, decimals)}"
    if low == high:
        return with_unit(low, unit, decimals)
    joint = "–" if low >= 0 else " to "
    return plain(low, decimals) + joint + with_unit(high, unit, decimals)


def pointer_words(pointer: float, unit: str = "°", decimals: int = 1) -> str:
    """A pointer value [unit, ° or mm] as the trade says it: never + or −, but short of, on or past the notch.

    Positive is the way the tensioner's arm moves when it tightens: past the notch.
    """
    size = plain(abs(pointer), decimals)
    if size == "0":
        return "on the notch"
    return f"{with_unit(abs(pointer), unit, decimals)} {'past' if pointer > 0 else 'short of'} the notch"


def window_words(low: float, high: float, unit: str = "°", decimals: int = 1) -> str:
    """The allowed pointer range [unit] in words: ``from 6° short of the notch to 6° past the notch``."""
    if low == -high and high > 0:
        return f"within {with_unit(high, unit, decimals)} of the notch, either side"
    return f"from {pointer_words(low, unit, decimals)} to {pointer_words(high, unit, decimals)}"


def phase_words(shift_deg: float, decimals: int = 1) -> str:
    """A phase [crank degrees, positive late] in words: ``8.2° crank late``, ``1° crank early``, ``on time``."""
    size = plain(abs(shift_deg), decimals)
    if size == "0":
        return "on time"
    return f"{size}° crank {'late' if shift_deg > 0 else 'early'}"


def count_words(count: int, one: str, many: str | None = None) -> str:
    """A count [-] with its noun: ``one tooth``, ``two teeth``, ``14 teeth`` (words up to twelve)."""
    number = SMALL[count] if 0 <= count < len(SMALL) else str(count)
    return f"{number} {one if count == 1 else (many or one + 's')}"


def teeth_words(teeth: int) -> str:
    """Whole belt teeth [-], positive late, in words: ``one tooth late``, ``two teeth early``, ``on its tooth``."""
    if teeth == 0:
        return "on its tooth"
    return f"{count_words(abs(teeth), 'tooth', 'teeth')} {'late' if teeth > 0 else 'early'}"


def turns_words(turns: float) -> str:
    """Turns of the crankshaft [-] in words: ``two turns``, ``one turn``, ``1.5 turns``."""
    if turns == int(turns):
        return count_words(int(turns), "turn")
    return f"{plain(turns, 3)} turns"


def sure_words(probability: float) -> str:
    """A probability [-] in whole per cent: ``87 %``, never a hundred: ``more than 99 %``; nothing read is certain."""
    return f"{'more than 99' if probability > 0.99 else plain(100 * probability, 0)} %"


def list_words(items: list[str], joint: str = "and") -> str:
    """Items in a row: ``a``, ``a and b``, ``a, b and c``; nothing gives an empty text."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {joint} {items[-1]}"
