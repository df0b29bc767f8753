"""The catalogue of findings: complete, plain, and forgiving of a wrong name (common practice, no source)."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from twoturn.errors import TwoTurnError
from twoturn.findings.catalogue import PLACES, UnknownFinding, catalogue, finding, nearest


def test_every_finding_is_whole() -> None:
    for item in catalogue().values():
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", item.id)
        assert item.where in PLACES
        assert item.words
        assert item.look
        assert item.basis in {"common practice", "judgement"} or "," in item.basis
        assert not re.search(r"#\d|\bno\. \d", item.words)
        if item.severe:
            assert item.cured_by
    assert {item.where for item in catalogue().values()} == set(PLACES)


@pytest.mark.parametrize(
    "severe",
    [
        "leak-oil",
        "leak-coolant",
        "leak-fuel",
        "sprocket-worn",
        "sprocket-damaged",
        "idler-seized",
        "idler-rough",
        "pump-rough",
        "tensioner-rough",
        "misalignment",
        "key-beaten",
        # what these show is another part that stopped or is nicked: it hurts the new belt too (common practice)
        "teeth-sheared-run",
        "teeth-bruised-spaced",
        "belt-melted-patch",
        "belt-broken-ragged",
    ],
)
def test_what_must_be_cured_first(severe: str) -> None:
    assert finding(severe).severe


def test_what_only_asks_does_not_bind() -> None:
    for plain in ("belt-ordinary", "back-cracks", "root-cracks-drive", "belt-over-age", "belt-jumped"):
        assert not finding(plain).severe


def test_oil_says_nothing_on_a_belt_in_oil() -> None:
    assert not finding("leak-oil").in_oil
    assert finding("leak-coolant").in_oil


@pytest.mark.parametrize(
    ("asked", "meant"),
    [
        ("oil-leak", "leak-oil"),
        ("oil leak at camshaft seal", "leak-oil"),
        ("sprocket_worn", "sprocket-worn"),
        ("worn sprockets", "sprocket-worn"),
        ("misaligned", "misalignment"),
        ("idler-siezed", "idler-seized"),
        ("water pump leaking", "pump-leak"),
        ("missing teeth", "teeth-sheared-run"),
        ("back cracked", "back-cracks"),
        ("frayed edge", "edge-frayed-one"),
    ],
)
def test_a_wrong_name_finds_the_nearest(asked: str, meant: str) -> None:
    with pytest.raises(UnknownFinding) as caught:
        finding(asked)
    assert meant in [item.id for item in caught.value.near]
    assert asked in caught.value.sentence
    assert meant in caught.value.sentence


def test_nonsense_finds_nothing_and_says_so() -> None:
    assert nearest("qqqq") == []
    with pytest.raises(TwoTurnError, match='no finding is called "qqqq"'):
        finding("qqqq")


def test_a_finding_is_frozen() -> None:
    item = finding("leak-oil")
    assert replace(item, severe=False) != item
