"""Fasteners that serve once: whether they are new is asked, and entered with one tap (common practice, no source)."""

from __future__ import annotations

from tests.job.asked.answering import Bench

from twoturn.job.checks.base import Check
from twoturn.job.entries.work import TorqueEntry
from twoturn.quantity.conformity import Verdict

NOT_TOLD = "It serves once, and no entry says that it is a new one."


def _check(bench: Bench) -> Check:
    return next(one for one in bench.found.checks if one.id == "torque-crankshaft-bolt")


def _bench() -> Bench:
    bench = Bench("alder-one-cam")
    bench.work_on("fit-covers/torque")
    return bench


def test_one_tap_says_that_it_is_new_and_enters_it() -> None:
    bench = _bench()
    one = bench.every["fit-covers/torque"]
    assert one.quick == "to plan, tool A, new crankshaft bolt"
    assert next(field for field in one.fields if field.key == "new").label == "New: crankshaft bolt"
    number = bench.tap(one.id)
    entry = bench.entries[number - 1]
    assert isinstance(entry, TorqueEntry)
    assert entry.new
    assert (_check(bench).verdict, _check(bench).notes) == (Verdict.PROVEN, ())


def test_where_nobody_says_it_the_check_says_so_and_stands() -> None:
    bench = _bench()
    bench.type("fit-covers/torque", {"fastener": ("crankshaft bolt",), "tool": ("A",)})
    assert (_check(bench).verdict, _check(bench).notes) == (Verdict.PROVEN, (NOT_TOLD,))


def test_the_old_one_again_is_not_met() -> None:
    bench = _bench()
    bench.type("fit-covers/torque", {"fastener": ("crankshaft bolt",), "tool": ("A",), "new": "no"})
    assert _check(bench).verdict is Verdict.NOT_MET


def test_of_the_rest_only_what_serves_once_is_called_new() -> None:
    bench = _bench()
    bench.type("fit-covers/torque", {"fastener": ("crankshaft bolt",), "tool": ("A",), "new": "yes"})
    assert bench.every["fit-covers/torque"].quick == "to plan, tool A"
    number = bench.tap("fit-covers/torque")
    entry = bench.entries[number - 1]
    assert isinstance(entry, TorqueEntry)
    assert entry.new is None
    assert "new" not in (bench.every["renew-pump-and-seals/torque"].quick or "")
    assert (bench.every["fit-covers/torque/all"].quick or "").endswith(", new roller nut and crankshaft bolt")
