"""Small drives as text, for tests of turning, threading and counting; every one is invented."""

from __future__ import annotations

import re

import numpy as np

from twoturn.drive.laid import LaidBelt, lay
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive

HEAD = """
[drive]
name = "test drive (invented)"
crank_turns = "{turns}"
source = "made for a test"
"""

TWO_EQUAL = (
    HEAD.format(turns="clockwise")
    + """
[[belt]]
id = "b"
teeth = {teeth}
pitch_mm = 8.0

[[pulley]]
id = "crank"
role = "crankshaft"
teeth = {z}
at_mm = [0.0, 0.0]
belt_side = "teeth"
mark_deg = 0.0

[[pulley]]
id = "cam"
role = "camshaft"
teeth = {z}
at_mm = [{distance}, 0.0]
{more}
belt_side = "teeth"
mark_deg = 0.0
"""
)

SIX = (
    HEAD.format(turns="clockwise")
    + """
[[belt]]
id = "b"
teeth = 131
pitch_mm = 8.0
back_mm = 1.5
marks = [0, 17, 60]

[[pulley]]
id = "crank"
role = "crankshaft"
teeth = 22
at_mm = [0.0, 0.0]
belt_side = "teeth"
mark_deg = 10.0

[[pulley]]
id = "roller"
role = "tensioner"
diameter_mm = 60.0
belt_side = "back"

[[pulley]]
id = "left cam"
role = "camshaft"
teeth = 44
at_mm = [-90.0, 300.0]
belt_side = "teeth"
mark_deg = -20.0

[[pulley]]
id = "right cam"
role = "camshaft"
teeth = 44
at_mm = [90.0, 305.0]
belt_side = "teeth"
mark_deg = 15.0

[[pulley]]
id = "pump"
role = "coolant pump"
teeth = 19
at_mm = [95.0, 120.0]
belt_side = "teeth"

[[tensioner]]
pulley = "roller"
kind = "sprung arm"
tightens = "clockwise"
pivot_mm = [-120.0, 120.0]
arm_mm = 40.0
notch_deg = 60.0
spring_nm = 10.0
rate_nm_per_deg = 0.05
stops_deg = [-40, 40]
"""
)
SIX_ROLLER_MM = -85.0 + 110.0j

MIRRORED_WORDS = {"clockwise": "counter-clockwise", "counter-clockwise": "clockwise"}


def mirrored(text: str) -> str:
    """The same drive seen in a mirror: x and clock angles change sign, so do the ways to turn."""
    text = re.sub(r'"(clockwise|counter-clockwise)"', lambda found: f'"{MIRRORED_WORDS[found[1]]}"', text)
    text = re.sub(r"(_mm = \[)([-0-9.]+)", lambda found: f"{found[1]}{-float(found[2])}", text)
    return re.sub(r"((?:mark|notch)_deg = )([-0-9.]+)", lambda found: f"{found[1]}{-float(found[2])}", text)


def two_equal(pitches_apart: int = 20, z: int = 24, more: str = "") -> str:
    """Two equal sprockets a whole number of pitches apart, both marks at twelve o'clock."""
    return TWO_EQUAL.format(teeth=z + 2 * pitches_apart, z=z, distance=8.0 * pitches_apart, more=more)


def drive_of(text: str) -> Drive:
    """The drive of a text."""
    return read_drive(text, "test.toml")


def laid_of(drive: Drive, roller: complex | None = None) -> LaidBelt:
    """The first belt on its wheels, the tensioner's pulley at ``roller`` [mm]."""
    belt = drive.belts[0]
    centres = [roller if pulley.centre_mm is None else complex(*pulley.centre_mm) for pulley in belt.pulleys]
    return lay(belt, np.array(centres, dtype=complex))
