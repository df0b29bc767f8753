"""Parts to lay out: what the drive file lists, and whatever else a step of the plan renews, each once."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.parts import Belt, Pulley
from twoturn.plan.facts import Facts
from twoturn.plan.lists import remark_words
from twoturn.plan.model import PartLine
from twoturn.words.terms import TENSIONER_KINDS

FASTENING = frozenset(("bolt", "nut", "stud", "screw", "washer", "pin", "clip", "spring", "bracket", "spacer", "shim"))
SMALL_PARTS = FASTENING | {"gasket", "seal", "sealing", "ring", "o-ring", "cap", "cover"}
WHOLES = {
    "belt": ("belt",),
    "tensioner": ("tensioner", "ram", "eccentric", "tensioning roller", "tension roller", "tensioning pulley"),
    "roller": ("roller",),
    "idler": ("idler", "guide roller", "guide pulley", "deflection roller", "deflection pulley"),
    "pump": ("coolant pump", "water pump", "pump"),
    "seal": ("gasket", "seal", "sealing", "o-ring"),
}
FIT_FOR = {
    "belt": ("belt",),
    "tensioner": ("tensioner", "roller"),
    "idler": ("idler", "roller"),
    "pump": ("pump",),
    "seal": ("seal",),
    "plug seal": ("seal",),
    "fastener": (),
}
OTHER_PUMPS = frozenset(("injection", "oil", "fuel", "vacuum", "power", "steering", "priming"))
OTHER_BELTS = frozenset(("auxiliary", "accessory", "alternator", "ribbed", "vee", "fan", "serpentine"))
TOOTH_COUNT = re.compile(r"\b(\d{2,3})(?= ?-?(?:teeth|tooth)\b| [a-z]{2} \d)")
EXACT, NAMED, TOLD = 300, 200, 100


@dataclass(frozen=True)
class _Need:
    """A part that a step renews: its sort, the line printed where the file has none, the words that name it."""

    sort: str
    line: PartLine
    names: tuple[str, ...]
    alone: bool = True


def parts(facts: Facts) -> tuple[PartLine, ...]:
    """Parts to lay out: those of the drive file first, then every part that a step renews and the file does not list.

    A listed part stands for as many renewed ones as its ``count`` [-] says, and for one of each sort that its name
    tells ("belt set with tensioner and coolant pump").
    """
    listed = [
        PartLine(part.name or "part without a name", part.count, part.single_use, remark_words(part.remarks))
        for part in facts.drive.file.part
    ]
    needs = list(_needs(facts))
    met = _met(needs, listed)
    return (*listed, *(need.line for index, need in enumerate(needs) if index not in met))


def _met(needs: list[_Need], listed: list[PartLine]) -> set[int]:
    """Indices [-] of the needs that a listed part meets, the best agreement first."""
    pairs = [
        (score, -index, -at)
        for index, need in enumerate(needs)
        for at, line in enumerate(listed)
        if (score := _agreement(need, line)) > 0
    ]
    met: set[int] = set()
    left: dict[tuple[int, str], int] = {}
    for _, minus_index, minus_at in sorted(pairs, reverse=True):
        index, place = -minus_index, (-minus_at, needs[-minus_index].sort)
        free = left.setdefault(place, listed[-minus_at].count)
        if index not in met and free > 0:
            met.add(index)
            left[place] = 0 if needs[index].sort == "fastener" else free - 1
    return met


def _needs(facts: Facts) -> Iterable[_Need]:
    for belt in facts.drive.belts:
        yield _belt(facts, belt)
    for belt in facts.drive.belts:
        for tensioner in belt.tensioners:
            yield _tensioner(tensioner, len(belt.tensioners) == 1 and len(facts.drive.belts) == 1)
    for idler in facts.wheels("idler"):
        yield _Need("idler", PartLine(f"{idler.id}{_named_role(idler)}", 1, False), (idler.id,))
    pumps = facts.wheels("coolant pump")
    if pumps or facts.fasteners["pump"]:
        names = tuple(pump.id for pump in pumps) or ("coolant pump",)
        yield _Need("pump", PartLine("coolant pump with gasket or seal", 1, False), names)
        if any(_agreement(_Need("pump", PartLine("", 1, False), names), line) for line in _file_lines(facts)):
            yield _Need("seal", PartLine("gasket or seal of the coolant pump", 1, True), ("coolant pump", *names))
    if facts.requirements("pump lift", states=(None, "as set", "after turns")) or facts.fasteners["injection pump"]:
        yield _Need("plug seal", PartLine("sealing ring of the injection pump's plug", 1, True), ("plug",))
    for item in facts.drive.file.fastener:
        if item.single_use:
            thread = f"thread {item.thread}" if item.thread else ""
            yield _Need("fastener", PartLine(item.id, item.count, True, thread), (item.id,))


def _file_lines(facts: Facts) -> list[PartLine]:
    return [PartLine(part.name or "", part.count, part.single_use) for part in facts.drive.file.part]


def _named_role(pulley: Pulley) -> str:
    known = {"roller", "idler", "pulley", "wheel"} & set(_words(pulley.id))
    return "" if known else " (idler)"


def _belt(facts: Facts, belt: Belt) -> _Need:
    name = facts.belt_words(belt).removeprefix("the ")
    printed = belt.table.designation
    extra = f"printed {printed}" if printed else ""
    names = tuple(word for word in (printed, str(belt.table.teeth), belt.id) if word)
    line = PartLine(f"{name}, {belt.table.teeth} teeth", 1, False, extra)
    return _Need("belt", line, names, belt is facts.main)


def _tensioner(tensioner: Tensioner, alone: bool) -> _Need:
    line = PartLine(f"{tensioner.pulley} ({TENSIONER_KINDS[tensioner.kind]})", 1, False)
    return _Need("tensioner", line, (tensioner.pulley,), alone)


def _agreement(need: _Need, line: PartLine) -> int:
    """How well a listed part names a renewed one; 0 where it is another thing."""
    words = _words(line.name)
    if need.sort == "fastener":
        wanted = _words(need.names[0])
        return len(wanted) if wanted and set(wanted) <= set(words) else 0
    if need.sort == "seal":
        told = {*words, *_words(line.remark)}
        on_pump = "pump" in told and not told & OTHER_PUMPS
        return TOLD if on_pump and told & set(WHOLES["seal"]) else 0
    if need.sort == "plug seal":
        return TOLD if "plug" in words and set(words) & {*WHOLES["seal"], "ring", "washer"} else 0
    if need.sort == "belt" and _another_belt(need, line, set(words)):
        return 0
    return max((_piece_agreement(need, piece, words) for piece in _pieces(line.name)), default=0)


def _another_belt(need: _Need, line: PartLine, words: set[str]) -> bool:
    """Whether a listed belt is an auxiliary one, or tells a tooth count that is not this belt's."""
    counts = TOOTH_COUNT.findall(line.name.lower())
    return bool(words & OTHER_BELTS) or bool(counts and not set(counts) & set(need.names))


