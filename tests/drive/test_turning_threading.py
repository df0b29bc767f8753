"""Threading order: taut side first, all the slack to the tensioner (common practice, no source)."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.drive.turning_drives import HEAD, SIX, drive_of

import twoturn.demo
from twoturn.drive.load import load_drive
from twoturn.drive.threading import thread_order

DRIVES = Path(twoturn.demo.__path__[0]) / "drives"


def listed(*rows: str, fit: str = "") -> str:
    """A list drive of wheels ``id:role`` in belt order; a role of "tensioner" is a smooth roller with its table."""
    text = HEAD.format(turns="clockwise") + '[[belt]]\nid = "b"\nteeth = 120\n'
    for row in rows:
        name, role = row.split(":")
        text += f'[[pulley]]\nid = "{name}"\nrole = "{role}"\n'
        text += "diameter_mm = 60.0\n" if role in ("tensioner", "idler") else "teeth = 24\n"
        text += "ratio = 1\n" if role == "camshaft" else ""
    for row in rows:
        if row.endswith(":tensioner"):
            text += f'[[tensioner]]\npulley = "{row.split(":")[0]}"\nkind = "sprung arm"\n'
    return text + fit


def test_by_hand() -> None:
    drive = drive_of(SIX)
    assert thread_order(drive, drive.belts[0]).order == ("crank", "pump", "right cam", "left cam", "roller")


def test_pulleys_between_crank_and_tensioner_come_last_but_one() -> None:
    drive = drive_of(listed("c:crankshaft", "i:idler", "p:coolant pump", "t:tensioner", "a:camshaft", "b:camshaft"))
    assert thread_order(drive, drive.belts[0]).order == ("c", "b", "a", "i", "p", "t")


def test_a_list_drive_has_an_order_too() -> None:
    drive = load_drive(DRIVES / "damson-rotary-pump.toml")
    assert drive.is_list
    order = thread_order(drive, drive.belts[0]).order
    assert order == ("crankshaft", "guide roller", "injection pump", "camshaft", "roller")


def test_the_file_overrides() -> None:
    rows = ("c:crankshaft", "t:tensioner", "a:camshaft")
    drive = drive_of(listed(*rows, fit='[fit]\norder = ["c", "t", "a"]\n'))
    threading = thread_order(drive, drive.belts[0])
    assert threading.order == ("c", "t", "a")
    assert threading.given


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (("c:crankshaft", "t:tensioner", "a:camshaft", "s:tensioner"), "several tensioners"),
        (("c:crankshaft", "a:camshaft", "i:idler", "t:tensioner"), "on the taut side"),
        (("c:crankshaft", "a:camshaft"), "no tensioner"),
    ],
)
def test_what_cannot_be_derived_is_said(rows: tuple[str, ...], said: str) -> None:
    drive = drive_of(listed(*rows))
    threading = thread_order(drive, drive.belts[0])
    assert threading.order == ()
    assert said in threading.why
    assert "[fit]" in threading.why


def test_every_shipped_order_names_every_wheel_once() -> None:
    for path in sorted(DRIVES.glob("*.toml")):
        drive = load_drive(path)
        for belt in drive.belts:
            threading = thread_order(drive, belt)
            assert sorted(threading.order) == sorted(pulley.id for pulley in belt.pulleys)
