"""Captures written as value change dumps (VCD, IEEE 1364): levels, numbers and real values at their changes."""

from twoturn.capture.formats.vcd.header import probe
from twoturn.capture.formats.vcd.reader import read

__all__ = ["probe", "read"]
