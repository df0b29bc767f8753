"""The wheels: toothed rims whose gaps hold the belt's teeth, sense of rotation, timing marks and fixed marks."""

from __future__ import annotations

import numpy as np

from twoturn.drive.laid import mark_offset_rad, places
from twoturn.drive.turning import mark_angles_deg
from twoturn.picture import svg
from twoturn.picture.belt_art import moved_teeth
from twoturn.picture.scene import Scene, clock

LARGE = 34.0


def wheel_art(scene: Scene, at: int) -> str:
    """One wheel without its names."""
    pulley = scene.belt.pulleys[at]
    centre = scene.centres[at]
    body = (
        _toothed(scene, at) if pulley.toothed and scene.to_scale else svg.circle(centre, scene.rim(at), fill=svg.PALE)
    )
    parts = [body]
    if not pulley.toothed:
        parts.append(svg.circle(centre, scene.rim(at) * 0.8, stroke_width=0.7))
    hub = max(2.6, min(6.0, 0.12 * scene.rim(at)))
    parts += [svg.circle(centre, hub, stroke_width=1.0), _cross(centre, hub), turning_arrow(scene, at)]
    return svg.group(*parts)


def _cross(centre: complex, size: float) -> str:
    return svg.line(centre - size, centre + size, 0.6) + svg.line(centre - size * 1j, centre + size * 1j, 0.6)


def _toothed(scene: Scene, at: int) -> str:
    count = scene.belt.pulleys[at].teeth or 1
    centre, land, root = scene.centres[at], scene.radii[at] - scene.land, scene.radii[at] - scene.depth - 0.5
    start = gap_deg(scene, at)
    step = 360.0 / count
    outline = []
    for gap in range(count):
        middle = start + gap * step
        for offset, radius in ((-0.36, land), (-0.24, root), (0.24, root), (0.36, land)):
            outline.append(centre + clock(middle + offset * step) * radius)
    return svg.path(svg.polyline(outline, close=True), fill=svg.PALE, stroke_width=0.8)


def gap_deg(scene: Scene, at: int) -> float:
    """Clock angle of a gap of a sprocket [°]: where the belt tooth nearest to the middle of its wrap sits."""
    count = scene.belt.table.teeth
    where = places(scene.laid, np.arange(count, dtype=float) + moved_teeth(scene))
    here = np.flatnonzero(where.on_pulley & (where.piece == at))
    if not here.size:
        return 0.0
    off = [abs(mark_offset_rad(scene.laid, at, float(where.clock_deg[index]))) for index in here]
    return float(where.clock_deg[here[int(np.argmin(off))]])


def turning_arrow(scene: Scene, at: int) -> str:
    """Arc with a head that shows which way the wheel turns."""
    way, rim = float(scene.laid.way[at]), scene.rim(at)
    centre = scene.centres[at]
    radius = rim * 0.58 if rim >= LARGE else rim * 0.52
    middle, reach = (180.0 if name_above(scene, at) else 0.0, 52.0) if rim >= LARGE else (180.0, 95.0)
    start, end = middle - way * reach, middle + way * reach
    tip = centre + clock(end) * radius
    data = "M" + svg.point(centre + clock(start) * radius) + svg.arc_to(tip, radius, way > 0, large=reach > 90)
    heading = clock(end) * (1j * way)
    head = 7.0 if rim >= LARGE else 5.0
    return svg.path(data, stroke_width=1.3) + svg.arrow_head(tip + heading * head * 0.7, heading, head)


def name_above(scene: Scene, at: int) -> bool:
    """Whether the name of a large wheel goes above its centre: away from its timing mark."""
    pulley = scene.belt.pulleys[at]
    if pulley.table.mark_deg is None or not pulley.toothed:
        return True
    angles = mark_angles_deg(scene.drive, scene.belt, scene.crank_deg)
    return clock(float(angles.get(pulley.id, pulley.table.mark_deg))).imag > 0


def marks_art(scene: Scene) -> str:
    """Every timing mark (filled, on the sprocket) and its fixed mark (open, outside the belt)."""
    angles = mark_angles_deg(scene.drive, scene.belt, scene.crank_deg)
    drawn = []
    for at, pulley in enumerate(scene.belt.pulleys):
        fixed = pulley.table.mark_deg
        if fixed is None or not pulley.toothed:
            continue
        size = min(9.0, 0.42 * scene.rim(at))
        root = scene.radii[at] - scene.depth - 1.2
        drawn.append(_wedge(scene.centres[at], float(angles.get(pulley.id, fixed)), root, -size))
        outside = scene.radii[at] + scene.back + 6.0
        drawn.append(_wedge(scene.centres[at], fixed, outside, size * 0.85, filled=False))
    return svg.group(*drawn)


def _wedge(centre: complex, angle_deg: float, radius: float, length: float, filled: bool = True) -> str:
    """A triangle with its tip at ``radius`` and its base ``length`` further out (inwards when negative)."""
    out = clock(angle_deg)
    tip, base = centre + out * radius, centre + out * (radius + length)
    half = out * 1j * abs(length) * 0.42
    fill = svg.INK if filled else svg.WHITE
    return svg.path(svg.polyline([tip, base + half, base - half], close=True), fill=fill, stroke_width=1.0)
