"""No order of entries lets a stale reading prove: random histories against a slow oracle that knows the true order.

A history is a list of acts as they really happened. Each act is done at a step of the plan; going back to an earlier
step opens the next round. The record holds the same acts with ``done`` and ``pass``, typed in any order (acts of one
step and round in the order they were done). The oracle walks the true history; ``assess`` sees the record only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.job.paper_jobs import WHEN, engine, made, signed

from twoturn.drive.parts import Drive
from twoturn.job.assess import Assessment, assess
from twoturn.job.steps import step_numbers

BIRCH = "birch-two-cams"
ELDER = "elder-balance-shafts"


@dataclass(frozen=True)
class Happened:
    """One act of the true history."""

    step: str
    row: dict[str, Any]
    resets: frozenset[str] = frozenset()
    turns: float = 0.0
    reads: str = ""
    belt: str = "main"


MAIN, BOTH, BALANCE = frozenset({"main"}), frozenset({"main", "balance"}), frozenset({"balance"})


def act(step: str, kind: str, **more: Any) -> Happened:
    keys = {name: more.pop(name) for name in ("resets", "turns_done", "reads_what", "belt_of") if name in more}
    return Happened(
        step,
        {"kind": kind, **more},
        keys.get("resets", frozenset()),
        keys.get("turns_done", 0.0),
        keys.get("reads_what", ""),
        keys.get("belt_of", "main"),
    )


ONE_BELT = [
    act("pins-in", "pin in", pin="bar for the inlet camshaft", use="hold", resets=MAIN),
    act("pins-out", "pin out", pin="bar for the inlet camshaft", resets=MAIN),
    act("thread-belt", "belt fitted", teeth=151, arrow="none", resets=MAIN),
    act("set-tensioner", "adjuster moved", at="tensioner", resets=MAIN),
    act("finish-setting", "torque", fastener="tensioner nut", to_plan=True, tool="A", resets=MAIN),
    act("finish-setting", "torque", fastener="tensioner nut", to_plan=True, tool="A", nothing_moved=True),
    act("tighten-hubs", "loosened", fastener="inlet camshaft bolt", resets=MAIN),
    act("turn-by-hand", "turned", turns=2, turns_done=2.0),
    act("turn-by-hand", "turned", turns=1, turns_done=1.0),
    act("turn-by-hand", "turned", turns=1.8, overshot=True, turns_done=1.0),
    act("turn-by-hand", "turned", turns=3, turned_back=True, resets=MAIN),
    act("turn-by-hand", "turned", turns=2, way="counter-clockwise", resets=MAIN),
    act("prove-timing", "pin in", pin="bar for the inlet camshaft", use="check", reads_what="timing-inlet-camshaft"),
    act("prove-setting", "pointer", at="tensioner", reads="in the notch", reads_what="pointer-after-the-turns"),
    act("fit-covers", "torque", fastener="engine mount bolts", to_plan=True, tool="A"),
    act("hand-over", "moved at end", moved=True, resets=MAIN),
    act("hand-over", "moved at end", moved=False),
]
TWO_BELTS = [
    act("thread-belt", "belt fitted", belt="main", teeth=129, arrow="none", resets=MAIN),
    act("set-tensioner", "adjuster moved", at="tensioner", resets=MAIN),
    act("thread-belt@balance", "belt fitted", belt="balance", teeth=71, arrow="none", resets=BALANCE),
    act("set-tensioner@balance", "adjuster moved", at="balance roller", resets=BALANCE),
    act("turn-by-hand", "turned", turns=2, turns_done=2.0),
    act("turn-by-hand@balance", "turned", turns=2, turns_done=2.0),
    act("turn-by-hand@balance", "turned", turns=0.2, turned_back=20, resets=BOTH),
    act("prove-timing", "mark", at="camshaft", reads="on", reads_what="timing-camshaft"),
    act("prove-setting", "pointer", at="tensioner", reads="in the notch", reads_what="pointer-after-the-turns"),
    act(
        "prove-timing@balance",
        "mark",
        at="right balance shaft",
        reads="on",
        reads_what="timing-right-balance-shaft",
        belt_of="balance",
    ),
]
READ = {"timing-inlet-camshaft", "pointer-after-the-turns", "timing-camshaft", "timing-right-balance-shaft"}


def true_resets(history: list[Happened]) -> list[frozenset[str]]:
    """What each act voids: a pin taken out only when it was not in as a mere check."""
    found, pin = [], "untold"
    for happened in history:
        resets = happened.resets
        if happened.row["kind"] == "pin in":
            pin = happened.row["use"]
        elif happened.row["kind"] == "pin out":
            resets = frozenset() if pin in ("check", "out") else resets
            pin = "out"
        found.append(resets)
    return found


def truly_fresh(history: list[Happened], at: int) -> bool:
    """The oracle: after the last reset of its belt, with that belt on and two whole turns in between."""
    belt, resets = history[at].belt, true_resets(history)
    turns, on = 0.0, False
    for happened, voids in zip(history[:at], resets[:at], strict=True):
        turns = (0.0 if belt in voids else turns) + happened.turns
        on = on or (happened.row["kind"] == "belt fitted" and happened.row.get("belt", "main") == belt)
    return on and turns >= 2 and not any(belt in voids for voids in resets[at + 1 :])


def recorded(history: list[Happened], drive: Drive, *, with_done: bool) -> list[dict[str, Any]]:
    """The record in the true order: going back to an earlier step opens the next round."""
    numbers, round_number, last = step_numbers(drive), 1, -1
    rows = []
    for number, happened in enumerate(history):
        here = numbers[happened.step]
        round_number += here < last
        last = here
        done = {"done": happened.step, "pass": round_number} if with_done else {}
        rows.append({**happened.row, **done, "id": f"h{number}"})
    return rows


def judged(rows: list[dict[str, Any]], drive: Drive) -> Assessment:
    head = {"kind": "vehicle", "by": "A", "entered": WHEN}
    temperature = {"kind": "temperature", "temperature_c": "overnight"}
    return assess(drive, [made(row) for row in signed([head, temperature, *rows])])


def proving(found: Assessment, rows: list[dict[str, Any]]) -> dict[str, set[int]]:
    """Numbers of the history behind every check of a reading that is proven or not met."""
    return {
        check.id: {int(rows[number - 3]["id"][1:]) for number in check.entries}
        for check in found.checks
        if check.id in READ and check.verdict.value != "not shown"
    }


def grouped(rows: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    groups: dict[object, list[dict[str, Any]]] = {}
    for row in rows:
        groups.setdefault((row["done"], row["pass"]), []).append(row)
    return list(groups.values())


@settings(max_examples=400, deadline=None)
@given(st.lists(st.sampled_from(ONE_BELT), max_size=16), st.randoms(use_true_random=False))
def test_typed_in_any_order_nothing_stale_proves(history: list[Happened], rng: Any) -> None:
    drive = engine(BIRCH)
    groups = grouped(recorded(history, drive, with_done=True))
    rng.shuffle(groups)
    rows = [row for group in groups for row in group]
    for check, numbers in proving(judged(rows, drive), rows).items():
        for number in numbers:
            assert truly_fresh(history, number), (check, number)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(ONE_BELT), max_size=16), st.sampled_from([True, False]))
def test_typed_in_the_order_done_exactly_the_fresh_ones_count(history: list[Happened], with_done: bool) -> None:
    drive = engine(BIRCH)
    rows = recorded(history, drive, with_done=with_done)
    found = proving(judged(rows, drive), rows)
    for check in ("timing-inlet-camshaft", "pointer-after-the-turns"):
        fresh = {
            number
            for number, happened in enumerate(history)
            if happened.reads == check and truly_fresh(history, number)
        }
        assert found.get(check, set()) == fresh


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(TWO_BELTS), max_size=16), st.randoms(use_true_random=False), st.booleans())
def test_each_belt_has_a_state_of_its_own(history: list[Happened], rng: Any, shuffled: bool) -> None:
    drive = engine(ELDER)
    rows = recorded(history, drive, with_done=True)
    if shuffled:
        groups = grouped(rows)
        rng.shuffle(groups)
        rows = [row for group in groups for row in group]
    found = proving(judged(rows, drive), rows)
    for check, numbers in found.items():
        for number in numbers:
            assert truly_fresh(history, number), (check, number)
    if not shuffled:
        for number, happened in enumerate(history):
            if happened.reads and truly_fresh(history, number):
                assert number in found[happened.reads]


def test_a_reading_without_a_step_counts_only_where_the_list_tells_its_place() -> None:
    drive = engine(BIRCH)
    fitted = {"kind": "belt fitted", "teeth": 151, "arrow": "none", "done": "thread-belt", "id": "h0"}
    moved = {"kind": "adjuster moved", "at": "tensioner", "done": "set-tensioner", "id": "h1"}
    turned = {"kind": "turned", "turns": 2, "done": "turn-by-hand", "id": "h2"}
    pointer = {"kind": "pointer", "at": "tensioner", "reads": "in the notch", "id": "h3"}
    in_order = judged([fitted, moved, turned, pointer], drive).check("pointer-after-the-turns")
    assert in_order.verdict.value == "proven"
    scrambled = judged([turned, pointer, fitted, moved], drive).check("pointer-after-the-turns")
    assert scrambled.verdict.value == "not shown"
    told = judged([turned, {**pointer, "done": "prove-setting"}, fitted, moved], drive)
    assert told.check("pointer-after-the-turns").verdict.value == "proven"


def test_the_oracle_itself_knows_the_plain_case() -> None:
    by_id = {(item.step, item.row["kind"], item.turns): item for item in ONE_BELT}
    fitted, turned = by_id["thread-belt", "belt fitted", 0.0], by_id["turn-by-hand", "turned", 2.0]
    pointer = by_id["prove-setting", "pointer", 0.0]
    assert truly_fresh([fitted, turned, pointer], 2)
    assert not truly_fresh([fitted, pointer, turned], 1)
    assert not truly_fresh([fitted, turned, pointer, by_id["set-tensioner", "adjuster moved", 0.0]], 2)
    assert math.isclose(sum(item.turns for item in ONE_BELT), 4.0)
