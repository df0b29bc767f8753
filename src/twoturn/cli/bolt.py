"""``twoturn bolt``: what a torque does to a bolt."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from twoturn.acts.bolt import BoltAdvice


def bolt(  # noqa: PLR0913, PLR0917 - a command's options are its parameters
    thread: Annotated[str, typer.Argument(help="Thread, such as M8 or M10x1.25.")],
    grade: Annotated[str, typer.Option(help="Strength class stamped on the head, such as 8.8.")],
    torque_nm: Annotated[str, typer.Option(help="Tightening torque in N·m; 25,5 and 25.5 are the same.")],
    friction_low: Annotated[str | None, typer.Option(help="Lowest friction to count with (0.08).")] = None,
    friction_high: Annotated[str | None, typer.Option(help="Highest friction to count with (0.16).")] = None,
    extension_mm: Annotated[str | None, typer.Option(help="Extension from the wrench's square to the bolt.")] = None,
    wrench_mm: Annotated[str | None, typer.Option(help="Wrench from its square to the middle of the hand.")] = None,
    extension_angle_deg: Annotated[str | None, typer.Option(help="0 in line (longer), 90 square to it.")] = None,
    angle_deg: Annotated[str | None, typer.Option(help="Further angle after the torque.")] = None,
    grip_mm: Annotated[str | None, typer.Option(help="Clamped length, for the angle.")] = None,
    seat_mm: Annotated[str | None, typer.Option(help="Outer diameter of the seat; a hexagon's if left out.")] = None,
    json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """Preload and use of a bolt under a torque. Advice: the vehicle maker's torque wins."""
    from twoturn.acts.bolt import BoltQuestion, advise
    from twoturn.cli.output import print_json, print_line

    extension = (extension_mm, wrench_mm, extension_angle_deg)
    further = (angle_deg, grip_mm, seat_mm)
    advice = advise(BoltQuestion(thread, grade, torque_nm, friction_low, friction_high, *extension, *further))
    if json:
        print_json(advice.as_json())
    else:
        for line in _lines(advice):
            print_line(line)


def _lines(advice: BoltAdvice) -> list[str]:
    done, thread, mu = advice.tightened, advice.bolt.thread, advice.bolt.friction
    force, use, full = done.preload_n, done.utilisation, done.torque_90_nm
    rows = [
        ("Preload", f"{_kn(force.value)} kN, from {_kn(force.low)} to {_kn(force.high)} kN"),
        ("Yield used", f"{use.value:.0%}, from {use.low:.0%} to {use.high:.0%}".replace("%", " %")),
        ("0.9 of yield", f"at {full.value:.3g} N·m, from {full.low:.3g} to {full.high:.3g} N·m"),
        ("Friction", f"{mu.value:.3g}, from {mu.low:.3g} to {mu.high:.3g}"),
        ("Thread", f"pitch {thread.pitch_mm:g} mm, stress area {thread.stress_area_mm2:.1f} mm²"),
    ]
    for result in advice.stages[1:]:
        band = result.preload_n
        told = "not known" if band is None else f"{_kn(band.value)} kN, from {_kn(band.low)} to {_kn(band.high)} kN"
        rows.insert(1, (result.stage.words, told))
    if advice.setting_nm is not None:
        rows.append(("Set the wrench", f"to {advice.setting_nm:.3g} N·m with this extension"))
    head = f"{thread.designation}, class {advice.bolt.grade.name}, {advice.understood}"
    notes = [f"Note: {note}" for note in advice.notes]
    return [head, *(f"  {name:<16}{text}" for name, text in rows), *notes, f"Caution: {advice.caution}"]


def _kn(force_n: float) -> str:
    return f"{force_n / 1000:#.3g}".rstrip(".")
