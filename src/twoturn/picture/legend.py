"""What the signs of a drawing mean, the spans by letter, and the same said in words for a person who cannot see it."""

from __future__ import annotations

from twoturn.drive.parts import Belt
from twoturn.picture import svg
from twoturn.picture.scene import Scene, Side
from twoturn.timing.counts import ToothCount, tooth_counts
from twoturn.words.numbers import list_words, plain

ROW = 15.0
SIDE_WORDS: dict[Side, str] = {"taut": "taut side", "slack": "slack side", "between": "between the two"}


def legend(scene: Scene, corner: complex, width: float) -> tuple[str, float]:
    """Signs, tooth counts and spans from ``corner`` on [page units], with the height used."""
    parts = [svg.line(corner, corner + width, 0.6)]
    at = corner + 4j
    for row in _signs(scene):
        x = 0.0
        for sign, words in row:
            parts += [_sign(sign, at + x + (ROW / 2) * 1j), svg.text(at + x + 26 + 11j, words, 10.5)]
            x += 42 + svg.text_width(words, 10.5)
        at += ROW * 1j
    at += 4j
    for sentence in _sentences(scene):
        for row_words in svg.wrapped(sentence, 10.5, width):
            parts.append(svg.text(at + 11j, row_words, 10.5))
            at += ROW * 1j
    return svg.group(*parts), (at - corner).imag + 4


def _signs(scene: Scene) -> list[list[tuple[str, str]]]:
    sides = set(scene.sides)
    first: list[tuple[str, str]] = [(side, SIDE_WORDS[side]) for side in ("taut", "slack", "between") if side in sides]
    second = [("travel", "travel")]
    if scene.belt.marked:
        second += [("mark", "mark"), ("fixed", "fixed mark")]
    if scene.to_scale and scene.belt.table.marks and scene.belt.driver.table.mark_deg is not None:
        second.append(("line", "painted line"))
    return [row for row in (first, second) if row]


def _sign(sign: str, at: complex) -> str:
    fills = {"taut": svg.INK, "slack": svg.WHITE, "between": "#bdbdbd"}
    if sign in fills:
        box = svg.rect(at - 3j, 20, 6, fill=fills[sign], stroke_width=0.8)
        strokes = "".join(svg.polyline([at + x + 3j, at + x + 2.5 - 3j]) for x in range(2, 18, 4))
        return box + (svg.path(strokes, stroke_width=1.1) if sign == "slack" else "")
    if sign in ("mark", "fixed"):
        corners = [at + 10 - 4j, at + 14 + 4j, at + 6 + 4j]
        return svg.path(svg.polyline(corners, close=True), fill=svg.INK if sign == "mark" else svg.WHITE)
    if sign == "travel":
        return svg.line(at, at + 14, 1.6) + svg.arrow_head(at + 20, 1 + 0j, 8)
    return svg.rect(at + 8.5 - 6j, 3, 12)


def _sentences(scene: Scene) -> list[str]:
    said = [] if scene.to_scale else ["Not to scale: only the order and the side of the belt are drawn."]
    said += counted(scene)
    said += _lines_words(scene)
    for at, side in enumerate(scene.sides):
        length = f", {plain(float(scene.laid.path.spans_mm[at]), 0)} mm" if scene.to_scale else ""
        said.append(f"{chr(ord('A') + at)}  {span_name(scene.belt, at)} – {SIDE_WORDS[side]}{length}")
    return said


def _lines_words(scene: Scene) -> list[str]:
    lines = scene.belt.table.marks
    if not lines or (scene.to_scale and scene.belt.driver.table.mark_deg is not None):
        return []
    return [f"Painted lines at belt teeth {list_words([str(line) for line in lines])}."]


def span_name(belt: Belt, at: int) -> str:
    """Name of the span that leaves pulley ``at``: ``from:to`` in belt order."""
    return f"{belt.pulleys[at].id}:{belt.pulleys[(at + 1) % len(belt.pulleys)].id}"


def counted(scene: Scene) -> list[str]:
    """Belt teeth from mark to mark, a sentence each; none for a scheme."""
    if not scene.to_scale:
        return []
    rows = tooth_counts(scene.laid)
    if len(rows) < 2:
        return []
    return [f"{row.start} mark to {row.end} mark, along travel: {plain(row.teeth, 1)} teeth{_odd(row)}" for row in rows]


def _odd(row: ToothCount) -> str:
    """A word on a count that is no whole number: the geometry of the drive file does not agree with the belt."""
    return "" if row.near_integer or row.closes else ", not near a whole number: check the drive file"


def said(belt: Belt, scene: Scene | None) -> str:
    """The drawing in words: order along travel, sides, counts."""
    order = list_words([pulley.id for pulley in belt.pulleys])
    words = [f"Belt {belt.id} with {belt.table.teeth} teeth runs over {order}, in this order along travel."]
    if scene is not None:
        if not scene.to_scale:
            words.append("The drawing is not to scale.")
        for side in ("taut", "slack"):
            spans = [span_name(belt, at) for at, found in enumerate(scene.sides) if found == side]
            if spans:
                words.append(f"{side.capitalize()} side: {list_words(spans)}.")
        words += [f"{sentence}." for sentence in counted(scene)]
    return " ".join(words)
