"""Which words may have been misheard, and as what."""

import pytest

from lexicon.load import load_lexicon
from pipeline.models import Transcript
from pipeline.weigh.candidates import candidates, plain
from tests.weigh.said import transcript

LEXICON = load_lexicon("motorcycle")


def offered(said: Transcript) -> set[tuple[str, str]]:
    return {
        (one.heard, one.phrase.id)
        for sentence in candidates(said.lines, LEXICON)
        for one in sentence
    }


@pytest.mark.parametrize(
    ("text", "reading"),
    [
        ("There is light fitting? on the fork.", ("fitting", "pitting")),
        ("A small debt? in the fuel tank.", ("debt", "dent")),
        ("The saddle begone? has a scratch.", ("saddle begone", "saddlebag")),
    ],
)
def test_a_doubtful_word_is_offered_the_phrase_it_sounds_like(
    text: str, reading: tuple[str, str]
) -> None:
    assert reading in offered(transcript(text, sure=0.97))


@pytest.mark.parametrize(
    "text",
    [
        "There is light fitting on the fork.",  # heard surely
        "So we went fitting? there.",  # nothing here is about the machine
        "There is 1200? on the fork.",  # digits have no sound of their own
    ],
)
def test_what_is_not_in_doubt_or_out_of_place_is_offered_nothing(text: str) -> None:
    assert offered(transcript(text, sure=0.97)) == set()


def test_a_part_that_is_or_has_something_stays_one() -> None:
    found = next(candidates(transcript("Mumper's? bent.").lines, LEXICON))
    bumpers = [one for one in found if one.phrase.id == "bumper"]
    assert [(one.heard, one.read_as) for one in bumpers] == [("mumper's", "bumper's")]


def test_captions_are_in_doubt_where_a_word_is_odd() -> None:
    found = offered(transcript("The front vendor has a dent.", sure=None))
    assert ("vendor", "fender") in found
    assert all("vendor" in heard for heard, _ in found)


def test_a_word_read_otherwise_already_is_settled() -> None:
    said = transcript("There is light fitting? on the fork.")
    line = said.lines[0]
    read = [
        word.model_copy(update={"read_as": "pitting" if word.text == "fitting" else None})
        for word in line.words
    ]
    settled = said.model_copy(update={"lines": [line.model_copy(update={"words": read})]})
    assert all(heard != "fitting" for heard, _ in offered(settled))


@pytest.mark.parametrize(
    ("text", "sounds"), [("Tank,", "tank"), ("It's", "it's"), ("--", ""), ("A-arm.", "a arm")]
)
def test_plain_words(text: str, sounds: str) -> None:
    assert plain(text) == sounds