def _piece_agreement(need: _Need, piece: list[str], words: list[str]) -> int:
    if need.sort == "pump" and set(piece) & OTHER_PUMPS:
        return 0
    named = [
        name
        for name in need.names
        if _holds(piece, _words(name)) or (need.sort == "belt" and _holds(words, _words(name)))
    ]
    if any(piece == _words(name) for name in named) and not _is_small(piece):
        return EXACT + len(piece)
    sort = _sort_of(piece)
    if sort not in FIT_FOR[need.sort]:
        return 0
    if named:
        return NAMED + max(len(_words(name)) for name in named) + (10 if named[0] == need.names[0] else 0)
    if need.sort == "belt":
        return TOLD if need.alone else 0
    return TOLD + (1 if sort == need.sort else 0) if need.alone or sort in (need.sort, "roller") else 0


def _pieces(name: str) -> list[list[str]]:
    """The things that a part's name tells, without what they are for or of."""
    pieces = []
    for piece in re.split(r"\bwith\b|\band\b|\bplus\b|\bincluding\b|[,;+&/()]", name.lower()):
        head = re.split(r"\bfor\b|\bof\b|\bto\b|\bon\b", piece)[0]
        if _words(head):
            pieces.append(_words(head))
    return pieces


def _is_small(piece: list[str]) -> bool:
    return bool(SMALL_PARTS & set(piece))


def _sort_of(piece: list[str]) -> str:
    """The sort of thing a piece of a name tells: that of its last telling word; a bolt of it is no roller."""
    if _is_small(piece):
        return "small part"
    found = [
        (start + len(wanted), len(wanted), sort)
        for sort, told in WHOLES.items()
        for wanted in map(_words, told)
        for start in range(len(piece) - len(wanted) + 1)
        if piece[start : start + len(wanted)] == wanted
    ]
    return max(found)[2] if found else ""


def _holds(words: list[str], wanted: list[str]) -> bool:
    size = len(wanted)
    return bool(wanted) and any(words[at : at + size] == wanted for at in range(len(words) - size + 1))


def _words(text: str) -> list[str]:
    """Words of a name in small letters, plurals as one thing."""
    found = re.findall(r"[^\W_]+(?:-[^\W_]+)*", text.lower())
    return [word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word for word in found]
