"""Reading a drive file: text to drive, with every fault collected."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from twoturn.drive.build import build_drive
from twoturn.drive.faults import FaultList
from twoturn.drive.model.file import DriveFile
from twoturn.drive.parts import Drive
from twoturn.drive.plain import note_model_errors
from twoturn.drive.toml_text import read_text, read_toml


def load_drive(path: str | Path) -> Drive:
    """The drive that the drive file at ``path`` describes.

    Parameters
    ----------
    path
        The drive file.

    Returns
    -------
    Drive
        The drive, understood.

    Raises
    ------
    FileFaults
        Every fault of the file, in file order.
    """
    return read_drive(read_text(path), str(path))


def read_drive(text: str, file_name: str) -> Drive:
    """The drive that the text of a drive file describes.

    Parameters
    ----------
    text
        The whole text.
    file_name
        Name of the file as it was given, for the faults.

    Returns
    -------
    Drive
        The drive, understood.

    Raises
    ------
    FileFaults
        Every fault of the text, in file order.
    """
    document = read_toml(text, file_name)
    faults = FaultList(file_name, text)
    try:
        file = DriveFile.model_validate(document)
    except ValidationError as error:
        note_model_errors(error, document, faults)
        faults.raise_if_any()
        raise
    return build_drive(file, faults)
