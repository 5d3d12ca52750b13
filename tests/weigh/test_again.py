"""Lines that were hardly heard, listened to once more."""

import pytest

from lexicon.load import load_lexicon
from pipeline.listen.recogniser import decode_spans
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio, Word
from pipeline.times import Interval
from pipeline.weigh.again import differences, doubtful_lines, listen_again, read_again
from tests.weigh.said import transcript, words

LEXICON = load_lexicon("motorcycle")


@pytest.mark.parametrize(
    ("heard", "heard_again", "found"),
    [
        ("light fitting here", "light pitting here", [("fitting", "pitting")]),
        ("1,200 Miles.", "1200 miles", []),
        ("a 2 inch dent", "a two inch dent", []),
        ("a scratch", "a long scratch", [("a", "a long")]),
        ("scratch", "long scratch", [("scratch", "long scratch")]),
        ("a very long scratch", "a scratch", [("very long", "")]),
    ],
)
def test_what_the_second_listener_hears_otherwise(
    heard: str, heard_again: str, found: list[tuple[str, str]]
) -> None:
    def text(some: list[Word]) -> str:
        return " ".join(word.text for word in some)

    got = differences(words(heard), words(heard_again))
    assert [(text(list(d.heard)), text(list(d.again))) for d in got] == found


def test_the_most_doubtful_lines_come_first_within_the_budget() -> None:
    lines = transcript("all is well here", "fitting? folks? hear?", "one? two? is well").lines
    assert doubtful_lines(lines, 100) == [1, 2]
    assert doubtful_lines(lines, 2.5) == [1]
    assert doubtful_lines(lines, 0.5) == []


def test_words_heard_surely_are_read_and_both_stay() -> None:
    heard = transcript("light fitting? on the folks?", "all well")
    spoken = heard.lines[0]
    other = words("light pitting on the spokes", 0.95)
    found = read_again(heard, [0], other, LEXICON)
    assert [word.read_as for word in found.lines[0].words] == [
        None, "pitting", None, None, "spokes",
    ]  # fmt: skip
    assert [repair.heard for repair in found.lines[0].repairs] == ["fitting", "folks"]
    assert found.lines[0].text == spoken.text
    assert found.lines[1] == heard.lines[1]


def test_words_heard_no_better_are_only_shown() -> None:
    heard = transcript("light fitting? here")
    found = read_again(heard, [0], words("light pitting? here"), LEXICON)
    assert [repair.taken for repair in found.lines[0].repairs] == [False]
    assert all(word.read_as is None for word in found.lines[0].words)


def test_words_that_are_not_of_the_trade_are_left_alone() -> None:
    heard = transcript("the caller? is here")
    found = read_again(heard, [0], words("the color is here", 0.95), LEXICON)
    assert found.lines[0].repairs == []
    assert all(word.read_as is None for word in found.lines[0].words)


def test_nobody_is_asked_where_nothing_is_in_doubt(phrases: Audio) -> None:
    sure = transcript("all is well here")

    def second() -> SpeechModel:
        raise AssertionError

    assert listen_again(sure, phrases, second, LEXICON, 10.0) == sure
    doubted = transcript("fitting? folks? hear?")
    assert listen_again(doubted, phrases, lambda: None, LEXICON, 10.0) == doubted


def test_stretches_are_heard_at_their_own_time(phrases: Audio, model: SpeechModel) -> None:
    found = decode_spans(phrases, model, [Interval(start_s=16.5, end_s=18.3)])
    assert "mirror" in " ".join(word.text for word in found).lower()
    assert all(16.0 <= word.start_s <= word.end_s <= 18.8 for word in found)
    assert decode_spans(phrases, model, []) == []
