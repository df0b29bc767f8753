"""Invented drives with every kind of tensioner, as text; each closes near its notch."""

from __future__ import annotations

import random

from tests.mechanics.slow_drive import SlowDrive

BODY = """
[drive]
name = "test drive (invented)"
crank_turns = "{turns}"
source = "made for a test"
block_expansion_per_k = {block}

[[belt]]
teeth = {teeth}
pitch_mm = {pitch}
back_mm = 1.6
tip_mm = 2.8
stiffness_n = {stiffness}
length_at_n = {at_n}
expansion_per_k = {expansion}
length_error_mm = {error}
closure = "{closure}"

[[pulley]]
id = "crank"
role = "crankshaft"
teeth = 22
at_mm = [0.0, 0.0]
belt_side = "teeth"
mark_deg = 0.0

[[pulley]]
id = "roller"
role = "tensioner"
diameter_mm = 60.0
belt_side = "back"

[[pulley]]
id = "cam"
role = "camshaft"
teeth = 44
at_mm = [{cam[0]}, {cam[1]}]
belt_side = "teeth"
mark_deg = 5.0

[[pulley]]
id = "guide"
role = "idler"
diameter_mm = 44.0
belt_side = "back"
at_mm = [{guide[0]}, {guide[1]}]

[[pulley]]
id = "pump"
role = "coolant pump"
teeth = 20
at_mm = [{pump[0]}, {pump[1]}]
belt_side = "teeth"

[[tensioner]]
pulley = "roller"
{tensioner}
"""

# clockwise travel runs up the left side; the back roller there tightens by moving right, towards the loop
KINDS = {
    "locked set": """
kind = "locked eccentric"
tightens = "clockwise"
bolt_mm = [-52.0, 130.0]
arm_mm = 6.0
notch_deg = 20.0
set_deg = 12.0
""",
    "locked target": """
kind = "locked eccentric"
tightens = "counter-clockwise"
bolt_mm = [-52.0, 130.0]
arm_mm = 6.0
notch_deg = 175.0
target_n = {tension}
window_deg = [-30, 35]
stops_deg = [-60, 60]
""",
    "double": """
kind = "double eccentric"
tightens = "clockwise"
bolt_mm = [-52.0, 130.0]
adjuster_mm = 5.0
adjuster_range_deg = [-10.0, 95.0]
adjust_turns = "clockwise"
arm_mm = 6.5
notch_deg = 350.0
window_deg = [-5, 6]
stops_deg = [-40, 45]
spring_nm = {nm}
rate_nm_per_deg = 0.012
friction_nm = 0.11
""",
    "double reacts": """
kind = "double eccentric"
tightens = "counter-clockwise"
bolt_mm = [-52.0, 130.0]
adjuster_mm = 5.0
adjuster_deg = {adjuster}
adjuster_range_deg = [-10.0, 95.0]
adjust_turns = "clockwise"
arm_mm = 6.5
notch_deg = 180.0
window_deg = [-5, 6]
stops_deg = [-40, 45]
spring_nm = {nm}
rate_nm_per_deg = 0.012
friction_nm = 0.11
spring_reacts_on = "adjuster"
""",
    "arm": """
kind = "sprung arm"
tightens = "clockwise"
pivot_mm = [-110.0, 90.0]
arm_mm = 70.0
notch_deg = 55.0
window_deg = [-3, 3]
stops_deg = [-9, 12]
spring_nm = {nm}
rate_nm_per_deg = 0.15
friction_nm = 0.9
""",
    "arm locked": """
kind = "sprung arm"
tightens = "clockwise"
pivot_mm = [-110.0, 90.0]
arm_mm = 70.0
notch_deg = 55.0
stops_deg = [-9, 12]
spring_nm = {nm}
rate_nm_per_deg = 0.15
locked_after_setting = true
""",
    "slide": """
kind = "slide"
at_notch_mm = [-53.0, 130.0]
tightens_deg = 80.0
window_mm = [-1.5, 1.5]
stops_mm = [-8.0, 9.0]
spring_n = {n}
rate_n_per_mm = 4.0
friction_n = 9.0
""",
    "ram": """
kind = "hydraulic"
tightens = "clockwise"
pivot_mm = [-110.0, 90.0]
base_mm = [-170.0, 128.0]
arm_mm = 70.0
notch_deg = 55.0
ram_arm_mm = 45.0
ram_deg = -20.0
stops_deg = [-9, 12]
window_mm = [5.5, 8.0]
ram_n = {ram}
rate_n_per_mm = 5.0
friction_n = 22.0
protrusion_at_notch_mm = 6.5
""",
}


def drive_text(kind: str, seed: int, closure: str = "as given") -> str:
    """A drive of one kind with numbers drawn from ``seed``, the belt cut so that it closes within a millimetre."""
    draw = random.Random(seed)
    values = {
        "turns": "clockwise",
        "block": draw.choice([11e-6, 21.5e-6]),
        "pitch": draw.choice([8.0, 9.525]),
        "stiffness": draw.uniform(250e3, 500e3),
        "at_n": draw.choice([0.0, 120.0]),
        "expansion": draw.choice([0.0, 2e-6]),
        "closure": "as given",
        "cam": (draw.uniform(-6, 6), draw.uniform(300, 320)),
        "guide": (draw.uniform(62, 68), draw.uniform(210, 220)),
        "pump": (draw.uniform(84, 92), draw.uniform(95, 105)),
        "teeth": 100,
        "error": 0.0,
    }
    tension = draw.uniform(220, 380)
    springs = {"tension": tension, "nm": 1.0, "n": 1.0, "ram": 1.0, "adjuster": draw.uniform(45, 55)}
    text = BODY.format(tensioner=KINDS[kind].format(**springs), **values)
    slow = SlowDrive(text)
    if kind.startswith("double"):
        slow.alpha = draw.uniform(45, 55)
    lever = slow.lever(0.0)
    springs |= {"nm": tension * lever / 1000, "n": tension * lever}
    if kind == "ram":
        springs["ram"] = tension * lever / slow.effort(0.0, 0.0)
    length = slow.relaxed(slow.length(0.0), tension) + draw.uniform(-0.15, 0.15)
    values["teeth"] = round(length / values["pitch"])
    values["error"] = length - values["teeth"] * values["pitch"]
    values["closure"] = closure
    return BODY.format(tensioner=KINDS[kind].format(**springs), **values)
