"""What a drive file leaves out, and what follows from it: belts, shafts, roles, ratios, senses, faces, phases."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.drive.file_texts import LIST, MEASURED, TWO_BELTS, WHOLE, changed, faults_of

from twoturn.drive.load import read_drive
from twoturn.drive.ratios import agrees


def test_list_drive_defaults() -> None:
    drive = read_drive(LIST, "list.toml")
    belt = drive.belts[0]
    assert drive.is_list
    assert (belt.id, belt.sense, drive.crank_sense) == ("main", 1, 1)
    assert [pulley.id for pulley in belt.pulleys] == ["crank", "tensioner", "cam", "coolant pump"]
    assert belt.tensioners[0].pulley == "tensioner"
    assert drive.file.tensioner[0].pulley == "tensioner"
    assert [pulley.inside for pulley in belt.pulleys] == [True, False, True, True]
    assert {shaft.id: shaft.ratio for shaft in drive.shafts} == {
        "crank": 1,
        "tensioner": None,
        "cam": Fraction(1, 2),
        "coolant pump": Fraction(20, 19),
    }
    assert {shaft.id for shaft in drive.shafts if shaft.phased} == {"crank", "cam"}
    assert all(pulley.centre_mm is None for pulley in belt.pulleys)


def test_links_and_gears() -> None:
    drive = read_drive(WHOLE, "whole.toml")
    assert drive.shaft("inlet cam").ratio == Fraction(1, 2)
    assert drive.shaft("exhaust cam").ratio == Fraction(-1, 2)
    chain = read_drive(changed(WHOLE, 'kind = "gears"\n', ""), "chain.toml")
    assert chain.shaft("exhaust cam").ratio == Fraction(1, 2)
    backwards = changed(WHOLE, 'from = "inlet cam"\nto = "exhaust cam"', 'from = "exhaust cam"\nto = "inlet cam"')
    backwards = changed(backwards, "teeth_to = 24", "teeth_to = 12")
    assert read_drive(backwards, "backwards.toml").shaft("exhaust cam").ratio == Fraction(-1, 4)


def test_second_belt_and_its_sense() -> None:
    drive = read_drive(TWO_BELTS, "two.toml")
    assert [belt.driver.shaft for belt in drive.belts] == ["crank", "crank"]
    assert [belt.sense for belt in drive.belts] == [1, 1]
    assert drive.shaft("front balance shaft").ratio == 2
    assert drive.shaft("rear balance shaft").ratio == -2
    turned = read_drive(changed(TWO_BELTS, 'crank_turns = "clockwise"', 'crank_turns = "counter-clockwise"'), "t.toml")
    assert [belt.sense for belt in turned.belts] == [-1, -1]


def test_a_belt_driven_from_a_shaft_that_turns_back_travels_back() -> None:
    text = changed(
        TWO_BELTS, '[[belt]]\nid = "main"\nteeth = 123', '[[belt]]\nid = "main"\nteeth = 123\ndouble_sided = true'
    )
    text = changed(text, 'role = "camshaft"\nteeth = 48', 'role = "camshaft"\nteeth = 48\nbelt_side = "back"')
    text = changed(text, 'shaft = "crank"\nteeth = 30', 'shaft = "cam"\nteeth = 30')
    drive = read_drive(text, "back.toml")
    assert drive.shaft("cam").ratio == Fraction(-1, 2)
    assert [belt.sense for belt in drive.belts] == [1, -1]
    assert drive.shaft("front balance shaft").ratio == -1


def test_order_of_the_belts_in_the_file_does_not_matter() -> None:
    text = changed(TWO_BELTS, 'id = "main"\nteeth = 123', 'id = "balance"\nteeth = 65 # x')
    text = changed(text, 'id = "balance"\nteeth = 65\n', 'id = "main"\nteeth = 123\n')
    assert read_drive(text, "swapped.toml").shaft("front balance shaft").ratio == 2


def test_injection_pump_is_phased_only_with_a_mark() -> None:
    text = changed(LIST, 'role = "coolant pump"\nteeth = 19', 'role = "injection pump"\nteeth = 19')
    assert not read_drive(text, "pump.toml").shaft("coolant pump").phased
    marked = changed(text, "teeth = 19", "teeth = 19\nmark_deg = 90")
    assert read_drive(marked, "pump.toml").shaft("coolant pump").phased


def test_a_stated_phase_wins() -> None:
    text = changed(
        TWO_BELTS, 'role = "balance shaft"\n\n[[link]]', 'role = "balance shaft"\nphased = false\n\n[[link]]'
    )
    assert not read_drive(text, "two.toml").shaft("rear balance shaft").phased


def test_pulleys_of_one_shaft_share_their_centre() -> None:
    crank = '[[pulley]]\nid = "crank 2"\nbelt = "oil"\nshaft = "crank"\nteeth = 20\n\n'
    pump = '[[pulley]]\nid = "oil pump"\nbelt = "oil"\nrole = "oil pump"\nteeth = 20\n\n'
    belt = '[[belt]]\nid = "oil"\nteeth = 60\n\n'
    text = changed(WHOLE, "[[tensioner]]", f"{belt}{crank}{pump}[[tensioner]]")
    text = changed(text, "[[belt]]\nteeth = 114", '[[belt]]\nid = "main"\nteeth = 114')
    for name in ("crank", "tensioner", "cam", "coolant pump"):
        text = changed(text, f'[[pulley]]\nid = "{name}"\n', f'[[pulley]]\nid = "{name}"\nbelt = "main"\n')
    drive = read_drive(text, "shared.toml")
    assert drive.belts[1].pulley("crank 2").centre_mm == (0.0, 0.0)
    assert not drive.belts[1].has_coordinates
    assert drive.belts[0].has_coordinates


def test_pitch_and_width_come_from_the_designation() -> None:
    text = changed(WHOLE, "pitch_mm = 9.525\nwidth_mm = 25.4\n", "")
    belt = read_drive(text, "printed.toml").belts[0]
    assert (belt.table.pitch_mm, belt.table.width_mm) == (9.525, 25)


def test_a_print_of_another_style_is_not_interpreted() -> None:
    belt = read_drive(changed(WHOLE, '"114 ZA 25"', '"another style 999"'), "other.toml").belts[0]
    assert belt.table.designation == "another style 999"


def test_uncertainties_stand_beside_their_quantity() -> None:
    drive = read_drive(WHOLE, "whole.toml")
    belt = drive.belts[0]
    assert belt.table.u_of("stiffness_n") == 84e3
    assert belt.table.u_of("width_mm", 7.0) == 7.0
    assert belt.pulley("cam").centre_u_mm == (0.3, 0.3)
    assert belt.pulley("crank").centre_u_mm is None
    two = read_drive(changed(WHOLE, "at_mm_u = 0.3", "at_mm_u = [0.1, 0.4]"), "two.toml")
    assert two.belts[0].pulley("cam").centre_u_mm == (0.1, 0.4)


def test_a_tensioner_without_table_leaves_a_gap_and_no_refusal() -> None:
    start, end = WHOLE.index("[[tensioner]]"), WHOLE.index("[[fastener]]")
    drive = read_drive(WHOLE[:start] + WHOLE[end:], "without.toml")
    assert drive.belts[0].tensioners == ()
    assert drive.belts[0].pulley("tensioner").is_tensioner
    assert drive.belts[0].has_coordinates


def test_names_for_states_and_remarks() -> None:
    text = changed(WHOLE, 'state = "after turns"', 'state = "after two turns"')
    text = changed(text, "mount_in_loop = true", "mount_in_loop = true\nscrew_lengths_mm = [25, 40]")
    file = read_drive(text, "words.toml").file
    assert file.requirement[0].state == "after turns"
    assert file.access.remarks == {"screw_lengths_mm": [25, 40]}
    assert file.interval is not None
    assert file.interval.severe == {"towing": 0.5}
    one = read_drive(changed(WHOLE, "severe = { towing = 0.5 }", "severe = 0.6"), "one.toml").file
    assert one.interval is not None
    assert list(one.interval.severe.values()) == [0.6]


def test_an_order_for_the_only_belt() -> None:
    order = 'order = ["crank", "coolant pump", "cam", "tensioner"]'
    drive = read_drive(changed(LIST, "[[fastener]]", f"[fit]\n{order}\n\n[[fastener]]"), "fit.toml")
    assert drive.file.fit[0].order == ["crank", "coolant pump", "cam", "tensioner"]
    short = changed(LIST, "[[fastener]]", '[fit]\norder = ["crank"]\n\n[[fastener]]')
    (fault,) = faults_of(short)
    assert fault.key == "fit.order"
    assert short.split("\n")[(fault.line or 0) - 1].startswith("order")


@given(st.integers(8, 120), st.integers(8, 120))
def test_a_ratio_rounded_to_three_digits_agrees_and_another_tooth_does_not(driver: int, driven: int) -> None:
    ratio = Fraction(driver, driven)
    assert agrees(float(f"{float(ratio):.4g}"), ratio)
    assert agrees(-float(f"{float(ratio):.4g}"), -ratio)
    assert not agrees(-float(ratio), ratio)
    assert not agrees(0.0, ratio)
    assert not agrees(float(Fraction(driver, driven + 1)), ratio)


@pytest.mark.parametrize("teeth", [42, 43, 45, 46])
def test_a_half_written_as_half_contradicts_other_teeth(teeth: int) -> None:
    text = changed(WHOLE, "teeth = 44", f"teeth = {teeth}")
    assert [fault.key for fault in faults_of(text)] == ["pulley[3].ratio"]


def test_geometry_is_checked_with_the_crank_turning_the_other_way() -> None:
    """The same list of pulleys cannot be run the other way round: its wraps would turn inside out."""
    faults = faults_of(changed(WHOLE, 'crank_turns = "clockwise"', 'crank_turns = "counter-clockwise"'))
    assert any("wrap" in fault.found for fault in faults)


def test_measured_drives_close_at_the_notch() -> None:
    assert read_drive(MEASURED, "measured.toml").belts[0].table.closure == "at notch"
