"""Puts the pictures that the tests took of the bench's pages into ``docs/pictures/bench``, and writes their page.

Run it after ``make check-tests`` and look at what it kept: ``python -m tools.keep_screens``.
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
SCREENS = ROOT / "build" / "screens"
PICTURES = ROOT / "docs" / "pictures" / "bench"
PAGE = ROOT / "docs" / "bench-pages.md"
TALLEST = {"tablet": 1536, "phone": 1600}
"""How much of a long page is kept [px]: two screens."""
COLOURS = 48
TITLES = {
    "set-up": "First start on one computer",
    "lan-set-up": "First start on a network",
    "lan-sign-in": "Sign-in, after a sign-in that had ended",
    "lan-kept": "What was typed is kept",
    "start": "Jobs",
    "jobs-new-registration-NEW-201": "A new job, the vehicle unknown",
    "jobs-new-vehicle-1": "A new job, the vehicle known",
    "jobs-1": "A job",
    "jobs-1-boxes": "Boxes of the paper plan",
    "jobs-1-recordings": "A job's recordings",
    "jobs-1-hand-over": "Hand over",
    "vehicles": "Vehicles",
    "vehicles-1": "A vehicle",
    "vehicles-new-faults": "What is wrong is said where it is",
    "drives": "Drives",
    "drives-1": "A drive",
    "drives-1-edit": "The editor",
    "drives-new-taps": "A list drive by taps",
    "tools": "Torque tools",
    "tools-1": "A tool",
    "tools-certificate": "A certificate that was read",
    "people": "People",
    "who": "Who works here now",
    "settings": "Settings",
    "lan-devices": "Other devices",
    "about": "About",
}
HEAD = """# The pages of the bench

Each page over the invented shop, on a tablet (1024 × 768) and on a phone (360 × 800); of long pages the first two
screens. The pictures are taken by the tests and kept by `python -m tools.keep_screens`.

| page | tablet | phone |
|---|---|---|
"""


def main() -> None:
    """Keep the pictures, and write the page that shows them."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    rows = []
    for name, title in TITLES.items():
        cells = [_kept(name, title, size) for size in TALLEST]
        rows.append(f"| {title} | {' | '.join(cells)} |")
    PAGE.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    print(f"{len(rows)} pages kept")


def _kept(name: str, title: str, size: str) -> str:
    """Keep one picture, smaller; how the page shows it."""
    with Image.open(SCREENS / size / f"{name}.png") as taken:
        cut = taken.convert("RGB").crop((0, 0, taken.width, min(taken.height, TALLEST[size])))
    target = PICTURES / f"{name}-{size}.png"
    cut.quantize(COLOURS, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(target, optimize=True)
    width = 420 if size == "tablet" else 180
    return f'<img src="pictures/bench/{target.name}" width="{width}" alt="{title} on a {size}.">'


if __name__ == "__main__":
    main()
