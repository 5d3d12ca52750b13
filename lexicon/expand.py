"""From a phrase as written in a lexicon file to its surface forms. Pure functions."""

import re
from collections.abc import Iterable
from typing import Literal, NamedTuple

# The part of things that the speaker named and the lexicon has no part for.
OTHER = "other"

Role = Literal["part", "defect", "qualifier", "position", "side", "detail", "no_damage", "damage"]

_WORD = r"[a-z0-9]+(?:'[a-z0-9]+)*'?"
_WRITTEN = re.compile(rf"{_WORD}(?:[~ ]{_WORD})*!?\??")
_IRREGULAR = {"foot": "feet", "leaf": "leaves", "half": "halves"}


class Phrase(NamedTuple):
    """One surface form: lower case, words separated by single spaces, no hyphens.

    `id` is the part's, defect's, position's or side's id, the grade of a qualifier ("1" to "5"), or
    the phrase as written for details and words (dis)claiming damage. A `weak` phrase is an ordinary
    English word too: it counts only beside another lexicon phrase.
    """

    text: str
    role: Role
    id: str
    plural: bool = False
    weak: bool = False


def well_formed(written: str) -> bool:
    """Whether a phrase is lower-case words with single spaces or `~` between, then `!`, `?`."""
    return _WRITTEN.fullmatch(written) is not None


def plural(word: str) -> str:
    """The plural of a phrase by its last word: "scratches", "batteries", "trays", "feet"."""
    head, _, last = word.rpartition(" ")
    lead = f"{head} " if head else ""
    if last in _IRREGULAR:
        return lead + _IRREGULAR[last]
    if last.endswith(("s", "x", "z", "ch", "sh")):
        return f"{word}es"
    if last.endswith("y") and last[-2:-1] not in "aeiou":
        return f"{word[:-1]}ies"
    return f"{word}s"


def spellings(written: str) -> tuple[str, ...]:
    """The joined and the split spelling of a phrase with `~`, in this order; else the phrase."""
    bare = written.rstrip("!?")
    return tuple(dict.fromkeys((bare.replace("~", ""), bare.replace("~", " "))))


def expand(written: Iterable[str], role: Role, entry_id: str, *, inflect: bool) -> list[Phrase]:
    """All surface forms of the phrases written for one id.

    With `inflect`, a plural is made of each phrase not marked `!`; one so marked that ends in a
    plural's "s" ("pipes!") is a plural itself.
    """
    forms: list[Phrase] = []
    for phrase in written:
        weak = phrase.endswith("?")
        for text in spellings(phrase):
            several = inflect and text.endswith("s") and not text.endswith(("ss", "is", "us"))
            forms.append(Phrase(text, role, entry_id, plural=several, weak=weak))
            if inflect and "!" not in phrase:
                forms.append(Phrase(plural(text), role, entry_id, plural=True, weak=weak))
    return forms
