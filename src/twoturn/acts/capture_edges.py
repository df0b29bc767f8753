"""Bare edge times: of which edge they are, as a person or a heading says; without it they can be judged by nothing."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from twoturn.capture.cams import Cam
from twoturn.capture.decode import Decoded
from twoturn.capture.shift.compare import Wanted
from twoturn.drive.parts import Drive
from twoturn.words.numbers import list_words

BARE = "as recorded"
LEVELS = ("logic", "two-level", "edge times")
"""Sensors whose two edges lie the width of a tooth apart; an inductive one has an edge that carries the gap."""
_WORDS = {
    "rising": re.compile(r"\b(rising|rise|rises|positive edges?|pos edges?|(?<!pick )up)\b|↑", re.IGNORECASE),
    "falling": re.compile(r"\b(falling|fall|falls|negative edges?|neg edges?|down)\b|↓", re.IGNORECASE),
}


def heading_edge(name: str) -> str | None:
    """The edge that a channel's name tells, as in ``"crank falling"``; None where it tells none, or both."""
    plain = name.replace("_", " ").replace("-", " ")
    told = [edge for edge, words in _WORDS.items() if words.search(plain)]
    return told[0] if len(told) == 1 else None


def with_told_edges(decoded: Decoded, edge: str | None) -> Decoded:
    """A decoded recording whose bare edge times are of the edge that its headings tell, else of the one told.

    Parameters
    ----------
    decoded
        The recording; channels of levels or volts are left as they are.
    edge
        ``"rising"`` or ``"falling"`` for all channels whose heading tells nothing; None where nobody told.
    """
    crank = decoded.crank
    if crank is not None and crank.edge == BARE:
        crank = replace(crank, edge=heading_edge(crank.channel) or edge or BARE)
    return replace(decoded, crank=crank, cams=tuple(_told(cam, edge) for cam in decoded.cams))


def _told(cam: Cam, edge: str | None) -> Cam:
    told = heading_edge(cam.channel) or edge
    if told is None:
        return cam
    return replace(cam, edges=tuple(replace(one, edge=told) if one.edge == BARE else one for one in cam.edges))


def bare_channels(decoded: Decoded) -> list[str]:
    """Channels whose edge times nobody has told the edge of, the crank first."""
    crank = [decoded.crank.channel] if decoded.crank is not None and decoded.crank.edge == BARE else []
    return crank + [cam.channel for cam in decoded.cams if any(edge.edge == BARE for edge in cam.edges)]


def bare_words(decoded: Decoded) -> str:
    """That edge times are bare and what is missing, without what to do; empty where every edge is told."""
    names = bare_channels(decoded)
    if not names:
        return ""
    return f"the file {decoded.file} lists bare edge times ({list_words(names)}), not saying whether they rise or fall"


def maker_edge(drive: Drive, decoded: Decoded) -> str | None:
    """The crank edge that a drive's angles are counted from; None where the sensor is inductive and none is stated."""
    stated = drive.file.timing.crank_edge
    if stated is not None or decoded.crank is None or decoded.crank.sensor not in LEVELS:
        return stated
    return "falling"


def other_edge_words(decoded: Decoded, edge: str | None) -> str:
    """That the crank was read by another edge than ``edge``, from which angles are counted; empty where it was not."""
    crank = decoded.crank
    if edge is None or crank is None or crank.edge in (edge, BARE):
        return ""
    return (
        f"angles of the drive file count from {edge} crank edges (its crank_edge; falling where it states none), "
        f"{crank.channel} was read by {crank.edge} ones, the width of a tooth away: nothing is compared with the "
        "maker's edges"
    )


def is_bare(cam: Cam) -> bool:
    """Whether a cam channel holds bare edge times, so of one edge only."""
    return cam.sensor == "edge times"


def comparable(wanted: Sequence[Wanted], seen: Sequence[Cam]) -> list[Wanted]:
    """What is expected, less the edges that bare edge times cannot show; all of it where a channel holds both.

    Parameters
    ----------
    wanted
        The edges expected of each cam.
    seen
        The cam channels of the recording.
    """
    if not seen or not all(is_bare(cam) for cam in seen):
        return list(wanted)
    kinds = {edge.edge for cam in seen for edge in cam.edges}
    left = [replace(want, edges=tuple(edge for edge in want.edges if edge.edge in kinds)) for want in wanted]
    return [want for want in left if want.edges] or list(wanted)


def lacking_words(decoded: Decoded, wanted: Sequence[Wanted]) -> str:
    """That a recording holds only the other kind of cam edges than those stated; empty where it holds one of them."""
    seen = {edge.edge for cam in decoded.cams for edge in cam.edges}
    stated = {edge.edge for want in wanted for edge in want.edges}
    if not seen or not stated or seen & stated:
        return ""
    kinds = list_words(sorted(stated)), list_words(sorted(seen))
    return (
        f"the drive file states {kinds[0]} cam edges, the file {decoded.file} holds {kinds[1]} ones only: record the "
        "levels, or the edges that are stated"
    )
