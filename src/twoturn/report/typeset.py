"""Typesetting a sheet: a template of this package, data as JSON, pictures as SVG; out comes a PDF that keeps its text.

The fonts are the package's own (fonts/, with their licence); nothing is taken from the machine, so the same data and
time give the same bytes.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib.resources import as_file, files
from typing import Any

from twoturn.errors import TwoTurnError

WIDEST_MM = 125.0
TALLEST_MM = 225.0


class SheetError(TwoTurnError):
    """A sheet that cannot be typeset."""


def typeset(
    template: str,
    data: Mapping[str, Any],
    pictures: Mapping[str, str] | None = None,
    timestamp: datetime | None = None,
) -> bytes:
    """Typeset one sheet.

    Parameters
    ----------
    template
        Name of a template in ``report/templates``, without its ending.
    data
        What the template prints; anything JSON can hold. The template reads it as ``data``.
    pictures
        Drawings and plots as SVG text, by the name the template asks for.
    timestamp
        The time the document carries (UTC where it names no zone); the start of 1970 when None. The clock is never
        asked.

    Returns
    -------
    bytes
        A PDF by PDF/UA-1 and PDF/A-2a.

    Raises
    ------
    SheetError
        The template is unknown or cannot be typeset with this data.
    """
    import typst

    moment = timestamp or datetime(1970, 1, 1, tzinfo=UTC)
    fixed = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    with as_file(files("twoturn.report")) as folder:
        source = folder / "templates" / f"{template}.typ"
        if not source.is_file():
            known = ", ".join(sorted(path.stem for path in (folder / "templates").glob("*.typ")))
            raise SheetError(f"there is no sheet called {template!r}", allowed=known)
        try:
            document = typst.compile(
                str(source),
                root=str(folder / "templates"),
                font_paths=[str(folder / "fonts")],
                ignore_system_fonts=True,
                format="pdf",
                sys_inputs={
                    "data": json.dumps(data, ensure_ascii=False, allow_nan=False),
                    "pictures": json.dumps(dict(pictures or {}), ensure_ascii=False),
                },
                pdf_standards=["ua-1", "a-2a"],
                timestamp=fixed.astimezone(UTC).replace(microsecond=0),
            )
        except typst.TypstError as error:
            raise SheetError(f"the sheet {template!r} cannot be typeset: {error}") from error
    return bytes(document)


def printed_width_mm(svg: str) -> float:
    """Width [mm] at which a drawing is printed: as wide as is pleasant, and never taller than a page has room for.

    Parameters
    ----------
    svg
        The drawing, with its ``viewBox``.
    """
    box = re.search(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"', svg)
    if box is None:
        return WIDEST_MM
    width, height = float(box.group(1)), float(box.group(2))
    return min(WIDEST_MM, TALLEST_MM * width / height) if height > 0 else WIDEST_MM
