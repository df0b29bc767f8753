"""Files with one fault each that lies between tables: names, drivers, centres, distances."""

from __future__ import annotations

import pytest
from tests.drive.file_texts import LIST, MEASURED, TWO_BELTS, WHOLE, Bad, check_one_fault

NAMES = {
    "duplicate pulley": Bad(LIST, 'id = "coolant pump"', 'id = "cam" # again', "pulley[4].id", "again", "pulley[3]"),
    "unknown belt": Bad(
        TWO_BELTS,
        'id = "cam"\nbelt = "main"',
        'id = "cam"\nbelt = "maim"',
        "pulley[3].belt",
        '"maim"',
        'perhaps "main"',
    ),
    "belt not said": Bad(
        TWO_BELTS, 'id = "cam"\nbelt = "main"', 'id = "cam"', "pulley[3].belt", '[[pulley]]\nid = "cam"', '"balance"'
    ),
    "belt without id": Bad(
        TWO_BELTS, 'id = "main"\nteeth', "teeth", "belt[1].id", "[[belt]]\nteeth = 123", "an id for each belt"
    ),
    "unknown shaft": Bad(TWO_BELTS, 'shaft = "crank"', 'shaft = "crnk"', "pulley[4].shaft", "crnk", 'perhaps "crank"'),
    "unknown link": Bad(
        TWO_BELTS, 'from = "rear balance gear"', 'from = "gear"', "link[1].from", '"gear"', "[[shaft]]"
    ),
    "link to itself": Bad(WHOLE, 'to = "exhaust cam"', 'to = "inlet cam"', "link[1].to", "to = ", "two different"),
    "no role": Bad(
        LIST, 'role = "coolant pump"\n', "", "pulley[4].role", '[[pulley]]\nid = "coolant pump"', "injection pump"
    ),
    "no role of a shaft": Bad(
        WHOLE, 'role = "camshaft"\nhub', "hub", "shaft[1].role", '[[shaft]]\nid = "inlet cam"', "its role"
    ),
    "two roles": Bad(
        WHOLE,
        'shaft = "inlet cam"',
        'shaft = "inlet cam"\nrole = "oil pump"',
        "pulley[3].role",
        '"oil pump"',
        '"camshaft"',
    ),
    "no crankshaft": Bad(LIST, '"crankshaft"', '"oil pump"', "pulley[1].role", '"oil pump"', "crankshaft"),
    "two crankshafts": Bad(LIST, '"camshaft"', '"crankshaft" # two', "pulley[3].role", "# two", "one crankshaft only"),
    "pin's shaft": Bad(
        TWO_BELTS,
        'shaft = "rear balance shaft"',
        'shaft = "rear shaft"',
        "pin[1].shaft",
        '"rear shaft"',
        "rear balance shaft",
    ),
    "requirement nowhere": Bad(
        WHOLE, 'at = "tensioner"', 'at = "tensoner"', "requirement[1].at", "tensoner", 'perhaps "tensioner"'
    ),
    "stands for nothing": Bad(
        WHOLE,
        'at = "tensioner"',
        'at = "tensioner"\ninstead_of = "no such"',
        "requirement[1].instead_of",
        '"no such"',
        "another requirement",
    ),
    "span turned": Bad(
        WHOLE,
        'at = "cam:coolant pump"',
        'at = "coolant pump:cam"',
        "requirement[2].at",
        "coolant pump:cam",
        '"cam:coolant pump"',
    ),
    "span of strangers": Bad(
        WHOLE, 'at = "cam:coolant pump"', 'at = "cam:crank"', "requirement[2].at", "cam:crank", "neighbours"
    ),
    "reachable": Bad(
        WHOLE, '["cam:coolant pump"]', '["cam:pump"]', "access.reachable[1]", '"cam:pump"', "coolant pump"
    ),
    "fastener locks": Bad(
        WHOLE, 'locks = "tensioner"', 'locks = "tensoner"', "fastener[1].locks", "locks =", 'perhaps "tensioner"'
    ),
    "setting's goal": Bad(
        WHOLE, '{ to = "notch" }', '{ to = "nocht" }', "tensioner[1].setting[4].to", '"nocht"', 'perhaps "notch"'
    ),
    "setting's fastener": Bad(
        LIST,
        'fastener = "tensioner nut"',
        'fastener = "nut"',
        "tensioner[1].setting[2].fastener",
        '"nut"',
        "tensioner nut",
    ),
    "step's fastener": Bad(
        LIST,
        "[[fastener]]",
        '[[step]]\nafter = "x"\ntext = "y"\nfastener = "z"\n\n[[fastener]]',
        "step[1].fastener",
        '"z"',
        "[[fastener]]",
    ),
    "tensioner nowhere": Bad(
        LIST,
        'kind = "locked',
        'pulley = "tension"\nkind = "locked',
        "tensioner[1].pulley",
        '"tension"',
        'perhaps "tensioner"',
    ),
    "two tensioners": Bad(
        TWO_BELTS,
        'pulley = "balance tensioner"',
        'pulley = "tensioner" # too',
        "tensioner[2].pulley",
        "# too",
        "one tensioner for each",
    ),
    "tensioner on the crank": Bad(
        LIST,
        'kind = "locked',
        'pulley = "crank"\nkind = "locked',
        "tensioner[1].pulley",
        'pulley = "crank"',
        "does not drive",
    ),
    "order lacks one": Bad(TWO_BELTS, ', "front balance shaft"', "", "fit[1].order", "order =", "each pulley once"),
    "order of no belt": Bad(
        TWO_BELTS, '[[fit]]\nbelt = "balance"\norder = [', '[[fit]]\norder = ["x", ', "fit[1].belt", "[[fit]]", "one of"
    ),
}
DRIVEN = {
    "crank not first": Bad(
        LIST,
        'id = "crank"\n',
        'id = "x"\nrole = "oil pump"\nteeth = 9\n[[pulley]]\nid = "crank"\n',
        "pulley[2].id",
        'id = "crank"',
        "first",
    ),
    "teeth and diameter": Bad(
        LIST, "teeth = 19", "teeth = 19\ndiameter_mm = 60", "pulley[4].diameter_mm", "diameter_mm", "one of the two"
    ),
    "cam without teeth": Bad(
        LIST, "teeth = 40\n", "", "pulley[3].teeth", '[[pulley]]\nid = "cam"', "a camshaft has a toothed"
    ),
    "teeth under the back": Bad(
        LIST, "teeth = 19", 'teeth = 19\nbelt_side = "back"', "pulley[4].belt_side", '"back"', "double_sided"
    ),
    "mark on a smooth one": Bad(
        LIST, 'role = "tensioner"', 'role = "tensioner"\nmark_deg = 3', "pulley[2].mark_deg", "mark_deg = 3", "no mark"
    ),
    "offset without mark": Bad(
        LIST,
        "teeth = 19",
        "teeth = 19\nmark_offset_deg = 1",
        "pulley[4].mark_offset_deg",
        "mark_offset_deg",
        "mark_deg beside it",
    ),
    "ratio": Bad(WHOLE, "ratio = 0.5", "ratio = 0.511", "pulley[3].ratio", "ratio = 0.511", "1/2"),
    "sense of a ratio": Bad(WHOLE, "ratio = 0.5", "ratio = -0.5", "pulley[3].ratio", "ratio = -0.5", "1/2"),
    "driver not driven": Bad(
        TWO_BELTS,
        'shaft = "crank"\nteeth = 30',
        'role = "oil pump"\nteeth = 30',
        "pulley[4].id",
        '"crank, balance belt"\nbelt',
        "crankshaft turns",
    ),
    "two ways": Bad(
        TWO_BELTS,
        'to = "rear balance shaft"',
        'to = "front balance shaft"',
        "link[1].teeth_to",
        "teeth_to",
        "another way",
    ),
    "no tensioner table": Bad(
        LIST, "[[tensioner]]\nkind", "[[tool]]\nkind", "pulley[2].id", 'id = "tensioner"\nrole', "with its kind"
    ),
}
GEOMETRY = {
    "centre missing": Bad(
        WHOLE, "at_mm = [64.0, 150.0]\n", "", "pulley[4].at_mm", '[[pulley]]\nid = "coolant pump"', "coolant pump"
    ),
    "centre of tensioner": Bad(
        WHOLE, "diameter_mm = 60", "diameter_mm = 60\nat_mm = [1, 2]", "pulley[2].at_mm", "[1, 2]", "[[tensioner]]"
    ),
    "no diameter": Bad(
        WHOLE, "diameter_mm = 60\n", "", "pulley[2].diameter_mm", '[[pulley]]\nid = "tensioner"', "diameter_mm"
    ),
    "no side": Bad(
        WHOLE, 'belt_side = "back"\n', "", "pulley[2].belt_side", '[[pulley]]\nid = "tensioner"', "which face"
    ),
    "no pitch": Bad(
        WHOLE,
        'pitch_mm = 9.525\nwidth_mm = 25.4\ndesignation = "114 ZA 25"\n',
        "",
        "belt[1].pitch_mm",
        "[[belt]]",
        "pitch_mm",
    ),
    "no arm": Bad(WHOLE, "arm_mm = 6.0\n", "", "tensioner[1].arm_mm", "[[tensioner]]", "arm_mm"),
    "overlap": Bad(WHOLE, "[64.0, 150.0]", "[30.0, 50.0]", "pulley[4].at_mm", "[30.0, 50.0]", '"crank"'),
    "wrap wide": Bad(WHOLE, "[64.0, 150.0]", "[-10.0, 150.0]", "pulley[4].at_mm", "[-10.0, 150.0]", "300°"),
    "wrap narrow": Bad(WHOLE, "[64.0, 150.0]", "[17.2, 150.0]", "pulley[4].at_mm", "[17.2, 150.0]", "3°"),
    "shared centre": Bad(
        WHOLE,
        "[[tensioner]]",
        '[[pulley]]\nid = "crank 2"\nshaft = "crank"\nteeth = 22\nat_mm = [1.0, 2.0]\n\n[[tensioner]]',
        "pulley[5].at_mm",
        "[1.0, 2.0]",
        '"crank"',
    ),
    "distance to nowhere": Bad(
        MEASURED, '["cam", "coolant pump"]', '["cam", "pump"]', "distance[3].between", '"pump"]', "coolant pump"
    ),
    "distance to itself": Bad(
        MEASURED, '["cam", "coolant pump"]', '["cam", "cam"]', "distance[3].between", '"cam", "cam"', "two different"
    ),
    "distance twice": Bad(
        MEASURED, '["cam", "coolant pump"]', '["cam", "crank"]', "distance[3].between", '"cam", "crank"', "once"
    ),
    "side to nowhere": Bad(MEASURED, 'left_of = "crank"', 'left_of = "crnk"', "distance[4].left_of", "crnk", '"crank"'),
    "no rotation": Bad(MEASURED, "bearing_deg = 0\n", "", "distance[1].bearing_deg", "[[distance]]", "bearing_deg"),
    "no mirror": Bad(
        MEASURED,
        'left_of = "crank"\n',
        "",
        "distance[6]",
        '[[distance]]\nbetween = ["coolant pump", "tensioner bolt"]',
        "left_of",
    ),
    "wrong side": Bad(
        MEASURED, 'left_of = "crank"', 'above = "cam"', "distance[4].above", 'above = "cam"', "tensioner bolt"
    ),
    "wrong distance": Bad(MEASURED, "mm = 189.0", "mm = 199.0", "distance", "[[distance]]", "cannot be told apart"),
}
ALL = {**NAMES, **DRIVEN, **GEOMETRY}


@pytest.mark.parametrize("bad", ALL.values(), ids=ALL)
def test_one_fault(bad: Bad) -> None:
    check_one_fault(bad)
