"""How pages write times and numbers."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import UTC, date, datetime

import pytest

from twoturn.web.words import day, distance, moment, size, thousands


@pytest.mark.parametrize(("zone", "said"), [("UTC", "4 May 2026, 22:30"), ("Etc/GMT-3", "5 May 2026, 01:30")])
def test_a_moment_is_told_by_the_clock_on_the_wall(zone: str, said: str) -> None:
    code = (
        "from datetime import UTC, datetime\nfrom twoturn.web.words import day, moment\n"
        "when = datetime(2026, 5, 4, 22, 30, tzinfo=UTC)\nprint(moment(when)); print(day(when))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, "TZ": zone}, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines() == [said, said.partition(",")[0]]


def test_days_and_plain_times_stay() -> None:
    assert day(date(2026, 12, 1)) == "1 Dec 2026"
    assert moment(datetime(2026, 3, 2, 7, 5)) == "2 Mar 2026, 07:05"
    assert day(None) == moment(None) == ""
    assert day(datetime(2026, 3, 2, 12, tzinfo=UTC)).endswith("Mar 2026")


def test_numbers() -> None:
    assert thousands(1234567) == "1\u202f234\u202f567"
    assert distance(118420.4, "km") == "118\u202f420 km"
    assert distance(160934.4, "mi") == "100\u202f000 mi"  # 1 mi = 1.609344 km by definition
    assert distance(14876, "km", 2) == "15\u202f000 km"
    assert [size(count) for count in (900, 12_345, 5_000_000, 2 * 10**9)] == ["900 bytes", "12.3 kB", "5 MB", "2 GB"]
