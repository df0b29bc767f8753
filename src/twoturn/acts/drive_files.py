"""Where a drive's text comes from: a file of the person's own, or one of the drives shipped for practice."""

from __future__ import annotations

import difflib
from importlib.resources import files
from pathlib import Path

from twoturn.drive.toml_text import read_text
from twoturn.errors import DomainError


def shipped_drives() -> dict[str, str]:
    """Texts of the drive files shipped for practice, by name."""
    folder = files("twoturn.demo").joinpath("drives")
    if not folder.is_dir():
        return {}
    found = {item.name.removesuffix(".toml"): item for item in folder.iterdir() if item.name.endswith(".toml")}
    return {name: found[name].read_text(encoding="utf-8") for name in sorted(found)}


def drive_text(name: str | Path) -> str:
    """Text of the drive that a name means: a file, or one shipped for practice.

    Parameters
    ----------
    name
        Path of a drive file, or the name of a shipped drive.

    Raises
    ------
    DomainError
        There is no such file, and no shipped drive of that name.
    FileFaults
        The file cannot be read.
    """
    if not Path(name).exists():
        shipped = shipped_drives()
        if str(name) in shipped:
            return shipped[str(name)]
        near = difflib.get_close_matches(str(name), shipped, n=1, cutoff=0.6)
        also = f', or name the practice drive "{near[0]}"' if near else ""
        raise DomainError(f"there is no file {name}", next_step=f"check the name and the folder{also}")
    return read_text(name)
