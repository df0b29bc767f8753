"""Stops, dead centre, what is missing, several tensioners: what is answered where there is no plain rest position."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from tests.mechanics.mechanic_drives import KINDS, drive_text

from twoturn.acts.drive import answer_of, solve_drive
from twoturn.drive.load import read_drive
from twoturn.drive.path import as_complex, belt_path
from twoturn.errors import FileFaults
from twoturn.mechanics.setting.closing import DOUBT


def changed(text: str, **values: object) -> str:
    """The file with other values of some keys."""
    for key, value in values.items():
        shown = f'"{value}"' if isinstance(value, str) else value
        text, count = re.subn(rf"^{key} = .*$", f"{key} = {shown}", text, flags=re.M)
        assert count == 1, key
    return text


def answer(text: str, tmp_path: Path, temperature_c: float | None = None) -> dict:
    file = tmp_path / "drive.toml"
    file.write_text(text, encoding="utf-8")
    return answer_of(solve_drive(file, temperature_c))["belts"][0]


def teeth_of(text: str) -> int:
    return int(re.search(r"teeth = (\d+)", text).group(1))  # type: ignore[union-attr]


def longer(text: str, teeth: int) -> str:
    """The same drive with a belt of other teeth (the first ``teeth`` key is the belt's)."""
    return re.sub(r"teeth = \d+", f"teeth = {teeth_of(text) + teeth}", text, count=1)


def between_stops(kind: str, stop: float) -> str:
    """A drive of one kind with stops that far to either side of the notch (a slide: half as many millimetres)."""
    if kind == "slide":
        return changed(drive_text(kind, 3), stops_mm=[-stop / 2, stop / 2])
    return changed(drive_text(kind, 3), stops_deg=[-stop, stop])


@pytest.mark.parametrize("kind", ["double", "arm", "slide", "ram"])
def test_a_belt_one_tooth_long_leaves_the_arm_on_its_stop(kind: str, tmp_path: Path) -> None:
    """Common practice: belt one tooth long, no notch reachable, arm at its stop."""
    text = between_stops(kind, 7.0)
    belt = answer(longer(text, 1), tmp_path)
    found = belt["tensioner"]
    assert found["on_stop"] == "high"
    assert found["low_n"] is None
    assert found["n_per_deg"] is None
    assert found["short_mm"] < 0
    assert found["short_pitches"] == pytest.approx(found["short_mm"] / belt["pitch_mm"])
    assert any("high stop" in sentence for sentence in belt["why"])
    assert belt["teeth"] not in [fit["teeth"] for fit in belt["fits"]]


@pytest.mark.parametrize("kind", ["arm", "slide", "ram"])
def test_short_mm_is_what_brings_it_off_the_stop(kind: str, tmp_path: Path) -> None:
    text = between_stops(kind, 4.0)
    error = float(re.search(r"length_error_mm = (\S+)", text).group(1))  # type: ignore[union-attr]
    for change, stop in ((-2.5, "low"), (4.0, "high")):
        found = answer(changed(text, length_error_mm=error + change), tmp_path)["tensioner"]
        assert found["on_stop"] == stop
        cured = changed(text, length_error_mm=error + change + found["short_mm"])
        again = answer(cured, tmp_path)["tensioner"]
        end = (-2.0, 2.0) if kind == "slide" else (-4.0, 4.0)
        pointer = again["pointer_mm" if kind == "slide" else "pointer_deg"]
        assert pointer == pytest.approx(end[0 if stop == "low" else 1], abs=1e-6)


def test_a_target_beyond_the_stops_of_a_locked_roller(tmp_path: Path) -> None:
    text = changed(drive_text("locked target", 2), stops_deg=[-2.0, 2.0], window_deg=[-1.5, 1.5])
    error = float(re.search(r"length_error_mm = (\S+)", text).group(1))  # type: ignore[union-attr]
    target = float(re.search(r"target_n = (\S+)", text).group(1))  # type: ignore[union-attr]
    for change, stop in ((0.8, "high"), (-0.8, "low")):
        found = answer(changed(text, length_error_mm=error + change), tmp_path)["tensioner"]
        assert found["on_stop"] == stop
        assert (found["tension_n"] < target) == (stop == "high")
        assert (found["short_mm"] < 0) == (stop == "high")


def test_over_dead_centre_is_refused(tmp_path: Path) -> None:
    text = changed(drive_text("arm", 1), pivot_mm=[-123.0, 130.0], notch_deg=90.0)
    belt = answer(changed(text, closure="at notch"), tmp_path)
    assert belt["tensioner"]["tension_n"] is None
    assert any("at or over dead centre" in sentence for sentence in belt["why"])
    assert belt["path_length_mm"] > 0


def test_the_notch_out_of_the_adjusters_reach(tmp_path: Path) -> None:
    belt = answer(changed(drive_text("double", 2), adjuster_range_deg=[-10.0, 20.0]), tmp_path)
    found = belt["tensioner"]
    assert found["adjuster_deg"] == 20.0
    assert found["pointer_deg"] > 1
    assert any("setting eccentric" in sentence for sentence in belt["why"])


def test_angles_compare_modulo_a_turn(tmp_path: Path) -> None:
    text = drive_text("double reacts", 2)
    plain = answer(text, tmp_path)["tensioner"]
    given = float(re.search(r"adjuster_deg = (\S+)", text).group(1))  # type: ignore[union-attr]
    turned = answer(changed(text, adjuster_deg=given - 360), tmp_path)["tensioner"]
    assert turned["adjuster_deg"] == pytest.approx(plain["adjuster_deg"])
    assert turned["tension_n"] == pytest.approx(plain["tension_n"])


@pytest.mark.parametrize(("key", "word"), [("stiffness_n", "stiffness_n"), ("spring_nm", "spring_nm")])
def test_what_is_missing_is_named(key: str, word: str, tmp_path: Path) -> None:
    text = re.sub(rf"^{key} = .*$", "", drive_text("double", 1), flags=re.M)
    belt = answer(text, tmp_path)
    assert any(word in sentence for sentence in belt["why"])
    assert belt["tensioner"]["tension_n"] is None
    assert belt["tensioner"]["pointer_deg"] is None
    assert belt["path_length_mm"] > 0
    assert all(pulley["wrap_deg"] > 0 for pulley in belt["pulleys"])
    assert belt["fits"] == []


def without_tensioner(seed: int) -> str:
    text = drive_text("locked set", seed)
    text = text[: text.index("[[tensioner]]")]
    return text.replace('role = "tensioner"', 'role = "idler"\nat_mm = [-48.0, 130.0]')


def test_a_belt_without_tensioner(tmp_path: Path) -> None:
    belt = answer(without_tensioner(2), tmp_path)
    assert belt["tensioner"] is None
    stiffness = float(re.search(r"stiffness_n = (\S+)", without_tensioner(2)).group(1))  # type: ignore[union-attr]
    at_n = float(re.search(r"length_at_n = (\S+)", without_tensioner(2)).group(1))  # type: ignore[union-attr]
    expected = at_n + stiffness * (belt["path_length_mm"] / belt["length_mm"] - 1)
    assert belt["tension_n"] == pytest.approx(max(expected, 0.0))
    assert any("no tensioner" in sentence for sentence in belt["why"])


SECOND = """
[[tensioner]]
pulley = "guide"
kind = "sprung arm"
tightens = "clockwise"
pivot_mm = [120.0, 260.0]
arm_mm = 70.0
notch_deg = 230.0
stops_deg = [-12, 12]
spring_nm = {spring}
rate_nm_per_deg = 0.1
friction_nm = 0.2
"""


def with_two(spring: float, error_mm: float) -> str:
    text = drive_text("arm", 4)
    text = re.sub(r'(id = "guide"\nrole = ")idler("\n[^\[]*?)at_mm = .*\n', r"\1tensioner\2", text)
    text = re.sub(r"^stops_deg = .*$", "stops_deg = [-12, 12]", text, flags=re.M)
    return re.sub(r"length_error_mm = (\S+)", f"length_error_mm = {error_mm}", text) + SECOND.format(spring=spring)


def test_two_sprung_tensioners_rest_together(tmp_path: Path) -> None:
    text, belt = "", {}
    for error in np.arange(-4.0, 5.0, 1.0):
        text = with_two(7.0, float(error))
        belt = answer(text, tmp_path)
        if belt["tension_n"] is not None:
            break
    first, second = belt["tensioners"]
    assert belt["tensioner"] == first
    assert first["tension_n"] == second["tension_n"] == belt["tension_n"]
    drive = read_drive(text, "drive.toml")
    tables = {table.pulley: table for table in drive.belts[0].tensioners}
    radii = radii_of(text)

    def length(pointers: dict[str, float]) -> float:
        points = []
        for pulley in drive.belts[0].pulleys:
            if pulley.id in tables:
                table = tables[pulley.id]
                way = 1 if table.tightens == "clockwise" else -1  # type: ignore[union-attr]
                phi = np.radians(table.notch_deg + way * pointers[pulley.id])  # type: ignore[union-attr]
                x, y = table.pivot_mm  # type: ignore[union-attr]
                points.append((x + table.arm_mm * np.sin(phi), y + table.arm_mm * np.cos(phi)))  # type: ignore[union-attr]
            else:
                points.append(pulley.centre_mm)
        inside = np.array([pulley.inside for pulley in drive.belts[0].pulleys])
        return float(belt_path(as_complex(points), np.array(radii), inside, 1).length_mm)

    at = {"roller": first["pointer_deg"], "guide": second["pointer_deg"]}
    assert belt["path_length_mm"] == pytest.approx(length(at), rel=1e-12)
    for row in (first, second):
        name, table = row["pulley"], tables[row["pulley"]]
        step = 1e-3
        slope = (length({**at, name: at[name] + step}) - length({**at, name: at[name] - step})) / (2 * np.radians(step))
        torque = 1000 * (table.spring_nm - table.rate_nm_per_deg * at[name])  # type: ignore[union-attr, operator]
        assert torque == pytest.approx(row["tension_n"] * slope, rel=1e-6)
        assert row["low_n"] == pytest.approx((torque - 1000 * table.friction_nm) / slope, rel=1e-6)  # type: ignore[union-attr]


def radii_of(text: str) -> list[float]:
    from twoturn.drive.radii import pitch_line_radii_mm

    return list(pitch_line_radii_mm(read_drive(text, "drive.toml").belts[0]))


def test_a_set_roller_beside_a_sprung_one_is_one_more_fixed_pulley(tmp_path: Path) -> None:
    """The same drive with the locked roller written as an idler where it stands."""
    arm = drive_text("arm", 4)
    text = re.sub(r'(id = "guide"\nrole = ")idler("\n[^\[]*?)at_mm = \[(.*), (.*)\]\n', r"\1tensioner\2", arm)
    x, y = map(float, re.search(r'id = "guide"[^\[]*?at_mm = \[(.*), (.*)\]', arm).groups())  # type: ignore[union-attr]
    text += (
        '\n[[tensioner]]\npulley = "guide"\nkind = "locked eccentric"\ntightens = "clockwise"\n'
        f"bolt_mm = [{x}, {y - 5}]\n"
        "arm_mm = 5.0\nnotch_deg = 0.0\nset_deg = 0.0\n"
    )
    together, alone = answer(text, tmp_path), answer(arm, tmp_path)
    assert together["tensioner"]["pointer_deg"] == pytest.approx(alone["tensioner"]["pointer_deg"], abs=1e-8)
    assert together["tension_n"] == pytest.approx(alone["tension_n"], rel=1e-9)


def test_closure_doubt_beyond_two_uncertainties(tmp_path: Path) -> None:
    text = longer(drive_text("arm", 1, closure="at notch"), 3)
    belt = answer(text, tmp_path)
    assert belt["tensioner"]["pointer_deg"] == 0.0
    assert belt["closure"]["offset_mm"] < -2 * belt["closure"]["u_mm"]
    assert belt["why"][0].startswith(DOUBT)
    assert "twice its uncertainty" in belt["why"][0]


@pytest.mark.parametrize("closure", ["as given", "at notch"])
@pytest.mark.parametrize("lacking", ["spring_nm", "stiffness_n"])
def test_a_wrong_tooth_count_is_doubted_without_a_rest_position(closure: str, lacking: str, tmp_path: Path) -> None:
    """The path at the notch against teeth × pitch, in teeth."""
    whole = changed(drive_text("arm", 1, closure=closure), length_error_mm=0.0)
    right = re.sub(rf"^{lacking} = .*$", "", whole, flags=re.M)
    wrong = answer(longer(right, 9), tmp_path)
    assert "teeth) shorter than the belt" in wrong["why"][0]
    assert wrong["why"][0].startswith(DOUBT)
    good = answer(right, tmp_path)
    assert not any(sentence.startswith(DOUBT) for sentence in good["why"])
    if closure == "at notch":
        offset = wrong["path_length_mm"] - wrong["teeth"] * wrong["pitch_mm"]
        assert wrong["closure"]["offset_mm"] == pytest.approx(offset)
        assert wrong["closure"]["offset_mm"] == pytest.approx(good["closure"]["offset_mm"] - 9 * wrong["pitch_mm"])
        assert wrong["length_mm"] == pytest.approx(wrong["path_length_mm"])
    else:
        assert wrong["closure"] is None


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"cam": "at_mm = [0.0, 70.0]"}, "overlap"),
        ({"guide": "at_mm = [-20.0, 180.0]"}, ""),
        ({"guide": "at_mm = [118.0, 215.0]"}, "wrap"),
        ({"pump": "at_mm = [-20.0, 200.0]"}, ""),
    ],
)
def test_impossible_places_are_refused(change: dict[str, str], word: str, tmp_path: Path) -> None:
    text = drive_text("arm", 1)
    for pulley, at in change.items():
        text = re.sub(rf'(id = "{pulley}"[^\[]*?)at_mm = .*', rf"\1{at}", text)
    with pytest.raises(FileFaults) as caught:
        answer(text, tmp_path)
    fault = caught.value.faults[0]
    assert fault.line is not None
    assert word in fault.sentence


