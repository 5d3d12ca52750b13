"""How usual words are in a row, in talk about machines: a language model of three words.

It is counted on narrations (`data/ngrams.toml`, made by `scripts/fit_language.py`). What was seldom
met leans on the shorter row, by a Dirichlet prior: MacKay and Peto, "A hierarchical Dirichlet
language model", Natural Language Engineering 1(3), 1995.
"""

import math
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from pipeline.logistic import load_tables

ORDERS = ("one", "two", "three")  # the tables, by the length of their rows
START, END = "<s>", "</s>"
MOST_NATS, NATS = 15.0, 4.0  # the most that a row tells as a clue, and what counts as one
_LEANING = 2.0  # what a shorter row counts for
_UNKNOWN = 0.05  # what a word counts that was never met, of so many:
_WORDS = 25_000


class Row(NamedTuple):
    """Words, and those before and after them in their sentence."""

    before: Sequence[str]
    words: Sequence[str]
    after: Sequence[str]


def is_word(token: str) -> bool:
    """Whether a token counts as a word of a row; marks do not."""
    return token[0].isalnum() or token[0] == "'"


def surprise(words: Sequence[str]) -> float:
    """How improbable the last word of some is after those before it in its sentence, in nats."""
    *_, one, two, three = START, START, *words
    return -_logarithm(one, two, three)


def log_probability(row: Row) -> float:
    """How probable words are between those beside them, in nats, with the two that follow."""
    words = [*([START] * 2 + list(row.before))[-2:], *row.words, *row.after[:2]]
    return sum(
        _logarithm(one, two, three)
        for (one, two), three in zip(pairwise(words), words[2:], strict=False)
    )


@lru_cache(maxsize=100_000)
def _logarithm(one: str, two: str, three: str) -> float:
    counts, following = _counts(), _following()
    seen = (counts["one"].get(three, 0) + _UNKNOWN) / (following[""] + _UNKNOWN * _WORDS)
    for row in (two, f"{one} {two}"):
        order = ORDERS[row.count(" ") + 1]
        times = counts[order].get(f"{row} {three}", 0)
        seen = (times + _LEANING * seen) / (following[row] + _LEANING)
    return math.log(seen)


def _counts() -> dict[str, dict[str, float]]:
    return load_tables("weigh", "ngrams")


@lru_cache(maxsize=1)
def _following() -> Counter[str]:
    """How often anything follows a row of none, one or two words."""
    counts, found = _counts(), Counter[str]()
    for order in ORDERS:
        for row, times in counts[order].items():
            found[row.rpartition(" ")[0]] += int(times)
    return found
