"""The generated part of ``docs/command-line.md``: every command with its arguments and options, from the app itself."""

from __future__ import annotations

import inspect
import re
from pathlib import Path
from typing import Any

UNITS = re.compile(r"_(nm|mm|deg|c|low|high|tooth)$")
STATUSES = {
    0: "done; `prove`: proven; `verify` and `restore`: everything is as it was written",
    2: "bad input: one clear sentence says what is wrong, what is allowed and what to do next",
    3: "`prove` alone: not shown yet",
    4: "`prove`: not met; `verify` and `restore`: something is changed or missing",
}


def commands() -> dict[str, Any]:
    """The commands of the app by name."""
    import typer

    from twoturn.cli.main import app

    return dict(typer.main.get_command(app).commands)  # type: ignore[attr-defined]


def command_part() -> str:
    """Every command, then the exit statuses, as Markdown."""
    sections = [_section(name, command) for name, command in commands().items()]
    rows = [f"| {status} | {meaning} |" for status, meaning in STATUSES.items()]
    return "\n\n".join([*sections, "## Exit status", "\n".join(["| status | meaning |", "|---|---|", *rows])])


def _section(name: str, command: Any) -> str:
    arguments = [param for param in command.params if param.param_type_name == "argument"]
    options = [param for param in command.params if param.param_type_name == "option"]
    called = " ".join(["twoturn", name, *(_argument(param) for param in arguments)])
    needed = "".join(f" {param.opts[-1]} {_value(param)}" for param in options if param.required)
    rows = [f"| `{_argument(param)}` | {_help(param)} |" for param in arguments]
    rows += [f"| `{_option(param)}` | {_help(param)} |" for param in options]
    said = [" ".join(text.split()) for text in inspect.cleandoc(command.help or "").split("\n\n")]
    table = "\n".join(["| what | meaning |", "|---|---|", *rows])
    return "\n\n".join([f"## twoturn {name}", *said, f"    {called}{needed}", table])


def _argument(param: Any) -> str:
    return str(param.name).upper()


def _option(param: Any) -> str:
    return ", ".join(param.opts) + ("" if param.is_flag else f" {_value(param)}")


def _value(param: Any) -> str:
    if param.type_descriptor.annotation is Path:
        return "PATH"
    return "NUMBER" if UNITS.search(param.name) else "WORDS" if param.name != "span" else "FROM:TO"


def _help(param: Any) -> str:
    more = []
    if param.required and param.param_type_name == "option":
        more.append("Required.")
    if param.default is not None and not param.is_flag and param.param_type_name == "option":
        more.append(f"Default: `{param.default}`.")
    return " ".join([param.help or "", *more]).strip()
