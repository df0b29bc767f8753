"""A small shop with something of everything: people of each role, a vehicle, drives, a job with entries, a tool."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests.web.bench import BenchClient, client_of

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import drives, entries, jobs, people, tools, vehicles
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.web.mode import Mode

PINS = {"viewer": "4711", "trainee": "4712", "technician": "4713", "lead": "4714"}
LAN_ADDRESS = "http://192.168.1.20:8642"
ODOMETER: dict[str, Any] = {"kind": "odometer", "km": 118420}


@dataclass(frozen=True)
class Stocked:
    """The shop's record, its lead, and numbers of what is in it."""

    shop: Shop
    lead: Actor
    vehicle: int
    version: int
    drive: int
    job: int
    tool: int


@pytest.fixture(scope="session")
def stocked_record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with that shop's record, to be copied: PINs take long."""
    folder = tmp_path_factory.mktemp("stocked") / "data"
    with open_shop(folder) as shop:
        stock(shop)
    return folder


@pytest.fixture
def stocked(stocked_record: Path, tmp_path: Path) -> Iterator[Stocked]:
    """That shop, for one test."""
    with open_copy(stocked_record, tmp_path / "stocked") as found:
        yield found


@contextmanager
def open_copy(record: Path, folder: Path) -> Iterator[Stocked]:
    """That shop opened in another folder."""
    shutil.copytree(record, folder)
    with open_shop(folder) as shop:
        lead = next(one for one in people.people(shop) if one.role == "lead")
        yield Stocked(shop, lead, vehicle=1, version=1, drive=1, job=1, tool=1)


def stock(shop: Shop) -> None:
    """Fill an empty record."""
    lead = people.set_up(shop, "lead one", PINS["lead"])
    people.work_alone(shop, "lead one")
    for role in ("viewer", "trainee", "technician"):
        people.add_person(shop, lead, f"{role} one", role, PINS[role])
    version = drives.keep_drive(shop, lead, shipped_drives()["alder-one-cam"])
    texts = {"registration": "QX 10 DEMO", "model": "Alder 8, invented", "odometer": "118000"}
    vehicle = vehicles.save_vehicle(shop, lead, texts).vehicle
    job = jobs.start_job(shop, lead, vehicle.id, version.id)
    entries.add_entries(shop, lead, job.id, [ODOMETER], "stocked")
    tool = tools.save_tool(shop, lead, {"name": "A", "low": "5", "high": "60"})
    tools.add_calibration(shop, lead, tool.id, {"on": "2025-10-14", "months": "12"})


@contextmanager
def signed_in(shop: Shop, role: str | None) -> Iterator[BenchClient]:
    """A client of the bench on a network, signed in as somebody of that role; None for nobody."""
    with client_of(shop, Mode(lan=True), LAN_ADDRESS) as client:
        if role is not None:
            answer = client.post(
                "/api/session", json={"name": f"{role} one", "pin": PINS[role]}, headers={"x-csrf": client.token()}
            )
            assert answer.status_code == 200, answer.text
        yield client
