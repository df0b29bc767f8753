"""RFC 8785, JSON Canonicalization Scheme, June 2020: appendix B (numbers) and sections 3.2.2 to 3.2.4 (worked example).

Only printed values are asserted, exactly.
"""

from __future__ import annotations

import struct

import pytest

from twoturn.job.canonical import CanonicalError, canonical_json, number_text

APPENDIX_B = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "printed"), APPENDIX_B)
def test_numbers_of_appendix_b(bits: str, printed: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert number_text(number) == printed


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000"])
def test_not_a_number_and_infinity_end_in_an_error(bits: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    with pytest.raises(CanonicalError):
        number_text(number)


def test_worked_example_of_section_3_2_2() -> None:
    value = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": '€$\u000f\nA\'B"\\\\"/',
        "literals": [None, True, False],
    }
    printed = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical_json(value) == printed


def test_key_order_of_section_3_2_3() -> None:
    value = {
        "€": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "ö": "Latin Small Letter O With Diaeresis",
    }
    order = ["\\r", "1", "\u0080", "ö", "€", "\U0001f600", "\ufb33"]
    text = canonical_json(value)
    places = [text.index(f'"{key}":') for key in order]
    assert places == sorted(places)
