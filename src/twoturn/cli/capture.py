"""``twoturn capture``: what a recording of crank and cam sensors says."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def capture(  # noqa: PLR0913, PLR0917 - a command's options are its parameters
    file: Annotated[Path, typer.Argument(help="The recording: CSV, VCD, WAV or MDF, also packed with gzip.")],
    crank: Annotated[str | None, typer.Option("--crank", help="Crank channel, by name or number.")] = None,
    cam: Annotated[
        list[str] | None, typer.Option("--cam", help="Cam channel, by name or number; may be repeated.")
    ] = None,
    edge: Annotated[
        str | None,
        typer.Option("--edge", help="Crank edge to read, rising or falling; of bare edge times: which they are."),
    ] = None,
    against: Annotated[
        Path | None, typer.Option("--against", help="Recording to compare with, before the work or of a right engine.")
    ] = None,
    drive: Annotated[Path | None, typer.Option("--drive", help="The drive file.")] = None,
    deg_per_tooth: Annotated[
        str | None, typer.Option("--deg-per-tooth", help="Crank degrees of one belt tooth, without a drive file.")
    ] = None,
    temperature_c: Annotated[
        str | None, typer.Option("--temperature-c", help="Temperature of the engine at the recording, in °C.")
    ] = None,
    against_temperature_c: Annotated[
        str | None, typer.Option("--against-temperature-c", help="The same of the reference recording.")
    ] = None,
    phaser_locked: Annotated[
        bool, typer.Option("--phaser-locked", help="Every timing adjuster (phaser) stood locked.")
    ] = False,
    crank_wheel: Annotated[
        str | None,
        typer.Option("--crank-wheel", help="The crank sensor's wheel: 60-2, 36-2-2, 12+1, or 58 without a gap."),
    ] = None,
    svg: Annotated[Path | None, typer.Option("--svg", help="Write a picture of the recording here.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Read crank and cam sensors: cam edges in crank degrees, and how late a cam is."""
    from twoturn.acts.capture import capture_json, read_sensors
    from twoturn.acts.capture_picture import answer_svg
    from twoturn.acts.capture_request import Request
    from twoturn.acts.outputs import check_output, write_output
    from twoturn.cli.capture_text import capture_lines
    from twoturn.cli.output import print_json, print_line
    from twoturn.cli.progress import shown
    from twoturn.quantity.parse import parse

    now, then = (None if told is None else parse(told, "°C").value for told in (temperature_c, against_temperature_c))
    per_tooth = None if deg_per_tooth is None else parse(deg_per_tooth, "°").value
    request = Request(crank, tuple(cam or ()), edge, against, drive, per_tooth, now, then, phaser_locked, crank_wheel)
    if svg is not None:
        check_output(svg, ".svg", "the picture")
    with shown("Reading the sensors"):
        read = read_sensors(file, request)
        answer = capture_json(read)
    if svg is not None:
        write_output(svg, answer_svg(read, file.name).encode(), ".svg", "the picture")
    if as_json:
        print_json(answer)
        return
    for line in capture_lines(answer):
        print_line(line)
