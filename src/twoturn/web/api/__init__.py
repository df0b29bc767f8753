"""The API under ``/api``: the acts of the pages as JSON, behind the same guard, told by one document."""

MODULES: tuple[str, ...] = (
    "session",
    "vehicles",
    "jobs",
    "entries",
    "files",
    "recordings",
    "hand_over",
    "drives",
    "tools",
    "people",
    "settings",
    "record",
)
"""Modules of this package, each with its questions in ``ENDPOINTS``; a new one is named here."""
