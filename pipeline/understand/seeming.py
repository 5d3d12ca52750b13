"""Flaws that only seemed to be there, and in the same breath are told not to be.

"They told me the radiator leaked, and it's bone dry"; "I took that for a crack, but it's a hair".
Neither half is enough: what somebody says of a machine may be so, and praise may be of the rest.

doc._.items, doc._.mood ─► doc._.mood with those flaws imagined or denied
"""

from collections.abc import Sequence
from itertools import takewhile

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.understand.mood import Mood
from pipeline.understand.phrasing import PhraseSet, flat_words
from pipeline.understand.plain import words
from pipeline.understand.talk import DISPELLING, SEEMING
from pipeline.understand.terms import Item

_SEEMING = PhraseSet(SEEMING)
_DISPELLING = PhraseSet(DISPELLING)
_REMOVED = words(
    "came wiped wipes wipe washed washes wash rubbed rubs rub brushed brushes brush "
    "buffed buffs blew blows blow cleaned cleans hosed flicked picked"
)
_AWAY = words("off away out")
_LASTING = words("won't doesn't didn't don't wouldn't not never can't couldn't still")
_NEAR, _FAR = 3, 10
_BREATH = 40  # items; what is told later is told of something else
_DIRT = words("residue stain mildew")
_IT_IS = words("it's that's they're 's")
_IT = words("it that this they those these which")
_IS = words("is was were are")
_NOT_THAT = words("only just really actually a an the some my his her off from nothing")
_TOLD = frozenset(("defect", "qualifier", "size", "area", "damage", "part", "number", "no_damage"))
# "It's a shame", "that's an easy fix", "it's a real one" tell nothing else that it was.
_ONES = words(
    "one ones why what where how because not shame pity fix bummer thing things deal job lot bit "
    "problem worry issue reason honest fact bargain story age same usual"
)
_DENYING = words("doesn't isn't hasn't wasn't aren't don't didn't weren't haven't")
_ENDS = words(", . ; : ? ! and but so")
_REST = words("otherwise else rest elsewhere everything overall other")


@Language.component("seeming", requires=["doc._.items", "doc._.mood"], assigns=["doc._.mood"])
def seeming(doc: Doc) -> Doc:
    """Marks the flaws that are told as seeming and then dispelled, and dirt that is gone."""
    for row, mood in zip(doc._.items, doc._.mood, strict=True):
        flaws = _flaws(row, mood)
        if not flaws:
            continue
        start = _seems(row)
        feared = next((i for i in flaws if start is not None and i > start), len(row))
        stop, meant = _dispelled(row, mood, feared)
        removed = any(_is_removed(row, i) for i in range(len(row)))
        for index in flaws:
            if removed and row[index].id in _DIRT:
                mood[index] |= Mood.IMAGINED
            elif feared <= index < stop:
                mood[index] = mood[index] & ~Mood.IMAGINED | meant
    return doc


def _seems(row: Sequence[Item]) -> int | None:
    """Where a sentence begins to tell what somebody said, feared or took for a flaw."""
    flat, owner = flat_words(row)
    cue = next(_SEEMING.find(flat), None)
    return None if cue is None else owner[cue[0]]


def _flaws(row: Sequence[Item], mood: Sequence[int]) -> list[int]:
    aside = Mood.DENIED | Mood.EXCEPTED
    return [i for i, item in enumerate(row) if item.role == "defect" and not mood[i] & aside]


def _dispelled(row: Sequence[Item], mood: Sequence[int], flaw: int) -> tuple[int, int]:
    """Where it is told, after a flaw, that it is not there, and how the flaw is meant then.

    What was something else or is gone was imagined; what is denied or praised says that the part
    is free of it. (0, PLAIN) where nothing of the kind is told.
    """
    row = row[: flaw + _BREATH]
    flat, owner = flat_words(row[flaw + 1 :])
    said = next(_DISPELLING.find(flat), None)
    verdict = len(row) if said is None else flaw + 1 + owner[said[0]]
    for index in range(flaw + 1, len(row)):
        if _is_denied(row, mood, flaw, index) or _is_praised(row, mood, flaw, index):
            return index, Mood.DENIED
        if index >= verdict or _is_removed(row, index) or _is_nothing_worse(row, index):
            return index, Mood.IMAGINED
    return 0, Mood.PLAIN


def _is_removed(row: Sequence[Item], index: int) -> bool:
    """Whether it goes away: "it came right off", "I wiped it off with my thumb"."""
    if not row[index].is_word(_REMOVED):
        return False
    after = list(takewhile(lambda item: not item.is_word(_ENDS), row[index + 1 : index + _FAR]))
    lasts = any(item.is_word(_LASTING) for item in row[max(0, index - _NEAR) : index])
    return not lasts and any(item.text in _AWAY for item in after)


def _is_nothing_worse(row: Sequence[Item], index: int) -> bool:
    """Whether it is something else: "but it was only tree sap", "it's a hair off my mitten"."""
    if row[index].is_word(_IT_IS):
        rest = row[index + 1 :]
    elif row[index].is_word(_IT) and index + 1 < len(row) and row[index + 1].is_word(_IS):
        rest = row[index + 2 :]
    else:
        return False
    stop = next((i for i, item in enumerate(rest) if item.is_word(_ENDS)), len(rest))
    clause = rest[:stop]
    return (
        len(clause) > 1
        and clause[0].is_word(_NOT_THAT)
        and not any(item.role in _TOLD or item.is_word(_ONES) for item in clause)
    )


def _is_denied(row: Sequence[Item], mood: Sequence[int], flaw: int, index: int) -> bool:
    """Whether the same flaw is denied, or it in short: "there's no dent", "and it doesn't"."""
    if row[index].role == "defect" and row[index].id == row[flaw].id:
        return bool(mood[index] & Mood.DENIED)
    after = row[index + 1 : index + 2]
    short = not after or after[0].is_word(_ENDS)
    return row[index].is_word(_DENYING) and short and row[index - 1].is_word(_IT)


def _is_praised(row: Sequence[Item], mood: Sequence[int], flaw: int, index: int) -> bool:
    """Whether the same thing is praised: "and both fork seals are bone dry"."""
    if row[index].role != ("damage" if mood[index] & Mood.DENIED else "no_damage"):
        return False
    if any(item.is_word(_REST) for item in row[flaw:]):
        return False
    own = [
        *row[max(0, flaw - _BREATH) : flaw],
        *takewhile(lambda item: not item.is_word(_ENDS), row[flaw:]),
    ]
    named = {item.id for item in own if item.role == "part"}
    again = [item.id for item in row[flaw + 1 : index + 3] if item.role == "part"]
    return not again or again[-1] in named
