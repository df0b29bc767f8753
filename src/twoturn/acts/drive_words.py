"""What a drive says, in short sentences for its page: order of threading, teeth between marks, notes to expect."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from twoturn.acts.drive import SolvedDrive, answer_of
from twoturn.drive.parts import Drive
from twoturn.mechanics.setting.closing import DOUBT
from twoturn.words.numbers import list_words, plain, range_words, with_unit
from twoturn.words.terms import TENSIONER_KINDS


@dataclass(frozen=True)
class BeltWords:
    """What is said of one belt.

    Attributes
    ----------
    id, size
        Its name, and its teeth, pitch and length.
    order
        The wheels in the order in which it is put on; empty where the drive does not tell.
    counts
        Teeth between marks, a sentence each.
    fits
        Which belts can be set, by their teeth; empty where that is not known.
    doubts
        What makes the drive's numbers doubtful.
    """

    id: str
    size: str
    order: tuple[str, ...]
    counts: tuple[str, ...]
    fits: str
    doubts: tuple[str, ...]


@dataclass(frozen=True)
class DriveWords:
    """What is said of a drive.

    Attributes
    ----------
    shafts
        What one belt tooth is at each shaft that keeps time.
    belts
        Its belts.
    notes
        The note to expect of every span worth plucking, the best first.
    """

    shafts: tuple[str, ...]
    belts: tuple[BeltWords, ...]
    notes: tuple[str, ...]


def facts_words(drive: Drive) -> str:
    """Belts, tensioners and camshafts of a drive in a few words, ``"109 teeth; sprung arm; 1 camshaft"``."""
    said: list[str] = []
    for belt in drive.belts:
        kinds = [TENSIONER_KINDS[str(tensioner.kind)] for tensioner in belt.tensioners]
        said += [f"{belt.table.teeth} teeth", *dict.fromkeys(kinds)]
    cams = sum(shaft.role == "camshaft" for shaft in drive.shafts)
    said.append("1 camshaft" if cams == 1 else f"{cams} camshafts")
    return "; ".join([*said, *(["list drive without coordinates"] if drive.is_list else [])])


def drive_words(solved: SolvedDrive) -> DriveWords:
    """What a solved drive says, in short sentences."""
    answer = answer_of(solved)
    return DriveWords(
        tuple(words for shaft in answer["shafts"] if (words := _shaft(shaft))),
        tuple(_belt(belt) for belt in answer["belts"]),
        tuple(_note(row) for row in answer["notes"] if row["low_hz"] is not None and row["worth"]),
    )


def _shaft(shaft: dict[str, Any]) -> str:
    if not shaft["phased"] or shaft["deg_per_tooth"] is None:
        return ""
    return f"{shaft['id']}: one belt tooth is {with_unit(shaft['deg_per_tooth'], '°', 2)} of crankshaft"


def _belt(belt: dict[str, Any]) -> BeltWords:
    size = f"{belt['teeth']} teeth"
    if belt["pitch_mm"] is not None:
        size += f", pitch {with_unit(belt['pitch_mm'], 'mm', 3)}, {with_unit(belt['length_mm'], 'mm', 1)} without load"
    return BeltWords(
        belt["id"],
        size,
        tuple(belt["thread_order"]),
        tuple(_count(row) for row in belt["tooth_counts"] if row["from"] != row["to"]),
        _fits(belt),
        tuple(text for text in belt["why"] if text.startswith(DOUBT)),
    )


def _count(row: dict[str, Any]) -> str:
    whole = row["near_integer"]
    said = f"{row['from']} to {row['to']}: {plain(row['teeth'], 0 if whole else 2)} teeth"
    if row["closes"]:
        return f"{said}, which closes the loop"
    return said if whole else f"{said}, not near a whole number: check the drive"


def _fits(belt: dict[str, Any]) -> str:
    settable = [str(fit["teeth"]) for fit in belt["fits"] if fit["in_window"]]
    return f"{list_words(settable)} teeth" if settable else ""


def _note(row: dict[str, Any]) -> str:
    span = row["span"].replace(":", " to ")
    return f"{span}: {range_words(row['low_hz'], row['high_hz'], 'Hz', 0)}"
