"""An entry is put right: corrected where it stood, struck out, or left out with its reason; both stay on record."""

from __future__ import annotations

import pytest
from tests.job.asked.answering import ENGINES, Bench

from twoturn.errors import FileFaults
from twoturn.job.asked.mending import correcting, leaving_out, overriding, striking
from twoturn.job.asked.typed import row_of
from twoturn.quantity.conformity import Verdict


def corrected(bench: Bench, number: int, **changes: str | tuple[str, ...]) -> None:
    one = correcting(bench.drive, bench.plan, bench.entries, bench.questions, number)
    assert one is not None
    bench.enter(row_of(one, one.filled | changes))


def test_a_correction_stands_where_the_entry_stood_with_all_else_it_said() -> None:
    bench = Bench("alder-one-cam")
    bench.work_on()
    number = bench.every["thread-belt/belt-fitted"].done[0]
    corrected(bench, number, teeth="108", batch="26-07 (invented)")
    assert bench.found.verdict is Verdict.NOT_MET
    last = bench.job.raw[-1]
    assert (last["replaces"], last["done"], last["arrow"]) == (number, "thread-belt", "with travel")
    corrected(bench, len(bench.entries), teeth="109")
    assert bench.found.verdict is Verdict.PROVEN
    assert bench.job.raw[-1]["batch"] == "26-07 (invented)"
    assert bench.every["thread-belt/belt-fitted"].done == (len(bench.entries),)


@pytest.mark.parametrize("name", ENGINES)
def test_every_entry_corrected_by_what_it_says_itself_changes_nothing(name: str) -> None:
    bench = Bench(name)
    bench.work_on()
    before = bench.found
    for number in range(2, len(bench.entries) + 1):
        corrected(bench, number)
    after = bench.found
    assert after.verdict is before.verdict is Verdict.PROVEN
    assert [(c.id, c.verdict, c.reading) for c in after.checks] == [(c.id, c.verdict, c.reading) for c in before.checks]


def test_a_row_with_its_own_values_is_filled_in_as_it_was_typed() -> None:
    bench = Bench("birch-two-cams")
    number = bench.type("tighten-hubs/torque", {"row.inlet camshaft bolt": "20; 55°", "tool": ("A",)})
    one = correcting(bench.drive, bench.plan, bench.entries, bench.questions, number)
    assert one is not None
    assert one.filled["row.inlet camshaft bolt"] == "20 N·m; 55°"
    assert one.filled.get("fastener") is None
    assert row_of(one, one.filled)["row"] == {"inlet camshaft bolt": ["20 N·m", "55°"]}


def test_an_entry_of_an_earlier_round_is_corrected_in_its_own_round() -> None:
    bench = Bench("alder-one-cam")
    number = bench.tap("prove-timing/mark")
    bench.go_back("set-tensioner")
    assert bench.every["prove-timing/mark"].round == 2
    corrected(bench, number, reads="quarter", way="early")
    assert "pass" not in bench.job.raw[-1]
    assert bench.every["prove-timing/mark"].done == ()
    second = bench.tap("prove-timing/mark")
    corrected(bench, second, reads="quarter", way="early")
    assert bench.job.raw[-1]["pass"] == 2


def test_what_no_question_asks_for_is_struck_out_and_the_question_is_open_again() -> None:
    bench = Bench("alder-one-cam")
    number = bench.enter({"kind": "reference", "edges": _edges(), "proven_by": "marks", "source": "job 7 (invented)"})
    assert correcting(bench.drive, bench.plan, bench.entries, bench.questions, number) is None
    bench.enter(row_of(striking(number), {"reason": "of another engine"}))
    number = bench.tap("turn-by-hand/turned")
    assert bench.every["turn-by-hand/turned"].answered
    bench.enter(row_of(striking(number), {"reason": "was the other car"}))
    assert not bench.every["turn-by-hand/turned"].answered


def _edges() -> list[dict[str, object]]:
    return [{"shaft": "camshaft", "edge": "falling", "angle_deg": 186.0, "u_deg": 0.1}]


def test_a_reading_is_left_out_with_its_reason_and_what_was_done_is_not() -> None:
    bench = Bench("alder-one-cam")
    turned = bench.tap("turn-by-hand/turned")
    number = bench.tap("prove-timing/mark")
    assert leaving_out(turned, bench.entries) is None
    question = leaving_out(number, bench.entries)
    assert question is not None
    with pytest.raises(FileFaults) as refused:
        row_of(question, {"reason": " "})
    assert [fault.key for fault in refused.value.faults] == ["reason"]
    bench.enter(row_of(question, {"reason": "lamp was away"}))
    assert not bench.every["prove-timing/mark"].answered
    assert [one.reason for one in bench.found.left_out] == ["lamp was away"]


def test_a_lead_gives_his_reason_for_a_check() -> None:
    row = row_of(overriding("two-turns", "Turned by hand"), {"reason": "turned by the customer"})
    assert row == {"kind": "override", "check": "two-turns", "reason": "turned by the customer"}


def test_going_back_tells_what_it_leaves_behind() -> None:
    bench = Bench("alder-one-cam")
    bench.work_on("prove-setting")
    left = bench.left_behind("set-tensioner")
    assert [act.entry.kind for act in left] == ["turned", "mark"]
    assert bench.left_behind("prove-setting") == ()
