"""``twoturn pluck``: the note of a plucked span, and its tension."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from twoturn.acts.pluck import PluckAnswer


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
    from twoturn.acts.pluck import hear
    from twoturn.cli.progress import shown
    from twoturn.errors import TwoTurnError
    from twoturn.quantity.parse import parse

    if as_json and len(file) > 1:
        raise TwoTurnError(f"--json with {len(file)} recordings", allowed="one", next_step="ask for each by itself")
    asked = None if temperature_c is None else parse(temperature_c, "°C").value
    length = None if length_mm is None else parse(length_mm, "mm").value

    def heard(one: Path) -> PluckAnswer:
        with shown("Listening") as progress:
            return hear(one, drive, span, asked, progress, length)

    raise typer.Exit(_said_in_turn(file, heard, as_json))


def _said_in_turn(files: list[Path], heard: Callable[[Path], PluckAnswer], as_json: bool) -> int:
    """Print each recording's answer; one of several that cannot be read does not keep the others from it."""
    from twoturn.acts.pluck import answer_lines
    from twoturn.cli.output import print_json, print_line, report_error
    from twoturn.errors import TwoTurnError

    status = 0
    for number, one in enumerate(files):
        if number:
            print_line()
        if len(files) > 1:
            print_line(f"== {one.name}")
        try:
            answer = heard(one)
        except TwoTurnError as error:
            if len(files) == 1:
                raise
            status = report_error(error, as_json=False)
            continue
        if as_json:
            print_json(answer.as_json())
            return status
        for line in answer_lines(answer):
            print_line(line)
    return status
