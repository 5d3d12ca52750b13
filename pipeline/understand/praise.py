"""Words that call a part free of damage: "the mirrors are both good", "Tank, left: fine."

The lexicon's phrases say so by themselves; a plain word of praise does only where a verb or a mark
makes it the whole of what is said of the part, so that "a good look at the tank" is none.
"""

from dataclasses import replace

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.understand.plain import words
from pipeline.understand.talk import ADVERBS, FILLERS
from pipeline.understand.terms import Item

_GOOD = words(
    "good fine great okay ok alright perfect excellent nice clean straight solid tight spotless "
    "beautiful dry clear mint sound flawless smooth true unmarked intact immaculate sharp "
    "gorgeous healthy "
    "crisp tidy fantastic super amazing strong decent lovely untouched faultless undamaged "
    "works work grand"
)
_COPULAS = words(
    "is are 's looks look feels feel seems seem was were it's they're that's here's there's "
    "appears stays stayed remains still"
)
_BETWEEN = (
    ADVERBS
    | FILLERS
    | words("both all and nice very perfectly absolutely still just over up down of them")
) - words("or")
_BETWEEN_PLAIN = _BETWEEN - _COPULAS
_HERE = words("here there over now")
_MARKS = words(", : ; . - – — ! ?")
_ENDS = _MARKS | words(
    "and but too though on except so over all here there as considering for with no"
)
_ONES = words("one ones")
_NONE = words("none nothing")
_WORKS = words("works work")
_PLACED = frozenset(("part", "side", "position", "number"))


@Language.component("praise", requires=["doc._.items"], assigns=["doc._.items"])
def praise(doc: Doc) -> Doc:
    """Gives plain words of praise the role `no_damage`, and takes it from weak ones in passing."""
    for row in doc._.items:
        for index, item in enumerate(row):
            plain = item.role == "word" and item.id in _GOOD
            weak = item.weak and item.role in ("no_damage", "qualifier") and item.text in _GOOD
            if item.is_word(_NONE):
                plain = _is_alone(row, index)
            if not plain and not weak and not (item.role == "no_damage" and item.weak):
                continue
            if _is_said_of_a_part(row, index):
                row[index] = replace(item, role="no_damage", id=item.text, weak=False)
            elif item.role == "no_damage":
                row[index] = replace(item, role="word", id=item.text, weak=False)
    return doc


def _is_alone(row: list[Item], index: int) -> bool:
    """Whether "none" is all that is said of a part: "rear fender, none."."""
    before, after = row[max(0, index - 2) : index], row[index + 1 : index + 2]
    told = len(before) == 2 and before[0].role in _PLACED and before[1].is_word(_MARKS)
    return told and (not after or after[0].is_word(_MARKS))


def _opens_a_clause(row: list[Item], part: int) -> bool:
    start = part
    while start and (
        row[start - 1].role in ("side", "position") or row[start - 1].is_word(("the",))
    ):
        start -= 1
    return not start or row[start - 1].is_word(_MARKS)


def _is_no_filler(row: list[Item], index: int, told: bool) -> bool:
    """Whether "okay" praises: "floorboard okay, lever okay", not "the tank is, okay, the tank"."""
    if index == 2 and row[0].role == "part" and len(row) <= 4:
        return True  # "Floorboard, okay."
    before = row[index - 1]
    named = before.role == "part" and _opens_a_clause(row, index - 1)
    return named or (told and not before.is_word((",",)))


def _is_said_of_a_part(row: list[Item], index: int) -> bool:
    after = row[index + 1] if index + 1 < len(row) else None
    ends = after is None or after.is_word(_ENDS)
    cursor = index - 1
    while cursor >= 0 and row[cursor].is_word(_BETWEEN_PLAIN):
        cursor -= 1
    if cursor < 0 or not ends:
        return False
    if row[index].is_word(_WORKS) and row[index - 1].is_word(_GOOD | {"my", "his", "her"}):
        return False  # "it's good work"
    if row[index].text in ("okay", "ok", "alright"):
        return _is_no_filler(row, index, row[cursor].is_word(_COPULAS))
    if row[cursor].is_word(_COPULAS):
        return True
    here = row[cursor].is_word(_ONES) or row[cursor].text == "side"
    if cursor > 1 and here and row[cursor - 1].is_word(("this",)):
        cursor -= 2  # "the fork on this one, clean", "running board this side, clean"
        cursor -= row[cursor].is_word(("on",))
    before = cursor - 1
    while before > 0 and row[before].is_word(_HERE):
        before -= 1
    if before > 1 and row[before].text == "side" and row[before - 1].is_word(("this",)):
        before -= 2  # "the mirror on this side, good"
        before -= row[before].is_word(("on",))
    marked = row[cursor].is_word(_MARKS) and before >= 0 and row[before].role in _PLACED
    one = row[cursor].is_word(_ONES) and before >= 0 and row[before].role in _PLACED
    placed = marked or one or row[cursor].role in _PLACED
    if row[index].is_word(_WORKS):
        return placed
    return placed and (after is None or after.is_word(_MARKS) or (marked and after.id == "too"))
