"""Counts of what was heard wrong: words, and words of the trade."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import astuple, dataclass


@dataclass(frozen=True)
class Errors:
    """Counts over texts, each compared as a bag of words with the text that was said.

    `missed` trade words were said and not heard, `invented` ones heard and not said.
    """

    words: int = 0
    wrong_words: int = 0
    trade: int = 0
    missed: int = 0
    invented: int = 0

    def __add__(self, other: "Errors") -> "Errors":
        return Errors(*(a + b for a, b in zip(astuple(self), astuple(other), strict=True)))

    def __str__(self) -> str:
        return (
            f"{self.wrong_words} of {self.words} words wrong; of {self.trade} trade words "
            f"{self.missed} missed, {self.invented} more invented"
        )


def words_of(text: str, joined: Mapping[str, str] | None = None) -> list[str]:
    """Lower-case words; compounds in their joined spelling."""
    plain = " ".join(re.findall(r"[a-z0-9']+", text.lower().replace("-", " ")))
    for split, whole in (joined or {}).items():
        if split in plain:
            plain = re.sub(rf"\b{split}\b", whole, plain)
    return plain.split()


def errors(said: list[str], heard: list[str], trade: Iterable[str]) -> Errors:
    """Compares two texts as bags of words."""
    missing, extra = Counter(said) - Counter(heard), Counter(heard) - Counter(said)
    known = set(trade)
    return Errors(
        words=len(said),
        wrong_words=max(missing.total(), extra.total()),
        trade=sum(word in known for word in said),
        missed=sum(n for word, n in missing.items() if word in known),
        invented=sum(n for word, n in extra.items() if word in known),
    )
