"""What is denied, doubted, only imagined, or excepted from a denial.

doc._.items ─► doc._.mood: for each sentence, one `Mood` an item
"""

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.understand.phrasing import PhraseSet, flat_words
from pipeline.understand.plain import words
from pipeline.understand.talk import (
    ELSEWHERE,
    EXCEPTIONS,
    HEDGES,
    NEGATION_ENDS,
    NEGATION_PHRASES,
    NEGATIONS,
    NO_DENIAL,
    REAL_CONDITIONS,
    SUBJECT_STARTS,
    UNREAL,
)
from pipeline.understand.terms import Item


class Mood:
    """How an item is meant: marks of an int, which is far quicker than an IntFlag here."""

    PLAIN = 0
    DENIED = 1
    DOUBTED = 2
    IMAGINED = 4
    EXCEPTED = 8


_DENIALS = PhraseSet(NEGATIONS | NEGATION_PHRASES | NO_DENIAL)
_DENYING_ROLES = ("word", "number", "no_damage")
_HEDGES = PhraseSet(HEDGES)
_UNREAL = PhraseSet(UNREAL)
_ELSEWHERE = PhraseSet(ELSEWHERE)
_SEEMING = words("looks look looked seems feels it's that's is 's just")
_EXCEPTIONS = PhraseSet(EXCEPTIONS)
_HARD_ENDS = words(". ; but though although however")
_FRESH_STARTS = ("qualifier", "number", "size")


@Language.component("mood", requires=["doc._.items"], assigns=["doc._.mood"])
def mood(doc: Doc) -> Doc:
    """Marks every item of every sentence."""
    doc._.mood = [_moods(row) for row in doc._.items]
    return doc


def _moods(row: list[Item]) -> list[int]:
    moods = [Mood.PLAIN] * len(row)
    flat, owner = flat_words(row)

    def after(end: int) -> int:
        """The item that a phrase of `flat` ending at `end` is said of: it may end inside of it."""
        item = owner[end - 1]
        inside = end < len(flat) and owner[end] == item and row[item].role != "no_damage"
        return item if inside else item + 1

    for start, end in _DENIALS.find(flat):
        said_in_a_term = row[owner[start]].role not in _DENYING_ROLES
        if " ".join(flat[start:end]) not in NO_DENIAL and not said_in_a_term:
            _mark(moods, after(end), _denial_end(row, after(end)), Mood.DENIED)
    if next(_ELSEWHERE.find(flat), None) is not None:
        _mark(moods, 0, len(row), Mood.IMAGINED)
    for start, end in _UNREAL.find(flat):
        if " ".join(flat[start : start + 3]) in REAL_CONDITIONS:
            continue
        if row[owner[start]].role == "size":
            continue
        if flat[start] == "like" and start and flat[start - 1] in _SEEMING:
            continue
        first = after(end)
        _mark(moods, first, _clause_end(row, first), Mood.IMAGINED)
    for start, _ in _HEDGES.find(flat):
        first = owner[start]
        _mark(moods, first, _clause_end(row, first), Mood.DOUBTED)
    for _, end in _EXCEPTIONS.find(flat):
        first = after(end)
        stop = _clause_end(row, first)
        for index in range(first, stop):
            moods[index] = (moods[index] & ~Mood.DENIED) | Mood.EXCEPTED
    return moods


def _mark(moods: list[int], start: int, stop: int, mark: int) -> None:
    for index in range(start, stop):
        moods[index] |= mark


def _denial_end(row: list[Item], start: int) -> int:
    """Where a denial stops: at "but", at a new clause, or where a list turns to a fresh flaw."""
    for index in range(start, len(row)):
        item = row[index]
        if item.is_word(NEGATION_ENDS) or item.text in NEGATION_ENDS:
            return index
        joins = item.is_word(("and", ",", "or"))
        if joins and index + 1 < len(row):
            after = row[index + 1]
            if after.is_word(("and", "or", "but")) and index + 2 < len(row):
                after = row[index + 2]
            if item.id != "or" and (after.role in _FRESH_STARTS or after.is_word(SUBJECT_STARTS)):
                return index
    return len(row)


def _clause_end(row: list[Item], start: int) -> int:
    for index in range(start, len(row)):
        if row[index].is_word(_HARD_ENDS) or (row[index].is_word((",",)) and index > start):
            return index
    return len(row)
