"""``twoturn pluck``: the note of a plucked span, and its tension."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def pluck(
    file: Annotated[
        list[Path], typer.Argument(help="The recording: WAV, FLAC or what a telephone makes; several are read in turn.")
    ],
    drive: Annotated[Path | None, typer.Option(help="The drive file, for the tension.")] = None,
    span: Annotated[str | None, typer.Option(help="The span plucked, FROM:TO in belt order.")] = None,
    length_mm: Annotated[
        str | None, typer.Option("--length-mm", help="Free length of the span as measured, tangent to tangent.")
    ] = None,
    temperature_c: Annotated[str | None, typer.Option("--temperature-c", help="Engine temperature in °C.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else; of one recording.")] = False,
) -> None:
    """Hear a plucked span: its note and, with --drive and --span, its tension."""
    from twoturn.acts.pluck import answer_lines, hear
    from twoturn.cli.output import print_json, print_line
    from twoturn.cli.progress import shown
    from twoturn.errors import TwoTurnError
    from twoturn.quantity.parse import parse

    if as_json and len(file) > 1:
        raise TwoTurnError(f"--json with {len(file)} recordings", allowed="one", next_step="ask for each by itself")
    asked = None if temperature_c is None else parse(temperature_c, "°C").value
    length = None if length_mm is None else parse(length_mm, "mm").value
    for number, one in enumerate(file):
        with shown("Listening") as progress:
            answer = hear(one, drive, span, asked, progress, length)
        if as_json:
            print_json(answer.as_json())
            return
        if number:
            print_line()
        if len(file) > 1:
            print_line(f"== {one.name}")
        for line in answer_lines(answer):
            print_line(line)
