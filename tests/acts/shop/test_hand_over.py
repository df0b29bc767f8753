"""Handing over: by a technician with checks not shown, by a lead with reasons where not met; sheet and papers kept."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

import pytest
from pypdf import PdfReader
from tests.acts.shop.conftest import Clock

from twoturn.acts.shop import hand_over as handing
from twoturn.acts.shop.entries import OthersFirst, add_entries
from twoturn.acts.shop.forms import FormRefused
from twoturn.acts.shop.hand_over import STEP, answer_last, hand_over, look_over
from twoturn.acts.shop.jobs import held_job, start_job
from twoturn.acts.shop.papers import NotYet, hand_over_view, paper, sheet_file
from twoturn.acts.shop.people import Actor, NotAllowed, add_person
from twoturn.acts.shop.settings import save_settings
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.quantity.conformity import Verdict
from twoturn.store.faults import KeyReused, NotFound
from twoturn.store.records import vehicles
from twoturn.store.verify import verify

FITTED: dict[str, Any] = {"kind": "belt fitted", "teeth": 109, "arrow": "with travel", "done": "thread-belt"}
NUT: dict[str, Any] = {"kind": "torque", "fastener": "roller nut", "set": 35, "done": "set-tensioner"}
LEAK: dict[str, Any] = {"kind": "finding", "finding": "pump-leak", "done": "check-what-stays"}
KM: dict[str, Any] = {"kind": "odometer", "km": 118420, "done": "identify-vehicle"}


@pytest.fixture
def fitter(workshop: Shop, ida: Actor) -> Actor:
    """A technician."""
    return add_person(workshop, ida, "Ted Mill", "technician", "583214")


@pytest.fixture
def job_id(workshop: Shop, ida: Actor, car: vehicles.Vehicle, alder: int) -> int:
    return start_job(workshop, ida, car.id, alder).id


@pytest.fixture
def verified(workshop: Shop) -> Iterator[None]:
    """The record is whole at the end: chain, sheets and files."""
    yield
    assert verify(workshop.place, workshop.engine).problems == ()


def _add(shop: Shop, actor: Actor, job_id: int, *rows: dict[str, Any]) -> None:
    add_entries(shop, actor, job_id, list(rows), f"k{held_job(shop, job_id).row.entries}")


def _text(pdf: bytes) -> str:
    return re.sub(r"\s+", "", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def test_a_technician_hands_over_with_checks_not_shown_and_they_are_listed(
    workshop: Shop, fitter: Actor, job_id: int, verified: None
) -> None:
    _add(workshop, fitter, job_id, KM, FITTED)
    seen = look_over(workshop, job_id)
    assert not seen.bind
    assert "torque-roller-nut" in [check.id for check in seen.open]
    assert seen.may(fitter)
    sheet = hand_over(workshop, fitter, job_id, {}, "go")
    assert (sheet.verdict, sheet.by, sheet.entries) == ("not shown", "Ted Mill", 4)
    held = held_job(workshop, job_id)
    assert held.row.closed_at is not None
    decided, signed = held.file.entries[-2:]
    assert (decided.kind, signed.kind, decided.done, signed.by) == ("decided", "signed", STEP, "Ted Mill")
    assert "Tightening: roller nut (M8)" in decided.text  # type: ignore[attr-defined]
    text = _text(sheet_file(workshop, job_id, sheet.id).path.read_bytes())
    assert "Whatthisjobdoesnotshow" in text
    assert sheet.last_hash == held.row.last_hash
    assert re.sub(r"\s", "", look_over(workshop, job_id).proof.checkpoint.short) in text


def test_neither_trainee_nor_viewer(workshop: Shop, ida: Actor, trainee: Actor, job_id: int) -> None:
    viewer = add_person(workshop, ida, "Vi", "viewer")
    _add(workshop, ida, job_id, FITTED)
    for one in (trainee, viewer):
        assert not look_over(workshop, job_id).may(one)
        with pytest.raises(NotAllowed):
            hand_over(workshop, one, job_id, {}, "go")
    assert held_job(workshop, job_id).row.entries == 1


@pytest.mark.parametrize(("row", "check_id"), [(NUT, "torque-roller-nut"), (LEAK, "finding-pump-leak")])
def test_what_is_not_met_or_not_cured_needs_a_lead_who_says_why(
    workshop: Shop, ida: Actor, fitter: Actor, job_id: int, verified: None, row: dict[str, Any], check_id: str
) -> None:
    _add(workshop, fitter, job_id, FITTED, row)
    assert [one.check.id for one in look_over(workshop, job_id).bind] == [check_id]
    with pytest.raises(NotAllowed, match="Ted Mill is here as technician"):
        hand_over(workshop, fitter, job_id, {f"reason-{check_id}": "in a hurry"}, "go")
    with pytest.raises(FormRefused) as refused:
        hand_over(workshop, ida, job_id, {f"reason-{check_id}": "  "}, "go")
    assert list(refused.value.fields) == [f"reason-{check_id}"]
    assert held_job(workshop, job_id).row.entries == 2
    sheet = hand_over(workshop, ida, job_id, {f"reason-{check_id}": "towed home, engine stays off"}, "go")
    override, decided, signed = held_job(workshop, job_id).file.entries[-3:]
    assert (override.kind, override.by) == ("override", "Ida Brook")
    assert decided.text.startswith("Handed over in spite of: ")  # type: ignore[attr-defined]
    assert signed.role == "lead"  # type: ignore[attr-defined]
    text = _text(sheet_file(workshop, job_id, sheet.id).path.read_bytes())
    assert "Handedoverinspiteof" in text
    assert "towedhome,enginestaysoff(IdaBrook)" in text


def test_a_leads_answer_holds_until_the_check_is_read_anew(
    workshop: Shop, ida: Actor, fitter: Actor, job_id: int
) -> None:
    _add(workshop, fitter, job_id, FITTED, NUT)
    _add(workshop, ida, job_id, {"kind": "override", "check": "torque-roller-nut", "reason": "tool was wrong"})
    seen = look_over(workshop, job_id)
    assert (len(seen.bind), seen.unanswered, seen.may(fitter)) == (1, (), True)
    _add(workshop, fitter, job_id, {**NUT, "set": 40})
    later = look_over(workshop, job_id)
    assert [one.check.id for one in later.unanswered] == ["torque-roller-nut"]
    assert not later.may(fitter)


def test_the_verdict_stays_what_it_is(workshop: Shop, ida: Actor, job_id: int) -> None:
    _add(workshop, ida, job_id, FITTED, NUT)
    before = look_over(workshop, job_id).proof.assessment.verdict
    sheet = hand_over(workshop, ida, job_id, {"reason-torque-roller-nut": "known"}, "go")
    assert before is look_over(workshop, job_id).proof.assessment.verdict is Verdict.NOT_MET
    assert sheet.verdict == "not met"


def test_sent_twice_it_is_handed_over_once(workshop: Shop, ida: Actor, job_id: int, clock: Clock) -> None:
    _add(workshop, ida, job_id, FITTED, NUT)
    texts = {"reason-torque-roller-nut": "known"}
    first = hand_over(workshop, ida, job_id, texts, "go")
    clock.on(minutes=3)
    assert hand_over(workshop, ida, job_id, texts, "go") == first
    assert hand_over(workshop, ida, job_id, {}, "go") == first
    assert held_job(workshop, job_id).row.entries == first.entries
    assert len(look_over(workshop, job_id).sheets) == 1


def test_broken_off_after_the_entries_it_goes_on(
    workshop: Shop, ida: Actor, job_id: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    _add(workshop, ida, job_id, FITTED)

    def fails(*_: object) -> bytes:
        raise OSError("killed")

    with monkeypatch.context() as broken:
        broken.setattr("twoturn.acts.shop.hand_over._made", fails)
        with pytest.raises(OSError, match="killed"):
            hand_over(workshop, ida, job_id, {}, "go")
    written = held_job(workshop, job_id)
    assert (written.row.entries, written.row.closed_at, look_over(workshop, job_id).sheets) == (3, None, ())
    sheet = hand_over(workshop, ida, job_id, {}, "go")
    assert (sheet.entries, held_job(workshop, job_id).row.entries) == (3, 3)
    assert held_job(workshop, job_id).row.closed_at is not None


def test_an_entry_afterwards_opens_the_job_and_asks_for_a_new_sheet(workshop: Shop, ida: Actor, job_id: int) -> None:
    _add(workshop, ida, job_id, FITTED)
    first = hand_over(workshop, ida, job_id, {}, "go")
    _add(workshop, ida, job_id, {"kind": "remark", "text": "came back: noise"})
    seen = look_over(workshop, job_id)
    assert (seen.current, [sheet.id for sheet in seen.sheets]) == (None, [first.id])
    with pytest.raises(NotYet, match="not handed over as it stands now"):
        paper(workshop, job_id, "label")
    assert sheet_file(workshop, job_id, first.id).path.read_bytes().startswith(b"%PDF")
    second = hand_over(workshop, ida, job_id, {}, "go again")
    assert [sheet.id for sheet in look_over(workshop, job_id).sheets] == [first.id, second.id]


def test_the_last_question(workshop: Shop, ida: Actor, job_id: int) -> None:
    _add(workshop, ida, job_id, FITTED, {"kind": "turned", "turns": 2, "done": "turn-by-hand"})
    assert look_over(workshop, job_id).asks_last
    with pytest.raises(FormRefused, match="yes or no"):
        answer_last(workshop, ida, job_id, {"moved": "perhaps"}, "q")
    answer_last(workshop, ida, job_id, {"moved": "no"}, "q")
    seen = look_over(workshop, job_id)
    assert not seen.asks_last
    assert "nothing-moved" in [check.id for check in seen.proven]
    answer_last(workshop, ida, job_id, {"moved": "yes", "what": "roller nut"}, "q2")
    again = look_over(workshop, job_id)
    assert again.asks_last
    assert held_job(workshop, job_id).file.entries[-1].what == "roller nut"  # type: ignore[attr-defined]


def test_the_last_question_belongs_to_the_round_the_job_is_in(workshop: Shop, ida: Actor, job_id: int) -> None:
    back = {"kind": "remark", "text": "Going back", "done": "set-tensioner", "pass": 2}
    _add(workshop, ida, job_id, FITTED, back)
    answer_last(workshop, ida, job_id, {"moved": "no"}, "q")
    assert held_job(workshop, job_id).file.entries[-1].pass_ == 2


def test_nothing_entered_is_nothing_to_hand_over(workshop: Shop, ida: Actor, job_id: int) -> None:
    with pytest.raises(TwoTurnError, match="nothing was entered in this job"):
        hand_over(workshop, ida, job_id, {}, "go")
    with pytest.raises(NotFound):
        hand_over(workshop, ida, 999, {}, "go")


def test_the_papers_are_of_the_record_and_stay_the_same(workshop: Shop, ida: Actor, job_id: int, clock: Clock) -> None:
    _add(workshop, ida, job_id, KM, FITTED)
    hand_over(workshop, ida, job_id, {}, "go")
    made = {kind: paper(workshop, job_id, kind) for kind in ("label", "customer", "invoice", "calendar")}
    assert [one.name for one in made.values()] == [
        "label-job-1.pdf",
        "customer-job-1.pdf",
        "invoice-job-1.txt",
        "due-job-1.ics",
    ]
    number = look_over(workshop, job_id).proof.checkpoint.short
    for kind in ("label", "customer"):
        assert number in _text(made[kind].content)
    assert number in made["invoice"].content.decode()
    assert b"DTSTART;VALUE=DATE:20310302\r\n" in made["calendar"].content
    clock.on(days=40)
    assert {kind: paper(workshop, job_id, kind) for kind in made} == made
    with pytest.raises(NotFound, match="there is no paper"):
        paper(workshop, job_id, "../x")


def test_what_the_page_shows(workshop: Shop, ida: Actor, fitter: Actor, job_id: int) -> None:
    _add(workshop, ida, job_id, KM, FITTED, NUT)
    view = hand_over_view(workshop, fitter, job_id)
    assert (view.may, view.invoice, view.has_day) == (False, "", True)
    assert view.due.startswith("2031-03-02, or at 208")
    assert hand_over_view(workshop, ida, job_id).may
    hand_over(workshop, ida, job_id, {"reason-torque-roller-nut": "known"}, "go")
    assert hand_over_view(workshop, ida, job_id).invoice.startswith("Timing belt renewed (job 1): QX10DEMO")


def test_a_sheet_of_another_job_is_not_given(workshop: Shop, ida: Actor, job_id: int, car: Any, alder: int) -> None:
    _add(workshop, ida, job_id, FITTED)
    sheet = hand_over(workshop, ida, job_id, {}, "go")
    other = start_job(workshop, ida, car.id, alder).id
    with pytest.raises(NotFound, match="has no sheet"):
        sheet_file(workshop, other, sheet.id)
    with pytest.raises(NotFound):
        sheet_file(workshop, job_id, 999)


def test_the_distance_goes_into_the_vehicles_history_once(
    workshop: Shop, ida: Actor, job_id: int, car: vehicles.Vehicle
) -> None:
    _add(workshop, ida, job_id, KM, FITTED)
    hand_over(workshop, ida, job_id, {}, "go")
    _add(workshop, ida, job_id, {"kind": "remark", "text": "again"})
    hand_over(workshop, ida, job_id, {}, "go again")
    with workshop.reading() as connection:
        assert [read.km for read in vehicles.odometers(connection, car.id)] == [118420]


def test_a_key_of_another_sending_hands_nothing_over(workshop: Shop, ida: Actor, job_id: int) -> None:
    add_entries(workshop, ida, job_id, [FITTED], "k1")
    with pytest.raises(KeyReused):
        hand_over(workshop, ida, job_id, {}, "k1")
    assert look_over(workshop, job_id).sheets == ()


def test_an_entry_made_while_the_sheet_was_made_leaves_the_job_open(
    workshop: Shop, ida: Actor, job_id: int, monkeypatch: pytest.MonkeyPatch, verified: None
) -> None:
    _add(workshop, ida, job_id, FITTED)
    make = handing._made

    def slowly(shop: Shop, seen: Any) -> bytes:
        add_entries(shop, ida, job_id, [LEAK], "meanwhile")
        return make(shop, seen)

    monkeypatch.setattr(handing, "_made", slowly)
    sheet = hand_over(workshop, ida, job_id, {}, "h1")
    held = held_job(workshop, job_id)
    assert sheet.entries == held.row.entries - 1
    assert held.row.closed_at is None
    assert look_over(workshop, job_id).current is None


def test_an_entry_that_others_make_while_it_is_looked_over_is_told_and_nothing_is_signed(
    workshop: Shop, ida: Actor, fitter: Actor, job_id: int, monkeypatch: pytest.MonkeyPatch, verified: None
) -> None:
    _add(workshop, fitter, job_id, FITTED)
    closing = handing._closing

    def meanwhile(*given: Any) -> Any:
        add_entries(workshop, ida, job_id, [LEAK], "meanwhile")
        return closing(*given)

    with monkeypatch.context() as slow:
        slow.setattr(handing, "_closing", meanwhile)
        with pytest.raises(OthersFirst, match="nothing was entered: finding by Ida Brook"):
            hand_over(workshop, fitter, job_id, {}, "go")
    assert [entry.kind for entry in held_job(workshop, job_id).file.entries] == ["belt fitted", "finding"]
    with pytest.raises(NotAllowed, match="not cured"):
        hand_over(workshop, fitter, job_id, {}, "go")
    assert look_over(workshop, job_id).sheets == ()


def test_steps_with_no_entry_stand_on_the_page_and_on_the_sheet(workshop: Shop, ida: Actor, job_id: int) -> None:
    _add(workshop, ida, job_id, KM, FITTED)
    view = hand_over_view(workshop, ida, job_id)
    ids = [step for step, _ in view.no_entry]
    assert "road-test" in ids
    assert not {"identify-vehicle", "thread-belt", STEP} & set(ids)
    sheet = hand_over(workshop, ida, job_id, {}, "go")
    text = _text(sheet_file(workshop, job_id, sheet.id).path.read_bytes())
    assert f"Stepsoftheplanwithnoentry({len(ids)})" in text
    for _, title in view.no_entry:
        assert re.sub(r"\s", "", title) in text


def test_a_distance_struck_out_does_not_go_into_the_history(
    workshop: Shop, ida: Actor, job_id: int, car: vehicles.Vehicle
) -> None:
    _add(workshop, ida, job_id, FITTED, KM, {**KM, "km": 999_999})
    _add(workshop, ida, job_id, {"kind": "struck out", "replaces": 3, "reason": "another car"})
    hand_over(workshop, ida, job_id, {}, "h1")
    with workshop.reading() as connection:
        assert [read.km for read in vehicles.odometers(connection, car.id)] == [118420]


def test_no_paper_says_that_a_belt_was_fitted_where_no_entry_does(workshop: Shop, ida: Actor, job_id: int) -> None:
    _add(workshop, ida, job_id, KM, FITTED)
    _add(workshop, ida, job_id, {"kind": "struck out", "replaces": 2, "reason": "it was another car"})
    hand_over(workshop, ida, job_id, {}, "h1")
    for kind in ("label", "customer", "invoice", "calendar"):
        with pytest.raises(NotYet, match="a belt was fitted"):
            paper(workshop, job_id, kind)
    view = hand_over_view(workshop, ida, job_id)
    assert (view.fitted, view.has_day, view.invoice) == (False, False, "")
    assert view.due == "no entry says that a belt was fitted"
    assert sheet_file(workshop, job_id, view.seen.sheets[-1].id).path.is_file()


def test_the_sheet_says_which_workshop_and_which_job(workshop: Shop, ida: Actor, job_id: int) -> None:
    save_settings(
        workshop, ida, {"shop_name": "Brook & Mill (invented)", "address": "1 Weir Lane\nNo Town", "units": "metric"}
    )
    _add(workshop, ida, job_id, KM)
    sheet = hand_over(workshop, ida, job_id, {}, "go")
    text = _text(sheet_file(workshop, job_id, sheet.id).path.read_bytes())
    assert "WorkshopBrook&Mill(invented),1WeirLane,NoTown" in text
    assert f"Job{held_job(workshop, job_id).row.number}" in text
