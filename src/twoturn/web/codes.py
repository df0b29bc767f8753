"""An address as a code for a camera (ISO/IEC 18004): as a picture, and as characters for a terminal."""

from __future__ import annotations

import io


def code_svg(address: str) -> str:
    """The code as SVG, dark on light with its quiet zone, whatever the page's colours are."""
    import segno

    return str(segno.make(address, error="m", micro=False).svg_inline(scale=7, dark="#000", light="#fff", border=4))


def code_lines(address: str) -> tuple[str, ...]:
    """The code as lines of half blocks, two modules a line."""
    import segno

    written = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out=written, border=2, compact=True)
    return tuple(written.getvalue().rstrip("\n").split("\n"))
