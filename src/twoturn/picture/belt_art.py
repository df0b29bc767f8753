"""The belt: its body by side (solid, hatched, pale), every tooth where it is counted, painted lines, tooth numbers."""

from __future__ import annotations

import numpy as np

from twoturn.drive.laid import places
from twoturn.drive.turning import line_places, travel_teeth
from twoturn.picture import svg
from twoturn.picture.scene import Scene, Side

HATCH_STEP = 4.6
FILLS: dict[Side, str] = {"taut": svg.INK, "slack": svg.WHITE, "between": "#bdbdbd"}


def belt_art(scene: Scene) -> str:
    """Body and teeth of the belt."""
    pieces = [_arc(scene, at) + _span(scene, at) for at in range(len(scene.belt.pulleys))]
    return svg.group(*pieces, _teeth(scene) if scene.to_scale else "")


def moved_teeth(scene: Scene) -> float:
    """How far the belt has travelled from the setting position [teeth]; 0 where that cannot be known."""
    try:
        return float(travel_teeth(scene.drive, scene.belt, scene.crank_deg))
    except ValueError:
        return 0.0


def _span(scene: Scene, at: int) -> str:
    direction = complex(scene.laid.path.directions[at])
    start, end = scene.page(complex(scene.laid.path.leaves[at])), scene.page(complex(scene.laid.path.enters[at]))
    inward = scene.toothward(direction)
    corners = [
        start + inward * scene.land,
        end + inward * scene.land,
        end - inward * scene.back,
        start - inward * scene.back,
    ]
    side = scene.sides[at]
    body = svg.path(svg.polyline(corners, close=True), fill=FILLS[side], stroke_width=0.8)
    return body + (_span_hatch(scene, at) if side == "slack" else "")


def _span_hatch(scene: Scene, at: int) -> str:
    start, end = scene.page(complex(scene.laid.path.leaves[at])), scene.page(complex(scene.laid.path.enters[at]))
    along = scene.heading(complex(scene.laid.path.directions[at]))
    inward = scene.toothward(complex(scene.laid.path.directions[at]))
    steps = np.arange(HATCH_STEP / 2, abs(end - start) - HATCH_STEP / 2, HATCH_STEP)
    lean = 1.4
    data = "".join(
        svg.polyline(
            [start + along * (step - lean) + inward * scene.land, start + along * (step + lean) - inward * scene.back]
        )
        for step in steps
    )
    return svg.path(data, stroke_width=1.1) if data else ""


def _arc(scene: Scene, at: int) -> str:
    wrap = float(scene.laid.path.wraps_rad[at])
    if wrap < 1e-3:
        return ""
    centre, radius = scene.centres[at], scene.radii[at]
    inner = radius - scene.land if scene.belt.pulleys[at].inside else radius + scene.land
    outer = radius + scene.back if scene.belt.pulleys[at].inside else radius - scene.back
    first = (scene.page(complex(scene.laid.path.enters[at - 1])) - centre) / radius
    last = (scene.page(complex(scene.laid.path.leaves[at])) - centre) / radius
    clockwise = bool(scene.laid.way[at] > 0)
    large = wrap > np.pi
    data = (
        "M"
        + svg.point(centre + first * inner)
        + svg.arc_to(centre + last * inner, inner, clockwise, large)
        + "L"
        + svg.point(centre + last * outer)
        + svg.arc_to(centre + first * outer, outer, not clockwise, large)
        + "Z"
    )
    side = scene.arc_sides[at]
    body = svg.path(data, fill=FILLS[side], stroke_width=0.8)
    return body + (_arc_hatch(scene, at, first, (inner, outer)) if side == "slack" else "")


def _arc_hatch(scene: Scene, at: int, first: complex, rims: tuple[float, float]) -> str:
    wrap, radius = float(scene.laid.path.wraps_rad[at]), scene.radii[at]
    way = float(scene.laid.way[at])
    angles = np.arange(HATCH_STEP / 2, wrap * radius, HATCH_STEP) / radius
    lean = 1.4 / radius
    strokes = []
    for angle in angles:
        ends = [
            scene.centres[at] + first * np.exp(1j * way * (angle + tilt)) * rim
            for tilt, rim in zip((-lean, lean), rims, strict=True)
        ]
        strokes.append(svg.polyline(ends))
    return svg.path("".join(strokes), stroke_width=1.1) if strokes else ""


