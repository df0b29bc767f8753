"""Captures written as text: any separator, header or none, units, comments, decimal comma."""

from twoturn.capture.csv.layout import probe
from twoturn.capture.csv.reader import read

__all__ = ["probe", "read"]
