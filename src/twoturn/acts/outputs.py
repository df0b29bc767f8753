"""Writing what a person asked for to a file, without ever destroying a file of another kind."""

from __future__ import annotations

from pathlib import Path

from twoturn.errors import TwoTurnError

BEGINNINGS = {".pdf": b"%PDF", ".svg": b"<svg"}


def check_output(path: Path, ending: str, what: str) -> None:
    """Refuse a place where a sheet or drawing must not be written; call it before long work.

    Parameters
    ----------
    path
        Where to write.
    ending
        ``".pdf"`` or ``".svg"``.
    what
        What is written, such as ``"the plan"``.

    Raises
    ------
    TwoTurnError
        The name ends otherwise, or a file that is there is not of this kind: it would be lost.
    """
    if path.suffix.lower() != ending:
        raise TwoTurnError(f"{what} cannot be written to {path}", allowed=f"a name that ends in {ending}")
    if path.is_file():
        with path.open("rb") as file:
            head = file.read(200).lstrip()
        if head and not head.startswith((BEGINNINGS[ending], b"<?xml")):
            raise TwoTurnError(
                f"{what} would overwrite {path}, which is another kind of file", next_step="name another file"
            )


def write_output(path: Path, content: bytes, ending: str, what: str) -> None:
    """Write a sheet or drawing; an older one of the same kind is replaced.

    Parameters
    ----------
    path, ending, what
        As for :func:`check_output`.
    content
        The bytes of the file.

    Raises
    ------
    TwoTurnError
        The place is refused, or cannot be written.
    """
    check_output(path, ending, what)
    try:
        path.write_bytes(content)
    except OSError as error:
        reason = (error.strerror or "it cannot be opened").lower()
        raise TwoTurnError(
            f"{what} cannot be written to {path}: {reason}", next_step="name a file in a folder that exists"
        ) from error