def test_the_tensioner_pulley_over_another_is_refused(tmp_path: Path) -> None:
    text = re.sub(r'(id = "guide"[^\[]*?)at_mm = .*', r"\1at_mm = [-2.0, 150.0]", drive_text("locked set", 1))
    with pytest.raises(FileFaults) as caught:
        answer(text, tmp_path)
    assert any("overlap" in fault.sentence or "roller" in fault.sentence for fault in caught.value.faults)


def test_the_wrong_sense_of_rotation_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileFaults):
        answer(changed(drive_text("locked set", 1), crank_turns="counter-clockwise"), tmp_path)


def mirrored(text: str) -> str:
    """The drive as seen in a mirror."""
    other = {"clockwise": "counter-clockwise", "counter-clockwise": "clockwise"}
    text = re.sub(r'"(counter-clockwise|clockwise)"', lambda m: f'"{other[m.group(1)]}"', text)
    text = re.sub(r"^(\w+_mm) = \[(.+), (.+)\]$", _mirror_point, text, flags=re.M)
    text = re.sub(
        r"^(notch_deg|tightens_deg|ram_deg|adjuster_deg|mark_deg) = (.+)$",
        lambda m: f"{m.group(1)} = {-float(m.group(2))}",
        text,
        flags=re.M,
    )
    return re.sub(
        r"^adjuster_range_deg = \[(.+), (.+)\]$",
        lambda m: f"adjuster_range_deg = [{-float(m.group(2))}, {-float(m.group(1))}]",
        text,
        flags=re.M,
    )


