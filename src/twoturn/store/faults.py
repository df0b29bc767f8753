# ruff: noqa: N818 - these names say what is the matter
"""What can go wrong with the record, each told in one sentence with the next step."""

from __future__ import annotations

from twoturn.errors import TwoTurnError


class StoreError(TwoTurnError):
    """The record cannot do what was asked; nothing was half done."""


class Busy(StoreError):
    """Another program holds the record's database for longer than can be waited."""


class DiskFull(StoreError):
    """No room is left on the disk, or a limit on file sizes is reached."""


class ReadOnly(StoreError):
    """The record's folder or database may not be written."""


class Gone(StoreError):
    """The record's file or folder was taken away, or its database server cannot be reached."""


class Damaged(StoreError):
    """A file of the record cannot be trusted."""


class Conflict(StoreError):
    """Something of that name is there already, or somebody saved the same at the same moment."""


class OnlyAdded(StoreError):
    """Somebody tried to change or take away what is only ever added to."""


class NotFound(StoreError):
    """The record holds nothing of that number or name."""


class NewerSchema(StoreError):
    """The record or backup was written by a newer twoturn than this one."""


class KeyReused(StoreError):
    """A sending's key came again with other content."""


class KeyInFlight(StoreError):
    """A sending with the same key is being written at this moment."""


class PlaceRefused(StoreError):
    """The folder is no safe place for a live record."""


class ArchiveRefused(StoreError):
    """A backup file that is damaged, or none at all."""


class BenchRuns(StoreError):
    """A bench is running on the folder."""


class TooLarge(StoreError):
    """A file is larger than the bench takes in."""
