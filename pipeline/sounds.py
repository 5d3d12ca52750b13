"""How words sound: phone sequences from a pronouncing dictionary, by rule where it lacks a word.

The dictionary (124,392 English words) and the model for other words are gruut's English data (MIT);
phones are in the International Phonetic Alphabet, stress marks taken off.
"""

import sqlite3
from contextlib import closing
from functools import lru_cache
from importlib import resources
from typing import Any

Phones = tuple[str, ...]

_STRESS = str.maketrans("", "", "ˈˌ")
_SHORTEST_HALF = 3  # letters of a compound's halves: "foot" + "peg"


@lru_cache(maxsize=50_000)
def phones(word: str) -> Phones:
    """The phones of a lower-case word, in its first pronunciation.

    A word that the dictionary lacks is said as the two words it is made of, else as its letters
    suggest.

    >>> phones("rust")
    ('ɹ', 'ʌ', 's', 't')
    >>> phones("footpeg")
    ('f', 'ʊ', 't', 'p', 'ɛ', 'ɡ')
    """
    known = _dictionary()
    halves = [word] if word in known else _halves(word)
    spoken = [phone for half in halves for phone in known[half].split()] or _guesser()(word)
    return tuple(phone.translate(_STRESS) for phone in spoken)


def is_english(word: str) -> bool:
    """Whether the dictionary has a lower-case word."""
    return word in _dictionary()


def _halves(word: str) -> list[str]:
    """The two dictionary words that make up a word, of like length where there is a choice."""
    known = _dictionary()
    cuts = [
        at
        for at in range(_SHORTEST_HALF, len(word) - _SHORTEST_HALF + 1)
        if word[:at] in known and word[at:] in known
    ]
    if not cuts:
        return []
    at = min(cuts, key=lambda cut: abs(2 * cut - len(word)))
    return [word[:at], word[at:]]


@lru_cache
def _dictionary() -> dict[str, str]:
    """Each word's first pronunciation. The file has no index, so it is read once, whole."""
    path = resources.files("gruut_lang_en") / "lexicon.db"
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as connection:
        # The first one comes last, and stays.
        rows = connection.execute(
            "SELECT word, phonemes FROM word_phonemes ORDER BY pron_order DESC"
        )
        return dict(rows)


@lru_cache
def _guesser() -> Any:
    from gruut.g2p import GraphemesToPhonemes  # noqa: PLC0415 (slow to import, seldom needed)

    return GraphemesToPhonemes(str(resources.files("gruut_lang_en") / "g2p" / "model.crf"))