def _mirror_point(match: re.Match[str]) -> str:
    if match.group(1) in ("window_mm", "stops_mm"):
        return match.group(0)
    return f"{match.group(1)} = [{-float(match.group(2))}, {match.group(3)}]"


@pytest.mark.parametrize("temperature_c", [20.0, 60.0])
@pytest.mark.parametrize("kind", KINDS)
def test_mirrored_drive_gives_mirrored_answers(kind: str, temperature_c: float, tmp_path: Path) -> None:
    text = drive_text(kind, 2)
    plain, other = answer(text, tmp_path, temperature_c), answer(mirrored(text), tmp_path, temperature_c)
    one, two = plain["tensioner"], other["tensioner"]
    for key in ("tension_n", "low_n", "high_n", "n_per_deg", "n_per_k", "deg_per_k", "deg_per_mm_belt"):
        assert two[key] == (None if one[key] is None else pytest.approx(one[key], rel=1e-7, abs=1e-9)), key
    assert two["centre_mm"] == pytest.approx([-one["centre_mm"][0], one["centre_mm"][1]], abs=1e-8)
    if one["adjuster_deg"] is not None:
        assert two["adjuster_deg"] == pytest.approx(-one["adjuster_deg"], abs=1e-8)
    assert [pulley["wrap_deg"] for pulley in other["pulleys"]] == pytest.approx(
        [pulley["wrap_deg"] for pulley in plain["pulleys"]], abs=1e-8
    )
    assert [row["teeth"] for row in other["tooth_counts"]] == pytest.approx(
        [row["teeth"] for row in plain["tooth_counts"]]
    )


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_that_grows_changes_nothing(kind: str, tmp_path: Path) -> None:
    text = changed(drive_text(kind, 2), block_expansion_per_k=0.0, expansion_per_k=0.0)
    text = re.sub(r"^(belt_side = .*)$", r"\1\nexpansion_per_k = 0.0", text, flags=re.M)
    cold, hot = answer(text, tmp_path, 20.0), answer(text, tmp_path, 95.0)
    assert hot["tension_n"] == pytest.approx(cold["tension_n"], rel=1e-9)
    assert hot["tensioner"]["n_per_k"] == pytest.approx(0, abs=1e-9)
