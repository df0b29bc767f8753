"""A bad connection between tablets and the record: sendings are lost, doubled, late and out of order."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

from tests.store.databases import Record
from tests.store.made import new_job, send

from twoturn.store.records import entries
from twoturn.store.verify import verify

TABLETS = 5
LOST, ANSWER_LOST, DOUBLED = 0.15, 0.15, 0.2
"""Shares of attempts that never come, whose answer never comes, that come again later [-]."""


def over_a_bad_line(record: Record, sendings: int, seed: str) -> dict[str, int]:
    """Send so many over a bad line, each until it is acknowledged; what became of them.

    Each tablet sends one after the other, as its queue does; what was doubled on the way comes again at any later
    moment, after sendings that were made after it.
    """
    draw = random.Random(seed)
    with record.write() as connection:
        jobs = [new_job(connection).id for _ in range(2)]
    late: list[tuple[int, str, list[dict[str, Any]]]] = []
    next_of, acknowledged, came = [0] * TABLETS, 0, 0
    while acknowledged < sendings:
        if late and draw.random() < 0.25:
            job_id, key, rows = late.pop(draw.randrange(len(late)))
            came += _deliver(record, job_id, rows, key)
            continue
        tablet = draw.randrange(TABLETS)
        number = next_of[tablet]
        rows = [{"kind": "note", "tablet": tablet, "number": number, "part": part} for part in range(1 + number % 3)]
        sending = (jobs[tablet % 2], f"tablet {tablet} sending {number}", rows)
        if draw.random() < LOST:
            continue
        came += _deliver(record, sending[0], rows, sending[1])
        if draw.random() < DOUBLED:
            late.append(sending)
        if draw.random() >= ANSWER_LOST:
            next_of[tablet] += 1
            acknowledged += 1
    for job_id, key, rows in late:
        came += _deliver(record, job_id, rows, key)
    return {"acknowledged": acknowledged, "came": came} | _counted(record, jobs, next_of)


def _deliver(record: Record, job_id: int, rows: list[dict[str, Any]], key: str) -> int:
    with record.write() as connection:
        answer = send(connection, job_id, rows, key)
    assert [entry.content for entry in answer.entries] == rows
    return 1


def _counted(record: Record, jobs: list[int], next_of: list[int]) -> dict[str, int]:
    """Lost, doubled and out of order; one unacknowledged sending of each tablet may be there as well."""
    with record.read() as connection:
        found = [entry.content for job_id in jobs for entry in entries.entries(connection, job_id)]
    lost = doubled = disordered = 0
    for tablet, done in enumerate(next_of):
        own = [(one["number"], one["part"]) for one in found if one["tablet"] == tablet]
        wanted = [(number, part) for number in range(done + 1) for part in range(1 + number % 3)]
        acknowledged = [one for one in wanted if one[0] < done]
        lost += len(set(acknowledged) - set(own))
        doubled += sum(count - 1 for count in Counter(own).values())
        disordered += own not in (acknowledged, wanted)
    problems = len(verify(record.place, record.engine).problems)
    return {"entries": len(found), "lost": lost, "doubled": doubled, "disordered": disordered, "problems": problems}
