"""The drawing of a drive: belt with its teeth, wheels, marks, painted lines, taut and slack side, tensioner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from twoturn.drive.laid import LaidBelt
from twoturn.drive.parts import Belt, Drive
from twoturn.mechanics.rest.known import BeltAtRest
from twoturn.picture import svg
from twoturn.picture.belt_art import belt_art, belt_outline, painted_art, tens, travel_arrow
from twoturn.picture.labels import Label, Page, put, put_at
from twoturn.picture.legend import legend, said
from twoturn.picture.ring import schematic
from twoturn.picture.scene import Scene, bounds, clock
from twoturn.picture.tensioner_art import Stands, inset, mounting_art
from twoturn.picture.wheel_art import LARGE, marks_art, name_above, wheel_art

MARGIN = 46.0
TALLEST = 470.0
EDGE = 10.0


@dataclass(frozen=True)
class DrawOptions:
    """How a drive is drawn.

    Attributes
    ----------
    width
        Width of the picture [page units; one is a pixel on a narrow phone].
    crank_deg
        Crank angle turned on from the setting position [°].
    belt
        Draw only the belt of this id; all when None.
    tooth_numbers
        Whether every tenth belt tooth carries its number.
    legend
        Whether signs and spans are explained below.
    family
        Font family of all text.
    """

    width: float = 360.0
    crank_deg: float = 0.0
    belt: str | None = None
    tooth_numbers: bool = True
    legend: bool = True
    family: str = svg.FAMILY


PLAIN = DrawOptions()


def drive_svg(drive: Drive, belts: Sequence[BeltAtRest], options: DrawOptions = PLAIN) -> str:
    """Draw a drive at rest.

    Parameters
    ----------
    drive
        The drive.
    belts
        Its belts at rest; a belt without coordinates is drawn as a scheme, which says so.
    options
        How it is drawn.

    Returns
    -------
    str
        An SVG document; text stays text, black and white say everything.
    """
    chosen = [rest for rest in belts if options.belt in (None, rest.belt.id)]
    body: list[str] = []
    sentences = [f"Drive {drive.name}."]
    top = 0.0
    for rest in chosen:
        drawn, height, words = _panel(drive, rest, options, named=len(belts) > 1)
        body.append(svg.group(drawn, transform=f"translate(0 {svg.num(top)})"))
        sentences += words
        top += height
    title = f"Belt drive of {drive.name}"
    return svg.Picture(options.width, max(top, 40.0), title, " ".join(sentences), body, options.family).svg()


def _panel(drive: Drive, rest: BeltAtRest, options: DrawOptions, named: bool) -> tuple[str, float, list[str]]:
    """One belt, cropped to what is drawn, with its legend: elements, height and what is said of it."""
    laid, to_scale = _laid(rest)
    top = 22.0 if named else 4.0
    head = svg.text(complex(EDGE, 15), f"Belt {rest.belt.id}", 12.5, font_weight="bold") if named else ""
    if laid is None:
        return head + _only_list(rest.belt, top), top + 24 + 15 * len(rest.belt.pulleys), [said(rest.belt, None)]
    scene, height = _scene(drive, laid, options, top, to_scale)
    page = Page(options.width, top + height)
    drawn = _drawn(scene, rest, page, options)
    first, last = page.used()
    parts = [head, svg.group(drawn, transform=f"translate(0 {svg.num(top + 4 - first)})")]
    below = top + last - first + 14
    for stands, name in _tensioners(rest):
        piece, used = inset(stands, name, complex(EDGE, below), options.width - 2 * EDGE)
        parts.append(piece)
        below += used + 8
    if options.legend:
        piece, used = legend(scene, complex(EDGE, below), options.width - 2 * EDGE)
        parts.append(piece)
        below += used
    return svg.group(*parts), below + 8, [said(rest.belt, scene)]


def _laid(rest: BeltAtRest) -> tuple[LaidBelt | None, bool]:
    """The belt on its wheels, and whether that is to scale."""
    shape = rest.shape
    if shape is None or not bool(shape.path.closed):
        return schematic(rest.belt), False
    return LaidBelt(rest.belt, shape.centres, shape.radii_mm, shape.path), True


def _scene(drive: Drive, laid: LaidBelt, options: DrawOptions, top: float, to_scale: bool) -> tuple[Scene, float]:
    low, high = bounds(laid)
    size = high - low
    scale = min((options.width - 2 * MARGIN) / size.real, (TALLEST - 2 * MARGIN) / size.imag)
    height = size.imag * scale + 2 * MARGIN
    left = (options.width - size.real * scale) / 2 - low.real * scale
    origin = complex(left, top + height - MARGIN + low.imag * scale)
    return Scene(drive, laid, scale, origin, options.crank_deg, to_scale), height


def _tensioners(rest: BeltAtRest) -> list[tuple[Stands, str]]:
    if not rest.tensioners:
        return [(Stands(table), table.pulley) for table in rest.belt.tensioners]
    return [
        (Stands(one.stand.table, one.rest.pointer, one.rest.adjuster_deg), one.stand.table.pulley)
        for one in rest.tensioners
    ]


def _drawn(scene: Scene, rest: BeltAtRest, page: Page, options: DrawOptions) -> str:
    """Wheels, belt, marks and every word on them, in this order from back to front."""
    by_pulley = {name: stands for stands, name in _tensioners(rest)} if scene.to_scale else {}
    ids = [pulley.id for pulley in scene.belt.pulleys]
    mounts = [mounting_art(scene, ids.index(name), stands) for name, stands in by_pulley.items() if name in ids]
    for mount in mounts:
        page.ink_points(list(mount.points), 5)
    wheels = [wheel_art(scene, at) for at in range(len(ids))]
    page.ink_points(belt_outline(scene), max(scene.back, scene.depth) + 2)
    for at in range(len(ids)):
        page.ink_disc(scene.centres[at], scene.rim(at) + 1)
    lines, line_labels = painted_art(scene)
    ticks, tick_labels = tens(scene) if options.tooth_numbers else ("", [])
    arrow, start, end = travel_arrow(scene)
    _ink_marks(scene, page)
    page.ink_points([start + (end - start) * step / 8 for step in range(9)], 5)
    words = [put(page, Label((name,), foot, 3.0, 10, outward=out, bold=True)) for name, foot, out in line_labels]
    words += [put_at(page, Label((name,), foot, 2.0, 8.5, outward=out)) for name, foot, out in tick_labels]
    words += _names(scene, page)
    behind, before = [mount.behind for mount in mounts], [mount.before for mount in mounts]
    return svg.group(*behind, *wheels, *before, belt_art(scene), ticks, lines, marks_art(scene), arrow, *words)


def _ink_marks(scene: Scene, page: Page) -> None:
    for at, pulley in enumerate(scene.belt.pulleys):
        if pulley.table.mark_deg is not None and pulley.toothed:
            out = clock(pulley.table.mark_deg)
            page.ink_disc(scene.centres[at] + out * (scene.radii[at] + scene.back + 5), 6)


def _names(scene: Scene, page: Page) -> list[str]:
    """Names of wheels, letters of spans, the words taut side and slack side."""
    words = []
    for at, pulley in enumerate(scene.belt.pulleys):
        lines = (pulley.id, f"{pulley.teeth} teeth") if pulley.teeth else (pulley.id,)
        rim = scene.rim(at)
        if rim > LARGE and svg.text_width(pulley.id, 11) < 1.6 * rim:
            centre = scene.centres[at] + (-0.3j * rim - 4j if name_above(scene, at) else 0.3j * rim + 4j)
            words += [svg.text(centre + 12j * row, line, 11 - row, anchor="middle") for row, line in enumerate(lines)]
        else:
            clear = rim + scene.depth + 6
            avoid = () if pulley.table.mark_deg is None else (clock(pulley.table.mark_deg),)
            words.append(put(page, Label(lines, scene.centres[at], clear, leader=0.86 * rim, avoid=avoid)))
    middles = [
        scene.page(complex(scene.laid.path.leaves[at] + scene.laid.path.enters[at]) / 2)
        for at in range(len(scene.belt.pulleys))
    ]
    for at, middle in enumerate(middles):
        inward = scene.toothward(complex(scene.laid.path.directions[at]))
        letter = Label((span_letter(at),), middle, scene.depth + 4, 11, outward=inward, bold=True)
        words.append(put(page, letter))
    for side in ("taut", "slack"):
        here = [at for at, found in enumerate(scene.sides) if found == side]
        if here:
            longest = max(here, key=lambda at: float(scene.laid.path.spans_mm[at]))
            outward = -scene.toothward(complex(scene.laid.path.directions[longest]))
            spot = Label((f"{side} side",), middles[longest], scene.back + 8, 11, outward=outward, bold=True)
            words.append(put(page, spot))
    return words


def span_letter(at: int) -> str:
    """Letter of the span that leaves pulley ``at``."""
    return chr(ord("A") + at) if at < 26 else f"A{at - 25}"


def _only_list(belt: Belt, top: float) -> str:
    rows = [f"{place + 1}. {pulley.id}" for place, pulley in enumerate(belt.pulleys)]
    lines = ["In the order of travel (no drawing possible):", *rows]
    return "".join(svg.text(complex(EDGE, top + 12 + 15 * row), words) for row, words in enumerate(lines))
