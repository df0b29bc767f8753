"""The served bench killed (SIGKILL) again and again while four tablets send to it over HTTP with their keys.

``TWOTURN_SERVER_KILLS`` says how often; five hundred when it is not set.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from tests.web.server_kill import Outcome, killed

from bench.table import Row

KILLS = int(os.environ.get("TWOTURN_SERVER_KILLS", "500"))
A_RECORD = 100
"""Kills of one record before a new one is begun."""


def measure() -> list[Row]:
    """One row."""
    found = [_killed(at, min(A_RECORD, KILLS - at)) for at in range(0, KILLS, A_RECORD)]
    wrong = [sentence for one in found for sentence in one.wrong]
    for sentence in wrong[:10]:
        print(f"    {sentence}")
    figure = (
        f"{_sum(found, 'sendings')} sendings with {_sum(found, 'entries')} entries and {_sum(found, 'files')} files "
        f"acknowledged, {_sum(found, 'repeated')} of them saved before a kill and acknowledged after it: "
        f"{len(wrong)} lost, doubled, changed or found by verify"
    )
    return [
        Row(
            "record: server killed",
            f"`twoturn serve`: {_sum(found, 'kills')} kills (SIGKILL) at random moments, starting up included, four "
            "tablets sending entries and files, each again until acknowledged",
            figure,
            "no acknowledged entry lost, none doubled",
            not wrong,
        )
    ]


def _killed(at: int, kills: int) -> Outcome:
    with tempfile.TemporaryDirectory() as folder:
        return killed(Path(folder) / "data", kills, f"bench {at}", job_count=12)


def _sum(found: list[Outcome], name: str) -> int:
    return sum(getattr(one, name) for one in found)
