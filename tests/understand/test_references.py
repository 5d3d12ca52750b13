"""A flaw spoken of again is a second mention, never a second finding."""

import pytest

from tests.understand.talks import clean, flaws, mentioned, pairs

BETWEEN = "The mirrors are good."


@pytest.mark.parametrize(
    ("first", "again", "known"),
    [
        ("A dent in the tank.", "From up here you can really see that dent in the tank.", "fuel_tank dent"),
        ("The seat has a tear.", "Like I said, the seat's got that tear.", "seat tear"),
        ("The seat has a tear.", "Again, the seat's torn.", "seat tear"),
        ("Windshield's cracked at the bottom.",
         "Here's the crack in the windshield again from the inside.", "windshield crack"),
        ("The left footpeg is bent.", "From the front you can see the footpeg is bent.", "footpeg bent"),
        ("The left saddlebag has a dent.", "Saddlebag dent, here it is up close.", "saddlebag dent"),
        ("There's a gouge in the frame.", "As mentioned there's a gouge in the frame.", "frame gouge"),
        ("Both mirrors are scratched.", "That scratch on the left mirror's the worst.", "mirror scratch"),
        # Neither denied nor imagined: it was told before.
        ("A dent in the tank.", "Don't let that dent in the tank scare you.", "fuel_tank dent"),
        ("A dent in the tank.", "If that dent in the tank bothers you, call.", "fuel_tank dent"),
        # In other words.
        ("A scuff on the fairing.", "That scrape on the fairing I mentioned is long.", "fairing scuff"),
        ("A scuff on the fairing.", "That mark on the fairing I showed you will buff.", "fairing scuff"),
    ],
)  # fmt: skip
def test_spoken_of_again(first: str, again: str, known: str) -> None:
    assert pairs(first, BETWEEN, again) == [known]
    assert mentioned(first, BETWEEN, again) == [known]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("A chip on the front fender.", "Another chip on the front fender."),
        ("The left mirror is cracked.", "The right mirror is cracked."),
        ("A scratch on the top of the tank.", "A scratch on the bottom of the tank."),
    ],
)
def test_another_flaw(first: str, second: str) -> None:
    assert len(pairs(first, second)) == 2
    assert mentioned(first, second) == []


def test_a_known_flaw_is_not_denied() -> None:
    assert clean("A dent in the tank.", "Don't let that dent in the tank scare you.") == []


@pytest.mark.parametrize("sentence", ["It's aftermarket, that shifter's aftermarket.",
                                      "The tank's been repainted, it's had a respray."])  # fmt: skip
def test_said_twice_in_one_sentence_is_said_once(sentence: str) -> None:
    assert len(pairs(sentence)) == 1
    assert mentioned(sentence) == []


@pytest.mark.parametrize(
    ("sentence", "place"),
    [
        ("Radiator, left side, fins bent, minor.", ("left", None)),
        ("The front fender has cracks in it, two cracks, down by the mount.", (None, "front")),
        ("The side cover is scuffed, road rash, on the left.", ("left", None)),
    ],
)
def test_told_in_more_detail_in_one_sentence_it_is_one_flaw(
    sentence: str, place: tuple[str | None, str | None]
) -> None:
    (flaw,) = flaws(sentence)
    assert flaw[:2] == place


def test_in_one_sentence_places_that_contradict_are_two() -> None:
    assert len(flaws("A scratch on the left of the tank, scratch on the right of the tank.")) == 2
    assert len(flaws("A chip on the front fender, and another chip on the fender.")) == 2
