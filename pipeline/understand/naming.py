"""Things that no lexicon phrase names by itself: unknown ones, and "the left one".

An unknown thing in a part's place becomes part `other` with the words said, never a near word.
"""

from collections.abc import Sequence
from dataclasses import replace

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.understand.memory import Memory
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group, flaw_groups, link, part_groups
from pipeline.understand.sentence import is_meant
from pipeline.understand.talk import (
    COMMON_WORDS,
    EXISTENTIALS,
    HAVING,
    PREPOSITIONS,
    PRONOUNS,
    words,
)
from pipeline.understand.terms import Item

OTHER = "other"
_HERE = words("here there over on the up down at back now")
_OWNING = words("'s is are has have")
_SUBJECT_VERBS = HAVING - PRONOUNS - EXISTENTIALS | _OWNING | words("was")
_COMPOUND_VERBS = HAVING - EXISTENTIALS | _OWNING
_BEFORE_A_THING = PREPOSITIONS - words("for of like")
_POINTING = words("the this that its")
_ARTICLES = _POINTING | words("your his a an")
_RELATIVES = words("where whose that which")
_PAUSES = words(", the uh um")
_LONGEST_NAME = 3


@Language.component(
    "naming", requires=["doc._.items", "doc._.mood"], assigns=["doc._.items", "doc._.mood"]
)
def naming(doc: Doc) -> Doc:
    """Makes a part `other` of the unknown things that flaws are said of."""
    for row, mood in zip(doc._.items, doc._.mood, strict=True):
        for find in (_of_a_flaw, _compound):
            found = find(row, mood)
            if found is not None:
                start, stop = found
                text = " ".join(item.text for item in row[start:stop])
                row[start:stop] = [Item("part", OTHER, row[start].start, row[stop - 1].end, text)]
                del mood[start + 1 : stop]
    return doc


def _of_a_flaw(row: Sequence[Item], mood: Sequence[int]) -> tuple[int, int] | None:
    """The unknown thing that a flaw is said of, as a range of items."""
    groups = flaw_groups(row)
    parts = part_groups(row) if groups else []
    for group in groups:
        if not is_meant(group, mood) or mood[group.first] & Mood.DENIED:
            continue
        right = _unknown_after(row, group.last + 1)
        if right and not any(group.last < p.first < right[0] for p in parts):
            linked = link(row, group, parts)
            if linked is None or linked.first > right[0] or not _has_verb(row, linked, group):
                return right
        left = _unknown_before(row, group.first)
        if left and not any(left[0] < p.first < group.first for p in parts):
            nearer = next((p for p in parts if p.first > group.last), None)
            if nearer is None or link(row, group, [nearer]) is None:
                return left
    return None


def _compound(row: Sequence[Item], mood: Sequence[int]) -> tuple[int, int] | None:  # noqa: ARG001
    """Reads "the tank pad's peeling" as an unknown thing, not as the tank."""
    for index in range(len(row) - 2):
        if row[index].role != "part" or row[index].id == OTHER:
            continue
        verb = row[index + 2].is_word(_COMPOUND_VERBS)
        if verb and _is_strange(row[index + 1]) and not row[index + 1].id.endswith(("ly", "s")):
            return index, index + 2
    return None


def _has_verb(row: Sequence[Item], left: Group, right: Group) -> bool:
    return any(item.is_word(HAVING) for item in row[left.last + 1 : right.first])


def _unknown_after(row: Sequence[Item], index: int) -> tuple[int, int] | None:
    """The unknown thing of "... on the luggage net": a preposition, an article, strange words."""
    if index >= len(row) or not row[index].is_word(_BEFORE_A_THING):
        return None
    index += 1
    if index >= len(row) or not row[index].is_word(_POINTING):
        return None
    index += 1
    while index < len(row) and row[index].role in ("side", "position"):
        index += 1
    stop = index
    while stop < len(row) and _is_strange(row[stop]):
        stop += 1
    return (index, stop) if index < stop <= index + _LONGEST_NAME else None


