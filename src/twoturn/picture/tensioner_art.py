"""The tensioner: its bolts, arm and ram on the drive, and an enlarged view of pointer, notch and allowed range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.model.tensioners import (
    AnyTensioner,
    DoubleEccentric,
    Hydraulic,
    LockedEccentric,
    Slide,
    SprungArm,
)
from twoturn.picture import svg
from twoturn.picture.scene import Scene, clock
from twoturn.words.numbers import pointer_words, range_words, window_words, with_unit
from twoturn.words.terms import TENSIONER_KINDS

DIAL = 38.0
ROOM = 34.0
ARM = "#bdbdbd"
SIGN = {"clockwise": 1, "counter-clockwise": -1, None: 0}


@dataclass(frozen=True)
class Stands:
    """A tensioner and where it stands.

    Attributes
    ----------
    table
        Its table in the drive file.
    pointer
        Pointer [° or mm]; None where it is not known.
    adjuster_deg
        Clock angle of the setting eccentric [°]; None where there is none or it is not known.
    """

    table: AnyTensioner
    pointer: float | None = None
    adjuster_deg: float | None = None


@dataclass(frozen=True)
class Mount:
    """How a tensioner is held: elements behind its roller, elements before it, and points that are inked."""

    behind: str = ""
    before: str = ""
    points: tuple[complex, ...] = ()


def mounting_art(scene: Scene, at: int, stands: Stands) -> Mount:
    """Bolt, pivot, arm and ram of the tensioner whose roller is pulley ``at``."""
    table, roller = stands.table, scene.centres[at]
    if isinstance(table, Slide):
        return _slide_line(scene, at, table)
    bolt = _bolt(table)
    if bolt is None:
        return Mount()
    foot = scene.page(bolt)
    start = scene.page(_arm_pivot(table, bolt, stands.adjuster_deg))
    if isinstance(table, DoubleEccentric | LockedEccentric):
        return Mount(before=svg.line(foot, roller, 1.4) + svg.circle(foot, 2.2, fill=svg.INK))
    parts = [svg.line(start, roller, 5.0, stroke=ARM, stroke_linecap="round")]
    points = _between(start, roller)
    if isinstance(table, Hydraulic):
        drawn, more = _ram(scene, table, stands.pointer)
        parts.append(drawn)
        points += more
    return Mount(svg.group(*parts, svg.circle(start, 4.0), svg.circle(foot, 2.2, fill=svg.INK)), "", tuple(points))


def _between(start: complex, end: complex) -> list[complex]:
    count = max(2, int(abs(end - start) / 3))
    return [start + (end - start) * step / count for step in range(count + 1)]


def _bolt(table: AnyTensioner) -> complex | None:
    place = getattr(table, "bolt_mm", None) or getattr(table, "pivot_mm", None)
    return None if place is None else complex(*place)


def _arm_pivot(table: AnyTensioner, bolt: complex, adjuster_deg: float | None) -> complex:
    if isinstance(table, DoubleEccentric) and table.adjuster_mm is not None and adjuster_deg is not None:
        return bolt + table.adjuster_mm * clock(adjuster_deg).conjugate()
    return bolt


def _slide_line(scene: Scene, at: int, table: Slide) -> Mount:
    if table.tightens_deg is None:
        return Mount()
    way = clock(table.tightens_deg)
    reach = scene.rim(at) + 12
    centre = scene.centres[at]
    ends = centre - way * reach, centre + way * reach
    return Mount(svg.line(*ends, 4.0, stroke=ARM, stroke_linecap="round"), "", tuple(_between(*ends)))


def ram_length_mm(table: Hydraulic, pointer: float) -> float | None:
    """Length of the ram from its foot to the arm [mm] at a pointer [°]; None where the file gives too little."""
    top = _ram_top(table, pointer)
    return None if top is None or table.base_mm is None else abs(top - complex(*table.base_mm))


def protrusion_mm(table: Hydraulic, pointer: float) -> float | None:
    """How far the ram stands out [mm] at a pointer [°]; None where the file gives too little."""
    here, notch = ram_length_mm(table, pointer), ram_length_mm(table, 0.0)
    if here is None or notch is None or table.protrusion_at_notch_mm is None:
        return None
    return table.protrusion_at_notch_mm + here - notch


def _ram_top(table: Hydraulic, pointer: float) -> complex | None:
    if table.pivot_mm is None or table.ram_arm_mm is None or table.ram_deg is None or table.notch_deg is None:
        return None
    angle = table.notch_deg + SIGN[table.tightens] * pointer + table.ram_deg
    return complex(*table.pivot_mm) + table.ram_arm_mm * clock(angle).conjugate()


def _ram(scene: Scene, table: Hydraulic, pointer: float | None) -> tuple[str, list[complex]]:
    top = _ram_top(table, pointer or 0.0)
    if top is None or table.base_mm is None or table.pivot_mm is None:
        return "", []
    foot, head, pivot = scene.page(complex(*table.base_mm)), scene.page(top), scene.page(complex(*table.pivot_mm))
    along = (head - foot) / abs(head - foot)
    across = along * 1j
    body = [foot - across * 6, foot + across * 6, foot + across * 6 + along * 0.6 * abs(head - foot)]
    body.append(body[2] - across * 12)
    drawn = svg.group(
        svg.line(pivot, head, 5.0, stroke=ARM, stroke_linecap="round"),
        svg.line(foot, head, 3.0),
        svg.path(svg.polyline(body, close=True), fill=svg.WHITE),
        svg.circle(head, 2.6),
    )
    return drawn, [*_between(pivot, head), *_between(foot, head)]


def inset(stands: Stands, name: str, corner: complex, width: float) -> tuple[str, float]:
    """The enlarged view with its words; its upper left corner on the page, and its height [page units]."""
    table = stands.table
    words = inset_words(stands, name)
    side = 2 * DIAL + 2 * ROOM
    middle = corner + complex(side / 2, DIAL + 18)
    drawn, low = "", 0.0
    if isinstance(table, LockedEccentric) and _has_dial(table):
        drawn, low = _eccentric(stands, middle), 2 * DIAL + 30
    elif _has_dial(table):
        drawn, low = _dial(stands, middle)
    elif _has_ruler(stands):
        drawn, low = _ruler(stands, corner + complex(14, 20), side - 28), 92.0
    left = side + 8 if low else 0.0
    rows: list[tuple[str, bool]] = []
    for index, sentence in enumerate(words):
        rows += [(row, index == 0) for row in svg.wrapped(sentence, 11 if index else 11.8, width - left)]
    texts = [
        svg.text(corner + complex(left, 14 + 14 * row), line, 11, font_weight="bold" if bold else None)
        for row, (line, bold) in enumerate(rows)
    ]
    return svg.group(drawn, *texts), max(low, 14.0 * len(rows) + 10)


def inset_words(stands: Stands, name: str) -> list[str]:
    """What is to be said of a tensioner, sentence by sentence; the first one is its name and kind."""
    table = stands.table
    said = [f"{name}: {TENSIONER_KINDS[table.kind]}"]  # type: ignore[attr-defined]
    way = getattr(table, "tightens", None)
    if way:
        said.append(f"It tightens {way}.")
    if isinstance(table, LockedEccentric):
        return [*said, "Turned by hand until the tension is right, then locked: no pointer."]
    said += _position_words(stands)
    return said


def _position_words(stands: Stands) -> list[str]:
    table, pointer = stands.table, stands.pointer
    said = []
    if isinstance(table, Hydraulic) and table.protrusion_at_notch_mm is not None:
        out = None if pointer is None else protrusion_mm(table, pointer)
        if table.window_mm is not None:
            said.append(f"The ram may stand out {range_words(*table.window_mm, 'mm', 1)}.")
        return [*said, f"Computed: the ram stands out {with_unit(out, 'mm', 1)}."] if out is not None else said
    unit, window = ("mm", table.window_mm) if isinstance(table, Slide) else ("°", getattr(table, "window_deg", None))
    if window is not None:
        said.append(f"Allowed: pointer {window_words(window[0], window[1], unit)}.")
    if pointer is not None:
        said.append(f"Computed: pointer {pointer_words(pointer, unit)}.")
    return said


def _has_dial(table: AnyTensioner) -> bool:
    if isinstance(table, LockedEccentric):
        return table.notch_deg is not None and table.tightens is not None
    if isinstance(table, Hydraulic) and table.protrusion_at_notch_mm is not None:
        return False
    return isinstance(table, DoubleEccentric | SprungArm | Hydraulic) and table.notch_deg is not None


def _dial(stands: Stands, centre: complex) -> tuple[str, float]:
    """Pointer, notch and allowed range at their true clock angles."""
    table = stands.table
    notch, sigma = float(getattr(table, "notch_deg", 0.0)), SIGN[getattr(table, "tightens", None)]
    window = getattr(table, "window_deg", None)
    parts = [svg.circle(centre, DIAL, fill=svg.WHITE, stroke_width=0.8), svg.circle(centre, 3.2)]
    if window is not None and sigma:
        parts.append(_sector(centre, notch + sigma * window[0], notch + sigma * window[1]))
    out = clock(notch)
    vee = [centre + clock(notch + turn) * (DIAL + 8) for turn in (-6, 6)]
    parts.append(svg.path(svg.polyline([vee[0], centre + out * DIAL, vee[1]], close=True), fill=svg.INK))
    parts.append(_outside(centre, notch, "notch"))
    angle = notch + sigma * (stands.pointer or 0.0)
    tip = centre + clock(angle) * (DIAL - (13 if window is not None else 2))
    if stands.pointer is not None:
        parts.append(svg.line(centre + clock(angle) * 3.2, tip - clock(angle) * 6, 2.2))
        parts.append(svg.arrow_head(tip, clock(angle), 9))
    if sigma:
        parts += [_tightens(centre, notch + 180, sigma), _outside(centre, notch + 180, "tightens")]
    return svg.group(*parts), 2 * DIAL + 38


def _eccentric(stands: Stands, centre: complex) -> str:
    """A roller on an eccentric: its bolt off the middle, and the way to turn it about the bolt."""
    table = stands.table
    sigma = SIGN[getattr(table, "tightens", None)]
    angle = float(getattr(table, "notch_deg", None) or 0.0) + sigma * (stands.pointer or 0.0)
    bolt = centre - clock(angle) * 12
    return svg.group(
        svg.circle(centre, DIAL, fill=svg.PALE),
        svg.circle(centre, DIAL * 0.82, stroke_width=0.7),
        svg.circle(bolt, 5.0, fill=svg.INK),
        _tightens(bolt, angle + 180, sigma, 15.0) if sigma else "",
        svg.text(centre + clock(angle) * 14 + 3.4j, "bolt", 10, anchor="middle"),
        svg.line(centre + clock(angle) * 9, bolt + clock(angle) * 5, 0.7),
    )


def _has_ruler(stands: Stands) -> bool:
    table = stands.table
    if isinstance(table, Hydraulic):
        return table.protrusion_at_notch_mm is not None and (stands.pointer is not None or table.window_mm is not None)
    return isinstance(table, Slide) and (stands.pointer is not None or table.window_mm is not None)


def _outside(centre: complex, angle_deg: float, words: str) -> str:
    out = clock(angle_deg)
    half = svg.text_width(words, 10) / 2
    middle = centre + out * (DIAL + 11 + abs(out.real) * half + abs(out.imag) * 4)
    return svg.text(middle + 3.4j, words, 10, anchor="middle")


def _sector(centre: complex, low_deg: float, high_deg: float) -> str:
    """The allowed range: a hatched band of the dial."""
    first, last = sorted((low_deg, high_deg))
    inner, outer = DIAL - 13, DIAL
    data = (
        "M"
        + svg.point(centre + clock(first) * outer)
        + svg.arc_to(centre + clock(last) * outer, outer, True, last - first > 180)
        + "L"
        + svg.point(centre + clock(last) * inner)
        + svg.arc_to(centre + clock(first) * inner, inner, False, last - first > 180)
        + "Z"
    )
    strokes = [
        svg.polyline([centre + clock(angle) * inner, centre + clock(angle) * outer])
        for angle in np.arange(first + 1.5, last, 3.0)
    ]
    return svg.path(data, fill="#dcdcdc", stroke_width=1.0) + svg.path("".join(strokes), stroke_width=0.5)


def _tightens(centre: complex, middle_deg: float, sigma: int, radius: float = DIAL - 16) -> str:
    """An arrow the way it tightens."""
    start, end = middle_deg - sigma * 40, middle_deg + sigma * 40
    tip = centre + clock(end) * radius
    heading = clock(end) * (1j * sigma)
    data = "M" + svg.point(centre + clock(start) * radius) + svg.arc_to(tip, radius, sigma > 0)
    return svg.path(data, stroke_width=1.4) + svg.arrow_head(tip + heading * 5, heading, 7)


def _ruler(stands: Stands, corner: complex, width: float) -> str:
    """Slide or ram: a straight scale [mm] with the allowed range, the notch and the position."""
    table = stands.table
    ram = isinstance(table, Hydraulic)
    zero = float(table.protrusion_at_notch_mm or 0.0) if isinstance(table, Hydraulic) else 0.0
    here = stands.pointer
    if isinstance(table, Hydraulic) and here is not None:
        here = protrusion_mm(table, here)
    window = getattr(table, "window_mm", None)
    marks = [zero, *(window or ()), *([here] if here is not None else [])]
    room = max(4.0, max(marks) - min(marks))
    low, high = min(marks) - 0.35 * room, max(marks) + 0.35 * room

    def along(value: float) -> complex:
        return complex(corner + (value - low) / (high - low) * width)

    step = next(size for size in (0.5, 1, 2, 5, 10, 20, 50, 100) if (high - low) / size <= 10)
    ticks = [float(step * count) for count in range(int(np.ceil(low / step)), int(high / step) + 1)]
    parts = [svg.line(corner + 30j, corner + width + 30j, 1.2)]
    if window is not None:
        parts.append(svg.rect(along(window[0]) + 18j, (along(window[1]) - along(window[0])).real, 12, fill="#dcdcdc"))
    parts += [svg.line(along(tick) + 30j, along(tick) + 35j, 0.8) for tick in ticks]
    labelled = ticks if not ram else ticks[::2]
    parts += [svg.text(along(tick) + 46j, f"{abs(tick):g}", 10, anchor="middle") for tick in labelled]
    parts.append(svg.line(along(zero) + 12j, along(zero) + 30j, 1.6))
    parts.append(svg.text(along(zero) + 8j, "notch", 10, anchor="middle"))
    if here is not None:
        parts.append(svg.arrow_head(along(here) + 29j, 1j, 11))
    parts.append(
        svg.text(corner + width / 2 + 60j, "mm standing out" if ram else "mm from the notch", 10, anchor="middle")
    )
    return svg.group(*parts)
