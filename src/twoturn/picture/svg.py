"""A small helper that writes SVG: numbers kept short, text kept as text, nothing fetched from anywhere.

Only plain presentation attributes are used, so that a browser and a typesetter show the same picture.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

INK = "#111111"
PALE = "#e6e6e6"
WHITE = "#ffffff"
FAMILY = "sans-serif"
WIDE = set("mwMW@%—")
NARROW = set("iljtfrI.,:;|'!()[] 1")


def num(value: float) -> str:
    """A coordinate with at most two decimals."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def tag(name: str, attributes: dict[str, object], *inside: str) -> str:
    """One element; underscores in attribute names become hyphens, None is left out, numbers are shortened."""
    parts = [name]
    for key, value in attributes.items():
        if value is not None:
            shown = num(value) if isinstance(value, float) else str(value)
            parts.append(f'{key.rstrip("_").replace("_", "-")}="{escape(shown, quote=True)}"')
    head = " ".join(parts)
    return f"<{head}>{''.join(inside)}</{name}>" if inside else f"<{head}/>"


def group(*inside: str, **attributes: object) -> str:
    """A group of elements."""
    return tag("g", attributes, *inside) if inside else ""


def text_width(text: str, size: float) -> float:
    """Width of a line of text in a plain sans, estimated on the safe side, in the unit of ``size``."""
    units = sum(0.90 if char in WIDE else 0.34 if char in NARROW else 0.68 if char.isupper() else 0.6 for char in text)
    return units * size


def text(at: complex, words: str, size: float = 11.0, **attributes: object) -> str:
    """A line of text with its baseline at ``at``; ``anchor`` start, middle or end; other attributes as in SVG."""
    anchor = attributes.pop("anchor", "start")
    base = {"x": float(at.real), "y": float(at.imag), "font_size": size, "text_anchor": anchor, "fill": INK}
    return tag("text", {**base, **attributes}, escape(words))


def line(start: complex, end: complex, width: float = 1.0, **attributes: object) -> str:
    """A straight stroke."""
    ends = {"x1": float(start.real), "y1": float(start.imag), "x2": float(end.real), "y2": float(end.imag)}
    return tag("line", {**ends, "stroke": INK, "stroke_width": width, **attributes})


def circle(centre: complex, radius: float, **attributes: object) -> str:
    """A circle, white with an ink rim unless told otherwise."""
    base = {"cx": float(centre.real), "cy": float(centre.imag), "r": float(radius)}
    return tag("circle", {**base, "fill": WHITE, "stroke": INK, "stroke_width": 1.0, **attributes})


def rect(corner: complex, width: float, height: float, **attributes: object) -> str:
    """A rectangle by its upper left corner."""
    base = {"x": float(corner.real), "y": float(corner.imag), "width": float(width), "height": float(height)}
    return tag("rect", {**base, "fill": WHITE, "stroke": INK, "stroke_width": 1.0, **attributes})


def path(data: str, **attributes: object) -> str:
    """A path, an ink stroke without fill unless told otherwise."""
    return tag("path", {"d": data, "fill": "none", "stroke": INK, "stroke_width": 1.0, **attributes})


def point(at: complex) -> str:
    """A point as path data."""
    return f"{num(at.real)} {num(at.imag)}"


def polyline(points: Iterable[complex], close: bool = False) -> str:
    """Path data through points."""
    return "M" + "L".join(point(at) for at in points) + ("Z" if close else "")


def arc_to(end: complex, radius: float, clockwise: bool, large: bool = False) -> str:
    """Path data of an arc from the present point to ``end``; ``clockwise`` as seen on the page."""
    return f"A{num(radius)} {num(radius)} 0 {int(large)} {int(clockwise)} {point(end)}"


@dataclass(frozen=True)
class Picture:
    """A picture before it is written out.

    Attributes
    ----------
    width, height
        Size of the drawing's own units [-]; one unit is a pixel on a narrow phone.
    title, desc
        Said to a person who cannot see it.
    body
        Its elements.
    family
        Font family of all text.
    """

    width: float
    height: float
    title: str
    desc: str
    body: Sequence[str]
    family: str = FAMILY

    def svg(self) -> str:
        """The SVG document."""
        attributes = {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {num(self.width)} {num(self.height)}",
            "width": num(self.width),
            "height": num(self.height),
            "role": "img",
            "font_family": self.family,
        }
        head = tag("title", {}, escape(self.title)) + tag("desc", {}, escape(self.desc))
        paper = rect(0j, self.width, self.height, stroke="none")
        parts = attributes.items()
        opened = " ".join(f'{key.replace("font_", "font-")}="{escape(str(value), quote=True)}"' for key, value in parts)
        return f"<svg {opened}>{head}{paper}{''.join(self.body)}</svg>"


def wrapped(words: str, size: float, width: float) -> list[str]:
    """Text broken into lines no wider than ``width``, by words; a number keeps its unit."""
    lines: list[str] = []
    for word in re.sub(r"(?<=[0-9]) (?=(?:mm|Hz|N|N·m|teeth|bar)\b)", "\u00a0", words).split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def arrow_head(tip: complex, direction: complex, size: float = 6.0) -> str:
    """A filled arrow head whose tip points along ``direction`` (page axes, y down)."""
    along = direction / abs(direction) * size
    across = along * 0.42j
    return path(polyline([tip, tip - along + across, tip - along - across], close=True), fill=INK, stroke="none")
