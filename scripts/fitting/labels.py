"""Which candidate readings were right: those that bring a line nearer to what was said.

Texts are compared as rows of meanings and words: a lexicon phrase is one meaning whatever its
spelling, so that "tail light" for "taillight" is no error and "grips" for "grip" none either.
"""

from collections.abc import Sequence
from functools import lru_cache

from rapidfuzz.distance import Levenshtein

from lexicon.load import Lexicon, load_lexicon
from pipeline.models import Line
from pipeline.score.truth import Truth
from pipeline.times import Interval
from pipeline.understand.tokens import pieces
from pipeline.weigh.candidates import ROLES, Candidate
from pipeline.weigh.language import is_word

_LONGEST = 6  # words of a phrase


def gains(
    candidates: Sequence[Candidate], lines: Sequence[Line], said: str, kind: str
) -> list[int]:
    """By how many words each candidate would bring its lines nearer to what was said."""
    touched = sorted({candidate.line for candidate in candidates})
    words = {at: [word.text for word in lines[at].words] for at in touched}
    before = distance_from(said, [text for at in touched for text in words[at]], kind)
    found = []
    for one in candidates:
        own = words[one.line]
        changed = [*own[: one.first], one.read_as, *own[one.end :]]
        texts = [text for at in touched for text in (changed if at == one.line else words[at])]
        found.append(before - distance_from(said, texts, kind))
    return found


def distance_from(said: str, texts: Sequence[str], kind: str) -> int:
    """How many meanings and words have to be changed to make texts what was said."""
    return Levenshtein.distance(meanings(" ".join(texts), kind), meanings(said, kind))


def is_best(candidates: Sequence[Candidate], gained: Sequence[int]) -> list[bool]:
    """Whether each candidate is right, and none of the same words better."""
    return [
        gain > 0
        and gain
        == max(
            other_gain
            for other, other_gain in zip(candidates, gained, strict=True)
            if other.line == one.line and other.first < one.end and one.first < other.end
        )
        for one, gain in zip(candidates, gained, strict=True)
    ]


def said_in(truth: Truth, spoken: Interval, slack_s: float) -> str:
    """What is said in some time and so much more on either side, by whole sentences."""
    return " ".join(
        say.text
        for say in truth.say
        if say.text
        and say.start_s is not None
        and say.end_s is not None
        and say.start_s < spoken.end_s + slack_s
        and say.end_s > spoken.start_s - slack_s
    )


def meanings(text: str, kind: str) -> list[str]:
    """The text as meanings ("part grip") and plain words, longest phrases first."""
    words = list(filter(is_word, pieces(text.lower())))
    phrases = _phrases(kind)
    found: list[str] = []
    at = 0
    while at < len(words):
        longest = min(_LONGEST, len(words) - at)
        length = next((n for n in range(longest, 0, -1) if tuple(words[at : at + n]) in phrases), 0)
        found.append(phrases[tuple(words[at : at + length])] if length else words[at])
        at += max(1, length)
    return found


@lru_cache
def _phrases(kind: str) -> dict[tuple[str, ...], str]:
    lexicon: Lexicon = load_lexicon(kind)
    phrases: dict[tuple[str, ...], str] = {}
    for phrase in lexicon.phrases:
        if phrase.role in (*ROLES, "no_damage"):
            phrases.setdefault(tuple(phrase.text.split()), f"{phrase.role} {phrase.id}")
    return phrases
