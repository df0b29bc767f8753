"""The invented shop: filled once, from the shipped jobs, with the verdicts they are made for."""

from __future__ import annotations

from twoturn.acts.shop.demo_shop import fill_demo_shop
from twoturn.acts.shop.jobs import held_job
from twoturn.acts.shop.people import people
from twoturn.acts.shop.shop import Shop
from twoturn.demo.jobs_shipped import JOBS
from twoturn.job.assess import assess
from twoturn.store.records import jobs


def test_the_invented_shop_holds_the_shipped_jobs(demo_shop: Shop) -> None:
    assert all("invented" in person.name for person in people(demo_shop))
    with demo_shop.reading() as connection:
        numbers = [*jobs.closed_jobs(connection), *jobs.open_jobs(connection)]
    held = {job.number: held_job(demo_shop, job.id) for job in numbers}
    for number, shipped in enumerate(JOBS, 1):
        found = assess(held[number].drive, held[number].file.entries)
        assert found.verdict.value == shipped.verdict, shipped.id
        assert (held[number].row.closed_at is not None) == (shipped.verdict == "proven")
    assert held[len(JOBS) + 1].row.entries == 0
    assert not fill_demo_shop(demo_shop)
