"""How words sound: phone sequences from a pronouncing dictionary, by rule where it lacks a word.

The dictionary (124,392 English words) and the model for other words are gruut's English data (MIT);
phones are in the International Phonetic Alphabet, stress marks taken off.
"""

import sqlite3
from functools import lru_cache
from importlib import resources
from typing import Any

Phones = tuple[str, ...]

_STRESS = str.maketrans("", "", "ˈˌ")


@lru_cache(maxsize=50_000)
def phones(word: str) -> Phones:
    """The phones of a lower-case word, in its first pronunciation.

    >>> phones("rust")
    ('ɹ', 'ʌ', 's', 't')
    """
    known = _looked_up(word)
    spoken = known.split() if known is not None else _guesser()(word)
    return tuple(phone.translate(_STRESS) for phone in spoken)


@lru_cache(maxsize=50_000)
def is_english(word: str) -> bool:
    """Whether the dictionary has a lower-case word."""
    return _looked_up(word) is not None


def _looked_up(word: str) -> str | None:
    row = _dictionary().execute(_QUERY, (word,)).fetchone()
    return None if row is None else str(row[0])


_QUERY = "SELECT phonemes FROM word_phonemes WHERE word = ? ORDER BY pron_order LIMIT 1"


@lru_cache
def _dictionary() -> sqlite3.Connection:
    path = resources.files("gruut_lang_en") / "lexicon.db"
    return sqlite3.connect(f"file:{path}?mode=ro", uri=True, check_same_thread=False)


@lru_cache
def _guesser() -> Any:
    from gruut.g2p import GraphemesToPhonemes  # noqa: PLC0415 (slow to import, seldom needed)

    return GraphemesToPhonemes(str(resources.files("gruut_lang_en") / "g2p" / "model.crf"))
