"""Sizes of metric threads, and of the heads and holes that go with them.

Pitches after ISO 261 and ISO 262, washer faces after ISO 4014 and ISO 4017 (smallest, product grade A; B from M27),
holes after ISO 273 (medium series). Sizes M3 to M39, the range of ISO 898-1 that engines use.
"""

from __future__ import annotations

from typing import Final

COARSE_PITCH_MM: Final[dict[float, float]] = {
    3: 0.5, 3.5: 0.6, 4: 0.7, 5: 0.8, 6: 1.0, 7: 1.0, 8: 1.25, 9: 1.25, 10: 1.5, 11: 1.5, 12: 1.75, 14: 2.0, 16: 2.0,
    18: 2.5, 20: 2.5, 22: 2.5, 24: 3.0, 27: 3.0, 30: 3.5, 33: 3.5, 36: 4.0, 39: 4.0,
}  # fmt: skip
"""Coarse pitch [mm] by diameter [mm] (ISO 261): the one meant when none is written."""

FINE_PITCHES_MM: Final[dict[float, tuple[float, ...]]] = {
    3: (0.35,), 3.5: (0.35,), 4: (0.5,), 5: (0.5,), 6: (0.75,), 7: (0.75,), 8: (1.0, 0.75), 9: (1.0, 0.75),
    10: (1.25, 1.0, 0.75), 11: (1.0, 0.75), 12: (1.5, 1.25, 1.0), 14: (1.5, 1.25, 1.0), 15: (1.5, 1.0), 16: (1.5, 1.0),
    17: (1.5, 1.0), 18: (2.0, 1.5, 1.0), 20: (2.0, 1.5, 1.0), 22: (2.0, 1.5, 1.0), 24: (2.0, 1.5, 1.0),
    25: (2.0, 1.5, 1.0), 26: (1.5,), 27: (2.0, 1.5, 1.0), 28: (2.0, 1.5, 1.0), 30: (3.0, 2.0, 1.5, 1.0),
    32: (2.0, 1.5), 33: (3.0, 2.0, 1.5), 35: (1.5,), 36: (3.0, 2.0, 1.5), 38: (1.5,), 39: (3.0, 2.0, 1.5),
}  # fmt: skip
"""Fine pitches [mm] by diameter [mm] (ISO 261)."""

WASHER_FACE_MM: Final[dict[float, float]] = {
    3: 4.57, 4: 5.88, 5: 6.88, 6: 8.88, 7: 9.63, 8: 11.63, 10: 14.63, 12: 16.63, 14: 19.64, 16: 22.49, 18: 25.34,
    20: 28.19, 22: 31.71, 24: 33.61, 27: 38.0, 30: 42.75, 33: 46.55, 36: 51.11, 39: 55.86,
}  # fmt: skip
"""Smallest washer-face diameter [mm] of a hexagon head by thread diameter [mm] (ISO 4014, ISO 4017)."""

HOLE_MM: Final[dict[float, float]] = {
    3: 3.4, 4: 4.5, 5: 5.5, 6: 6.6, 7: 7.6, 8: 9.0, 10: 11.0, 12: 13.5, 14: 15.5, 16: 17.5, 18: 20.0, 20: 22.0,
    22: 24.0, 24: 26.0, 27: 30.0, 30: 33.0, 33: 36.0, 36: 39.0, 39: 42.0,
}  # fmt: skip
"""Clearance hole [mm] by thread diameter [mm] (ISO 273, medium)."""
