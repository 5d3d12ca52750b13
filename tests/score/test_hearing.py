"""pipeline/score/hearing.py: error rates over all words and over the trade's."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lexicon.load import load_lexicon
from pipeline.score.hearing import heard, plain_words, trade_words

LEXICON = load_lexicon("motorcycle")
TEXTS = st.lists(
    st.sampled_from(["the", "tank", "scratch", "rust", "on", "hello", "fender", "saddle", "bag"])
).map(" ".join)


@pytest.mark.published
@pytest.mark.parametrize(
    ("said", "transcribed", "rate"),
    [
        ("hello world", "hello duck", 0.5),
        ("This is a test", "This is a test", 0.0),
        ("This is a test", "", 1.0),
        ("This is a test", "This test", 0.5),
        (
            "i am a short ground truth",
            "i am a considerably longer and very much incorrect hypothesis",
            7 / 6,
        ),
        ("this test will have a high word error rate", "no it will not", 8 / 9),
    ],
)
def test_word_error_rate_of_published_examples(said: str, transcribed: str, rate: float) -> None:
    """The examples of jiwer's documentation and tests (4.0.0), those without single letters."""
    assert heard(said, transcribed, LEXICON).words.ratio == pytest.approx(rate)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Rust, on the rim.", ["rust", "on", "the", "rim"]),
        ("A two-inch scratch", ["a", "inch", "scratch"]),
        ("Stock number B four four seven one", ["stock", "number"]),
        ("Stock number B4471.", ["stock", "number"]),
        ("It's 50% gone, I'd say", ["it's", "gone", "i'd", "say"]),
        ("fourteen, forty, eighty, fifteen", []),
        ("someone often", ["someone", "often"]),
    ],
)
def test_numbers_and_marks_are_not_compared(text: str, words: list[str]) -> None:
    assert plain_words(text) == words


def test_one_trade_word_is_the_same_in_one_or_two() -> None:
    assert heard("the saddlebag is torn", "the saddle bag is torn", LEXICON).words.count == 0


def test_trade_words_are_those_of_parts_and_flaws() -> None:
    words = plain_words("Well, the front fender has some surface rust on it")
    assert [words[i] for i in sorted(trade_words(words, LEXICON))] == ["fender", "surface", "rust"]


@pytest.mark.parametrize(
    ("transcribed", "lost", "invented"),
    [
        ("the tank has a scratch", 0, 0),
        ("the thank has a scratch", 1, 0),
        ("the tank has a", 1, 0),
        ("the tank has a dent", 1, 1),
        ("the tank has a rust scratch", 0, 1),
        ("a tank had a scratch", 0, 0),
    ],
)
def test_trade_words_lost_and_invented(transcribed: str, lost: int, invented: int) -> None:
    found = heard("the tank has a scratch", transcribed, LEXICON)
    assert (found.trade.count, found.trade.total) == (lost, 2)
    assert (found.invented.count, found.invented.total) == (invented, 5)


@given(TEXTS, TEXTS)
def test_errors_never_pass_what_is_there(said: str, transcribed: str) -> None:
    found = heard(said, transcribed, LEXICON)
    assert found.trade.count <= found.trade.total <= found.words.total
    assert found.trade.count <= found.words.count
    assert found.invented.count <= found.words.count
    assert heard(said, said, LEXICON).words.count == 0
