"""Names of things as pages and sheets print them; code may keep the short technical word.

Every table maps the key used in files and code to the words a person reads.
"""

from __future__ import annotations

import re
from typing import Final

TENSIONER_KINDS: Final[dict[str, str]] = {
    "locked eccentric": "fixed roller, set by hand",
    "double eccentric": "automatic roller with pointer",
    "sprung arm": "roller on a spring-loaded arm",
    "slide": "roller on a spring-loaded slide",
    "hydraulic": "roller on an arm, pushed by a hydraulic ram",
}

ROLES: Final[dict[str, str]] = {
    "crankshaft": "crankshaft",
    "camshaft": "camshaft",
    "injection pump": "injection pump",
    "coolant pump": "coolant pump",
    "oil pump": "oil pump",
    "balance shaft": "balance shaft",
    "idler": "idler",
    "tensioner": "tensioner",
}

HUBS: Final[dict[str, str]] = {
    "keyed": "sprocket located by a key",
    "slotted": "sprocket with slotted holes",
    "taper": "sprocket on a taper without a key",
    "friction": "sprocket held by friction, without a key",
}

QUANTITIES: Final[dict[str, str]] = {
    "torque": "tightening torque",
    "angle": "tightening angle",
    "pointer": "pointer",
    "protrusion": "ram standing out",
    "frequency": "note of the plucked span",
    "tension": "belt tension",
    "mark": "timing mark",
    "cam phase": "camshaft timing",
    "pin": "locking pin",
    "play": "bearing play",
    "width": "belt width",
    "deflection": "deflection of the span",
    "hand twist": "twist of the span by hand",
    "pump lift": "pump lift",
    "pin depth": "depth of the pin",
    "offset": "offset by straightedge",
    "runout": "run-out",
    "compression": "compression",
}

DEFAULT_UNITS: Final[dict[str, str]] = {
    "torque": "N·m",
    "angle": "°",
    "pointer": "°",
    "protrusion": "mm",
    "frequency": "Hz",
    "tension": "N",
    "mark": "teeth",
    "cam phase": "° crank",
    "play": "mm",
    "width": "mm",
    "deflection": "mm",
    "pump lift": "mm",
    "pin depth": "mm",
    "offset": "mm",
    "runout": "mm",
    "compression": "bar",
}

STATES: Final[dict[str, str]] = {
    "as found": "as found",
    "as set": "as set, before the turns",
    "after turns": "after the turns by hand",
}

STAGES: Final[dict[str, str]] = {
    "due": "Due",
    "plan": "Plan",
    "strip": "Strip",
    "look": "Old belt",
    "fit": "Fit",
    "set": "Tension",
    "prove": "Prove",
    "hand over": "Hand over",
}

VERDICTS: Final[dict[str, str]] = {
    "proven": "proven",
    "not met": "not met",
    "not shown": "not shown yet",
}

PHRASES: Final[dict[str, str]] = {
    "value only heading": "Measured, no requirement given",
    "checkpoint": "record number",
}

WAYS: Final[tuple[str, str]] = ("clockwise", "counter-clockwise")


def other_way(way: str) -> str:
    """The opposite of ``way``: "clockwise" and "counter-clockwise" change places; any other word raises ValueError."""
    if way not in WAYS:
        raise ValueError(f"{way!r} is no way to turn; allowed: {' or '.join(WAYS)}")
    return WAYS[1 - WAYS.index(way)]


def way_of_sense(sense: int) -> str:
    """The way to turn as words: +1 [-] is clockwise, −1 [-] counter-clockwise, seen at the belt end."""
    return WAYS[0] if sense > 0 else WAYS[1]


def shown(key: str) -> str:
    """The words a person reads for a key of any table here (a kind, role, quantity, state, verdict …); else the key."""
    tables = (TENSIONER_KINDS, ROLES, HUBS, QUANTITIES, STATES, STAGES, VERDICTS, PHRASES)
    return next((table[key] for table in tables if key in table), key)


def span_id(name: str) -> str:
    """A span's name as files have it, ``from:to``, also from the way it is printed: ``from to to``."""
    if ":" in name:
        return ":".join(part.strip() for part in name.split(":"))
    return re.sub(r"\s+to\s+", ":", name.strip(), count=1)
