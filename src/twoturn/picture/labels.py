"""Finding free places for words: a coarse grid remembers what is already inked."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from twoturn.picture import svg

CELL = 2.0
WAYS = [complex(np.cos(angle), np.sin(angle)) for angle in np.radians(np.arange(0, 360, 15))]


@dataclass
class Page:
    """Which cells of a panel are inked; the one thing here that changes while a picture is made.

    Attributes
    ----------
    width, height
        Size of the panel [page units].
    taken
        Ink of each cell; shape (rows, columns) [-]: 1 where words must not lie at all.
    """

    width: float
    height: float
    taken: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        self.taken = np.zeros((int(self.height / CELL) + 1, int(self.width / CELL) + 1))

    def ink_disc(self, centre: complex, radius: float, weight: float = 1.0) -> None:
        """Take a disc."""
        rows, columns = np.ogrid[: self.taken.shape[0], : self.taken.shape[1]]
        inside = np.hypot(columns * CELL - centre.real, rows * CELL - centre.imag) <= radius
        self.taken[inside] = np.maximum(self.taken[inside], weight)

    def ink_points(self, points: list[complex], radius: float) -> None:
        """Take a thick line through points."""
        reach = int(np.ceil(radius / CELL))
        for place in points:
            row, column = round(place.imag / CELL), round(place.real / CELL)
            low_row, low_column = max(0, row - reach), max(0, column - reach)
            self.taken[low_row : row + reach + 1, low_column : column + reach + 1] = 1.0

    def ink_box(self, corner: complex, width: float, height: float) -> None:
        """Take a box by its upper left corner."""
        rows, columns = self._cells(corner, width, height)
        self.taken[rows, columns] = 1.0

    def used(self) -> tuple[float, float]:
        """First and last inked height [page units]; the whole panel when nothing is."""
        rows = np.flatnonzero(self.taken.any(axis=1))
        return (float(rows[0] * CELL), float(rows[-1] * CELL)) if rows.size else (0.0, self.height)

    def cost(self, corner: complex, width: float, height: float) -> float:
        """Inked share of a box [-]; infinite outside the panel."""
        outside = corner.real < 0 or corner.imag < 0
        if outside or corner.real + width > self.width or corner.imag + height > self.height:
            return float("inf")
        rows, columns = self._cells(corner, width, height)
        cells = self.taken[rows, columns]
        return float(cells.mean()) if cells.size else 0.0

    def _cells(self, corner: complex, width: float, height: float) -> tuple[slice, slice]:
        top, left = int(corner.imag / CELL), int(corner.real / CELL)
        bottom, right = int(np.ceil((corner.imag + height) / CELL)), int(np.ceil((corner.real + width) / CELL))
        return slice(max(0, top), bottom + 1), slice(max(0, left), right + 1)


@dataclass(frozen=True)
class Label:
    """Words to be placed near something.

    Attributes
    ----------
    lines
        The lines of text.
    near
        What they belong to, on the page.
    clear
        Least distance from ``near`` to the middle of the words along any direction [page units].
    size
        Font size of the first line; the others are one unit smaller.
    leader
        How far from ``near`` a thin line that ties the words to it begins [page units]; no line when 0.
    outward
        Preferred direction; any when 0.
    bold
        Whether the first line is bold.
    avoid
        Directions that something else points along; words do not go there.
    """

    lines: tuple[str, ...]
    near: complex
    clear: float
    size: float = 11.0
    leader: float = 0.0
    outward: complex = 0j
    bold: bool = False
    avoid: tuple[complex, ...] = ()

    @property
    def width(self) -> float:
        """Width of the words [page units]."""
        return max(svg.text_width(words, self.size) for words in self.lines) * (1.08 if self.bold else 1.0)

    @property
    def height(self) -> float:
        """Height of the words [page units]."""
        return self.size * 1.08 * len(self.lines)


def put(page: Page, label: Label) -> str:
    """Place a label where least is inked, as near as can be, and take its place."""
    best, corner = float("inf"), label.near
    for distance in np.concatenate([np.arange(0, 40, 4.0), np.arange(44, 150, 8.0)]):
        if distance >= best:
            break
        for away in WAYS:
            reach = label.clear + distance + abs(away.real) * label.width / 2 + abs(away.imag) * label.height / 2
            middle = label.near + away * reach
            trial = middle - complex(label.width, label.height) / 2
            price = _price(page, label, trial, away, float(distance))
            if price < best:
                best, corner = price, trial
    page.ink_box(corner - (1 + 1j), label.width + 2, label.height + 2)
    return _words(label, corner) + _leader(label, corner)


def _price(page: Page, label: Label, corner: complex, away: complex, distance: float) -> float:
    ink = page.cost(corner, label.width, label.height)
    lean = 0.0
    if label.outward:
        lean = 12.0 * (1 - (away * label.outward.conjugate()).real / abs(label.outward))
    tie = _nearest(label, corner) - label.near
    tie = tie / abs(tie) if tie else away
    lean += sum(60.0 for other in label.avoid if (tie * other.conjugate()).real > 0.94)
    return ink * 400 + distance + lean


def put_at(page: Page, label: Label) -> str:
    """Place a label at a fixed distance outward of its foot; nothing when that place is well taken."""
    away = label.outward / abs(label.outward)
    reach = label.clear + abs(away.real) * label.width / 2 + abs(away.imag) * label.height / 2
    corner = label.near + away * reach - complex(label.width, label.height) / 2
    if page.cost(corner, label.width, label.height) > 0.34:
        return ""
    page.ink_box(corner, label.width, label.height)
    return _words(label, corner)


def _words(label: Label, corner: complex) -> str:
    middle = corner.real + label.width / 2
    drawn = []
    for row, words in enumerate(label.lines):
        baseline = corner.imag + label.size * (0.84 + 1.08 * row)
        weight = "bold" if label.bold and row == 0 else None
        size = label.size if row == 0 else label.size - 1
        drawn.append(svg.text(complex(middle, baseline), words, size, anchor="middle", font_weight=weight))
    return "".join(drawn)


def _nearest(label: Label, corner: complex) -> complex:
    """Point of the words' box that is nearest to what they belong to."""
    right, bottom = corner.real + label.width, corner.imag + label.height
    return complex(min(max(label.near.real, corner.real), right), min(max(label.near.imag, corner.imag), bottom))


def _leader(label: Label, corner: complex) -> str:
    if not label.leader:
        return ""
    nearest = _nearest(label, corner)
    gap = nearest - label.near
    if abs(gap) <= label.leader + 7:
        return ""
    out = gap / abs(gap)
    start, end = label.near + out * label.leader, nearest - out * 2
    halo = svg.line(start, end, 3.0, stroke=svg.WHITE)
    return halo + svg.line(start, end, 0.8) + svg.circle(start, 1.6, fill=svg.INK, stroke="none")
