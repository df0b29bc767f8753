"""Captures written as measurement data files (MDF, ASAM): any number of channel groups, each with its own time base."""

from twoturn.capture.formats.mdf.reader import probe, read

__all__ = ["probe", "read"]
