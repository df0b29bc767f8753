"""Crank wheels as the trade writes them, compared: ``60-2``, ``36-2-2-2``, ``12+1``, ``58`` without a gap."""

from __future__ import annotations

import re


def same_wheel(stated: str, seen: str) -> bool | None:
    """Whether two wheels in words are the same, whichever gap is named first.

    Parameters
    ----------
    stated
        The wheel as a drive file states it.
    seen
        The wheel as it was recognised in a recording.

    Returns
    -------
    bool or None
        None where the number of teeth of an even wheel could not be told.
    """
    if "number unknown" in seen:
        return None
    return _parsed(stated) == _parsed(seen)


def _parsed(words: str) -> tuple[int, str, tuple[int, ...]] | str:
    """Places, sign and gaps in order of size; words that are no wheel as they stand."""
    text = re.sub(r" places, no gap$", "", words.strip())
    found = re.fullmatch(r"(\d+)((?:-\d+)*|\+\d+)", text)
    if found is None:
        return words
    gaps = tuple(sorted(int(part) for part in re.findall(r"\d+", found[2])))
    return int(found[1]), found[2][:1], gaps
