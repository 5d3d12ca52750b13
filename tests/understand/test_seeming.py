"""Flaws that only seemed to be there: said, feared or taken for one, and in the same breath not."""

import pytest

from tests.understand.talks import clean, pairs


@pytest.mark.parametrize(
    "sentence",
    [
        "I took that for a crack in the side cover, but it's a hair off my glove.",
        "What looked like rust on the footpeg was red clay, it came off on my glove.",
        "I was fixing to tell you the mirror had a crack, but it was a moth.",
        "I got all excited about a stain there on the swingarm, and it came off with my thumb.",
        "The tank looked dreadful when it came in, but that was only tree sap, and it washed off.",
        "The seat had pine sap on it when it came in, that washed right off.",
        "There was a shiny streak of grease on the engine case, I wiped it off.",
    ],
)
def test_what_was_something_else_is_no_flaw(sentence: str) -> None:
    assert pairs(sentence) == []
    assert clean(sentence) == []


@pytest.mark.parametrize(
    ("sentence", "part"),
    [
        ("They told me the radiator leaked, and that radiator is bone dry.", "radiator"),
        ("I thought for sure the tank would be dented, and it isn't.", "fuel_tank"),
        ("My boss swore he saw a dent in the rear fender, but there's no dent in it.", "fender"),
        (
            "The windshield was meant to be scratched, and there isn't a scratch on it.",
            "windshield",
        ),
        (
            "I expected a scraped saddlebag, and there's nothing wrong with this saddlebag.",
            "saddlebag",
        ),
    ],
)
def test_a_part_free_of_what_was_feared_is_clean(sentence: str, part: str) -> None:
    assert pairs(sentence) == []
    assert clean(sentence) == [part]


@pytest.mark.parametrize(
    ("sentence", "told"),
    [
        ("They told me the radiator leaked, and it does.", ["radiator leak"]),
        ("It looks like somebody dropped it, the clutch lever is bent.", ["clutch_lever bent"]),
        ("He said the seat was torn, but the grips are fine.", ["seat tear"]),
        ("He told me he waxed it, and other than a scratch that tank is spotless.",
         ["fuel_tank scratch"]),
        ("The exhaust has residue on it, it comes off with a rag.", ["exhaust residue"]),
        ("It looks like a crack in the fairing, and that's a shame.", ["fairing crack"]),
        ("He said the mirror's loose, it's an easy fix.", ["mirror loose"]),
        ("There's a stain on the seat that won't come off.", ["seat stain"]),
        ("It looks like a dent in the tank, and it's only a small one.", ["fuel_tank dent"]),
    ],
)  # fmt: skip
def test_what_is_not_dispelled_is_told(sentence: str, told: list[str]) -> None:
    assert pairs(sentence) == told
