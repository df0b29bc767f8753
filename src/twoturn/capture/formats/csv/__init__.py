"""Captures written as text: any separator, header or none, units, comments, decimal comma."""

from twoturn.capture.formats.csv.layout import probe
from twoturn.capture.formats.csv.reader import read

__all__ = ["probe", "read"]
