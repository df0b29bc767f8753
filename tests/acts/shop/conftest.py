"""A shop's record in a fresh folder, with a clock that stands still, and who works in it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import drives
from twoturn.acts.shop.demo_shop import fill_demo_shop
from twoturn.acts.shop.people import Actor, add_person, work_alone
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.store.records import vehicles


@dataclass
class Clock:
    """A clock that stands until it is moved."""

    now: datetime = datetime(2026, 3, 2, 17, 40, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def on(self, **by: float) -> None:
        """Move it on by days, hours, minutes."""
        self.now += timedelta(**by)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def workshop(tmp_path: Path, clock: Clock) -> Iterator[Shop]:
    with open_shop(tmp_path / "data", clock=clock) as opened:
        yield opened


@pytest.fixture
def ida(workshop: Shop) -> Actor:
    """A lead, working alone."""
    return work_alone(workshop, "Ida Brook")


@pytest.fixture
def trainee(workshop: Shop, ida: Actor) -> Actor:
    return add_person(workshop, ida, "Tom Reed", "trainee", "583214")


@pytest.fixture
def alder(workshop: Shop, ida: Actor) -> int:
    """Number of the version of an invented drive in the library."""
    return drives.keep_drive(workshop, ida, shipped_drives()["alder-one-cam"]).id


@pytest.fixture
def car(workshop: Shop) -> vehicles.Vehicle:
    with workshop.writing() as connection:
        new = vehicles.Vehicle(0, "QX10DEMO", model="Invented Alder", fuel="petrol", hybrid=False, stop_start=False)
        return vehicles.add(connection, new)


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record of the invented shop, filled once."""
    folder = tmp_path_factory.mktemp("demo") / "data"
    with open_shop(folder, clock=Clock()) as shop:
        fill_demo_shop(shop)
    return folder


@pytest.fixture
def demo_shop(demo_folder: Path, tmp_path: Path, clock: Clock) -> Iterator[Shop]:
    """A copy of the invented shop."""
    shutil.copytree(demo_folder, tmp_path / "demo")
    with open_shop(tmp_path / "demo", clock=clock) as opened:
        yield opened
