"""Words to phones."""

import pytest

from pipeline.sounds import is_english, phones


@pytest.mark.parametrize(
    ("word", "spoken"),
    [
        ("rust", "ɹ ʌ s t"),
        ("wheel", "w i l"),
        ("we'll", "w i l"),
        ("kickstand", "k ɪ k s t æ n d"),  # kick + stand
        ("footpeg", "f ʊ t p ɛ ɡ"),
        ("taillight", "t eɪ l l aɪ t"),
        ("sponson", "s p ɑ n s ə n"),  # guessed from its letters
    ],
)
def test_known_compound_and_unknown_words_are_said(word: str, spoken: str) -> None:
    assert phones(word) == tuple(spoken.split())


def test_only_the_dictionary_says_what_is_english() -> None:
    assert is_english("fender")
    assert not is_english("kickstand")
    assert not is_english("brustle")