def _unknown_before(row: Sequence[Item], stop: int) -> tuple[int, int] | None:
    """The unknown thing of "the speaker grille is broken"."""
    end = _subject_end(row, stop)
    if end is None:
        return None
    while end > 0 and (row[end - 1].role in ("side", "position") or row[end - 1].is_word(_HERE)):
        end -= 1
    start = end
    while start > 0 and (_is_strange(row[start - 1]) or row[start - 1].role == "detail"):
        start -= 1
    if not any(_is_strange(item) for item in row[start:end]):
        return None
    before = row[start - 1] if start else None
    placed = before is None or before.role in ("side", "position") or before.is_word(_ARTICLES)
    if not placed or (start > 0 and _has_topic(row, start)) or end - start > _LONGEST_NAME:
        return None
    return start, end


def _subject_end(row: Sequence[Item], stop: int) -> int | None:
    """Where the subject of the last verb before an index ends; else a topic set off by a comma."""
    verb = next((i for i in range(stop - 1, -1, -1) if row[i].is_word(_SUBJECT_VERBS)), None)
    if verb is not None:
        return verb
    if any(item.role == "part" for item in row[:stop]):
        return None
    return next((i for i in range(1, min(stop, 8)) if row[i].is_word((",", ":"))), None)


def _has_topic(row: Sequence[Item], stop: int) -> bool:
    """Whether a part named before is still what is spoken of: "the impeller, two of the blades"."""
    parts = [i for i in range(stop) if row[i].role == "part"]
    if not parts:
        return False
    opens = parts[0] <= 3 and row[parts[0] + 1].is_word((",", ":"))
    return opens or any(item.is_word(_RELATIVES) for item in row[parts[-1] : stop])


def _is_strange(item: Item) -> bool:
    return item.role == "word" and item.id.isalpha() and item.id not in COMMON_WORDS


def resolve_ones(number: int, row: list[Item], mood: list[int], memory: Memory) -> None:
    """Reads "the left one", "the other one" and "the left is" as the part last spoken of."""
    recent = memory.has_focus(number)
    if not recent and not any(item.role == "part" for item in row):
        return
    part = memory.focus[-1].part if recent else None
    for index, item in enumerate(row):
        if item.role == "part":
            part = item.id
        elif part is None:
            continue
        elif _is_one(row, index):
            row[index] = Item("part", part, item.start, item.end, item.text)
            _drop_topic(row, index)
        elif _is_side_for_a_part(row, index):
            row.insert(index + 1, Item("part", part, item.start, item.end, item.text))
            mood.insert(index + 1, mood[index])
            return


def _is_one(row: Sequence[Item], index: int) -> bool:
    placed = index > 0 and row[index - 1].role in ("side", "position")
    pointed = index + 1 < len(row) and row[index + 1].is_word(("on", "at", "in"))
    return row[index].is_word(("one", "ones")) and (placed or pointed)


def _is_side_for_a_part(row: Sequence[Item], index: int) -> bool:
    """Whether a side stands for the part on it: "the left is cracked"."""
    return (
        row[index].role == "side"
        and row[index].text in ("left", "right")
        and index + 1 < len(row)
        and row[index + 1].is_word(("'s", "is", "has"))
        and not any(other.role == "part" for other in row[max(0, index - 4) : index])
    )


def _drop_topic(row: list[Item], index: int) -> None:
    """Lets "the fender, the front one," name one fender, not two."""
    for i in range(max(0, index - 5), index):
        between = row[i + 1 : index]
        if (
            row[i].role == "part"
            and row[i].id == row[index].id
            and between[0].is_word((",",))
            and all(
                other.role in ("side", "position") or other.is_word(_PAUSES) for other in between
            )
        ):
            row[i] = replace(row[i], role="word", id="~")