def _teeth(scene: Scene) -> str:
    numbers = np.arange(scene.belt.table.teeth, dtype=float) + moved_teeth(scene)
    where = places(scene.laid, numbers)
    at = scene.page_all(where.point)
    half_base, half_tip = 0.29 * scene.pitch, 0.19 * scene.pitch
    data = []
    for place, direction in zip(at, where.direction, strict=True):
        along, inward = scene.heading(complex(direction)), scene.toothward(complex(direction))
        base, tip = place + inward * scene.land, place + inward * scene.depth
        corners = [base - along * half_base, base + along * half_base, tip + along * half_tip, tip - along * half_tip]
        data.append(svg.polyline(corners, close=True))
    return svg.path("".join(data), fill=svg.INK, stroke="none")


def painted_art(scene: Scene) -> tuple[str, list[tuple[str, complex, complex]]]:
    """The painted lines, and where their numbers go: words, foot of the label, and the way outward on the page."""
    lines = scene.belt.table.marks
    if not lines or not scene.to_scale or scene.belt.driver.table.mark_deg is None:
        return "", []
    where = line_places(scene.drive, scene.laid, scene.crank_deg, lines)
    drawn, labels = [], []
    for number, place, direction in zip(lines, where.point[0], where.direction[0], strict=True):
        at, inward = scene.page(complex(place)), scene.toothward(complex(direction))
        along = scene.heading(complex(direction))
        foot, head = at + inward * (scene.depth + 1.5), at - inward * (scene.back + 4.5)
        half = along * 1.5
        corners = [foot - half, head - half, head + half, foot + half]
        drawn.append(svg.path(svg.polyline(corners, close=True), fill=svg.WHITE, stroke_width=1.0))
        labels.append((str(number), head, -inward))
    return svg.group(*drawn), labels


def tens(scene: Scene) -> tuple[str, list[tuple[str, complex, complex]]]:
    """A tick at every tenth belt tooth from line 0 on, and where its number goes."""
    if not scene.to_scale or scene.belt.driver.table.mark_deg is None:
        return "", []
    numbers = np.arange(0, scene.belt.table.teeth, 10, dtype=float)
    where = places(scene.laid, numbers + moved_teeth(scene))
    ticks, labels = [], []
    for number, place, direction in zip(numbers, where.point, where.direction, strict=True):
        at, inward = scene.page(complex(place)), scene.toothward(complex(direction))
        foot, head = at - inward * scene.back, at - inward * (scene.back + 2.6)
        ticks.append(svg.polyline([foot, head]))
        if int(number) not in scene.belt.table.marks and not 0 < scene.belt.table.teeth - number < 5:
            labels.append((str(int(number)), head, -inward))
    return svg.path("".join(ticks), stroke_width=0.9), labels


def belt_outline(scene: Scene, step: float = 1.5) -> list[complex]:
    """Points along the pitch line on the page, at most ``step`` page units apart."""
    count = int(scene.laid.length_mm * scene.scale / step) + 2
    where = places(scene.laid, np.linspace(0, scene.belt.table.teeth, count))
    return [complex(value) for value in scene.page_all(where.point)]


def travel_arrow(scene: Scene) -> tuple[str, complex, complex]:
    """An arrow beside the longest span that shows the way of travel; with it the arrow's two ends."""
    at = int(np.argmax(scene.laid.path.spans_mm))
    direction = complex(scene.laid.path.directions[at])
    middle = scene.page(complex(scene.laid.path.leaves[at] + scene.laid.path.enters[at]) / 2)
    along, outward = scene.heading(direction), -scene.toothward(direction)
    start, end = (middle + along * reach + outward * (scene.back + 7) for reach in (-15, 15))
    return svg.line(start, end - along * 4, 1.6) + svg.arrow_head(end, along, 8), start, end
