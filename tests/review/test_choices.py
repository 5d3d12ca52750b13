"""pipeline/review/choices.py: what the reviewer types is read as he means it."""

from typing import Any

import pytest

from pipeline.review.choices import best_matches, is_begun, read_amount, read_place
from tests.review.records import CHOICES


@pytest.mark.parametrize(
    ("typed", "best"),
    [
        ("mirror", "mirror"),
        ("Gas Tank", "fuel_tank"),
        ("fuel_tank", "fuel_tank"),
        ("sad", "saddlebag"),
        ("sadlebag", "saddlebag"),
        ("t", "fuel_tank"),  # "tank" before "tail light": equal starts stand in order of the ids
        ("tail", "tail_light"),
        ("rotor", "brake_rotor"),
    ],
)
def test_the_nearest_part_comes_first(typed: str, best: str) -> None:
    assert best_matches(typed, CHOICES.parts)[0] == best


@pytest.mark.parametrize(
    ("typed", "begun"),
    [("Tail-light", True), ("tail l", True), ("tail lights", False), ("tail tidy", False)],
)
def test_a_name_is_begun_or_only_resembled(typed: str, begun: bool) -> None:
    assert is_begun(typed, "tail_light", CHOICES.parts) is begun


@pytest.mark.parametrize("typed", ["", "  ", "?!", "zzzz"])
def test_what_is_near_nothing_matches_nothing(typed: str) -> None:
    assert best_matches(typed, CHOICES.parts) == []


@pytest.mark.parametrize(
    ("typed", "position", "side"),
    [
        ("front left", "front", "left"),
        ("l", None, "left"),
        ("f r", "front", "right"),
        ("re r", "rear", "right"),
        ("rea, ri", "rear", "right"),
        ("both", None, "both"),
        ("UPPER", "upper", None),
        ("-", None, None),
        ("", None, None),
    ],
)
def test_places_are_read(typed: str, position: str | None, side: str | None) -> None:
    assert read_place(typed) == {"position": position, "side": side}


def test_a_place_that_is_none_says_what_may_be_typed() -> None:
    with pytest.raises(ValueError, match="'sideways' is no place; write any of: left, right, both"):
        read_place("left sideways")


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("3", {"count": 3}),
        ("2 in", {"size_mm": 50.8}),
        ('1.5"', {"size_mm": 38.1}),
        ("50mm", {"size_mm": 50.0}),
        ("5 cm", {"size_mm": 50.0}),
        ("30%", {"area_pct": 30.0}),
        ("3, 2 in, 30 %", {"count": 3, "size_mm": 50.8, "area_pct": 30.0}),
        ("-", {"count": None, "size_mm": None, "area_pct": None}),
    ],
)
def test_amounts_are_read(typed: str, amount: dict[str, Any]) -> None:
    assert read_amount(typed) == amount


@pytest.mark.parametrize("typed", ["", "many", "3 miles", "2 ins", "1.5", "-3", "3 4"])
def test_what_is_no_amount_says_what_may_be_typed(typed: str) -> None:
    with pytest.raises(ValueError, match="is no amount; write a count"):
        read_amount(typed)
