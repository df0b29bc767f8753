"""The served bench killed again and again while four tablets send: nothing acknowledged is lost, nothing is doubled."""

from __future__ import annotations

from pathlib import Path

from tests.web.server_kill import killed

KILLS = 24


def test_a_server_killed_while_four_tablets_send_loses_and_doubles_nothing(tmp_path: Path) -> None:
    found = killed(tmp_path / "data", KILLS, "twenty-four kills", job_count=3)
    assert not found.wrong, found
    assert found.kills == KILLS
    assert found.sendings > KILLS, "too little was sent for the test to mean anything"
    assert found.again > 0
    assert found.files > 0
