"""Things that no lexicon phrase names by itself: compounds, pieces, unknown ones.

An unknown thing in a part's place becomes part `other` with the words said, never a near word.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from spacy.language import Language
from spacy.tokens import Doc

from lexicon.expand import OTHER
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group, flaw_groups, link, part_groups
from pipeline.understand.pieces import read_pieces
from pipeline.understand.plain import words
from pipeline.understand.sentence import is_meant
from pipeline.understand.talk import (
    COMMON_WORDS,
    EXISTENTIALS,
    FILLERS,
    HAVING,
    LANDMARKS,
    PREPOSITIONS,
    PRONOUNS,
)
from pipeline.understand.terms import Item

_HERE = words("here there over on the up down at back now")
_OWNING = words("'s is are has have")
_SUBJECT_VERBS = HAVING - PRONOUNS - EXISTENTIALS | _OWNING | words("was")
_COMPOUND_VERBS = HAVING - EXISTENTIALS | _OWNING
_BEFORE_A_THING = PREPOSITIONS - words("for of like")
_POINTING = words("the this that its")
_ARTICLES = _POINTING | words("your his a an")
_RELATIVES = words("where whose that which")
_WHERE = (PREPOSITIONS | LANDMARKS) - words("of from for to")
_PIECE_OF = words("of on")
_LONGEST_NAME = 3
_LAMPS = words("headlight tail_light turn_signal auxiliary_light")
_BEING = words("is are 's was were")


@Language.component(
    "naming", requires=["doc._.items", "doc._.mood"], assigns=["doc._.items", "doc._.mood"]
)
def naming(doc: Doc) -> Doc:
    """Joins compounds, reads short names of pieces, makes a part `other` of unknown things."""
    names, ends = doc._.lexicon.part_names, doc._.lexicon.part_ends
    for row, mood in zip(doc._.items, doc._.mood, strict=True):
        for index in range(len(row) - 2, -1, -1):
            if row[index].role == "part" and row[index + 1].role == "part":
                _join(row, mood, index, index + 2, row[index + 1].id)
        said = {item.text for item in row}
        if "coming off" in said:
            _read_courses(row)
        if "out" in said:
            _read_lamps(row)
        if not ends.keys().isdisjoint(said):
            _read_ends(row, ends)
        read_pieces(row, names)
        for find in (_of_a_flaw, _compound):
            found = find(row, mood)
            if found is not None:
                _join(row, mood, *found, OTHER)
    return doc


def _join(row: list[Item], mood: list[int], start: int, stop: int, part: str) -> None:
    """Makes one part of the items from `start` to `stop`: "headlight fairing" is a fairing."""
    text = " ".join(item.text for item in row[start:stop])
    row[start:stop] = [Item("part", part, row[start].start, row[stop - 1].end, text)]
    del mood[start + 1 : stop]


def _read_courses(row: list[Item]) -> None:
    """Takes "coming off" for where a flaw begins in "a crack, an inch, coming off the speaker"."""
    for index in range(1, len(row)):
        if row[index].text != "coming off":
            continue
        told = any(item.role == "defect" for item in row[max(0, index - 6) : index])
        after = row[index + 1 : index + 2]
        if row[index - 1].role == "defect" or (told and after and after[0].is_word(("the",))):
            row[index] = replace(row[index], role="word", id="off", text="off")


def _read_ends(row: list[Item], ends: Mapping[str, str]) -> None:
    """Takes "the bow of the hull" for its front, where a bow alone names the hull itself.

    So "the hull at the bow", "at the bow the hull".
    """
    for index, item in enumerate(row):
        end = ends.get(item.text)
        if not end or item.role != "part":
            continue
        before, after = row[max(0, index - 12) : index], row[index + 1 : index + 4]
        of_it = len(after) > 2 and after[0].is_word(("of",)) and after[1].is_word(_POINTING)
        there = [other.id for other in before[-2:]] == ["at", "the"]
        if (of_it and after[2].role == "part") or (
            there and any(other.role == "part" for other in (*before[:-2], *after[:2]))
        ):
            row[index] = replace(item, role="position", id=end)


def _read_lamps(row: list[Item]) -> None:
    """Takes "out" said of a lamp for what it means there: "the tail light is out".

    "Tail lights out" that opens a sentence is how "tail light's out" may be heard.
    """
    for index in range(1, len(row)):
        after = row[index + 1 : index + 2]
        told = row[index - 1].is_word(_BEING)
        lamp = row[index - 2] if told and index > 1 else row[index - 1]
        opens = all(
            item.role in ("side", "position") or item.id == "the" for item in row[: index - 1]
        )
        if (
            row[index].is_word(("out",))
            and lamp.role == "part"
            and lamp.id in _LAMPS
            and (told or (opens and lamp.plural))
            and not (after and after[0].is_word(PREPOSITIONS))
        ):
            row[index] = replace(row[index], role="defect", id="inoperative")


def _of_a_flaw(row: Sequence[Item], mood: Sequence[int]) -> tuple[int, int] | None:
    """The unknown thing that a flaw is said of, as a range of items."""
    around = [
        (group, _unknown_after(row, group.last + 1), _unknown_before(row, group.first))
        for group in flaw_groups(row)
        if is_meant(group, mood) and not mood[group.first] & Mood.DENIED
    ]
    if not any(right or left for _, right, left in around):
        return None
    parts = part_groups(row)
    for group, right, left in around:
        between = right and any(group.last < p.first < right[0] for p in parts)
        if (
            right
            and not between
            and not _has_topic(row, right[0])
            and not _is_part_of(row, right[1])
        ):
            linked = link(row, group, parts)
            if linked is None or linked.first > right[0] or not _has_verb(row, linked, group):
                return right
        if left:
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
        if verb and is_strange(row[index + 1]) and not row[index + 1].id.endswith(("ly", "s")):
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
    while stop < len(row) and is_strange(row[stop]):
        stop += 1
    if stop + 1 < len(row) and row[stop].is_word(("of",)) and row[stop + 1].is_word(PRONOUNS):
        return None  # "in the folds of it"
    return (index, stop) if index < stop <= index + _LONGEST_NAME else None


def _is_part_of(row: Sequence[Item], stop: int) -> bool:
    """Whether a part follows that an unknown thing is a piece of: "the beak of the fender"."""
    if stop >= len(row) or not row[stop].is_word(_PIECE_OF):
        return False
    stop += 1
    while stop < len(row) and (
        row[stop].role in ("side", "position") or row[stop].is_word(_ARTICLES)
    ):
        stop += 1
    return stop < len(row) and row[stop].role == "part"


def _unknown_before(row: Sequence[Item], stop: int) -> tuple[int, int] | None:
    """The unknown thing of "the speaker grille is broken"."""
    verb = next((i for i in range(stop - 1, -1, -1) if row[i].is_word(_SUBJECT_VERBS)), None)
    end = _topic_end(row, stop) if verb is None else verb
    if end is None or any(item.role == "part" for item in row[end:stop]):
        return None
    end = _without_where(row, end)
    start = end
    while start > 0 and (is_strange(row[start - 1]) or row[start - 1].role == "detail"):
        start -= 1
    if not any(is_strange(item) for item in row[start:end]):
        return None
    if verb is None and not all(item.is_word(_ARTICLES | FILLERS) for item in row[:start]):
        return None
    before = row[start - 1] if start else None
    placed = before is None or before.role in ("side", "position") or before.is_word(_ARTICLES)
    if not placed or (start > 0 and _has_topic(row, start)) or end - start > _LONGEST_NAME:
        return None
    return start, end


def _without_where(row: Sequence[Item], end: int) -> int:
    """Where a subject ends but for what says where it is: "the phone mount (on the handlebar)"."""
    while end > 0:
        start = end
        while start > 0 and (
            row[start - 1].role in ("side", "position", "part")
            or row[start - 1].is_word(_ARTICLES | _HERE)
        ):
            start -= 1
        placed = any(item.role == "part" for item in row[start:end])
        if placed and not (start > 0 and row[start - 1].is_word(_WHERE)):
            return end
        if placed:
            start -= 1
        if start == end:
            return end
        end = start
    return end


def _topic_end(row: Sequence[Item], stop: int) -> int | None:
    """Where a topic set off by a mark ends: "helmet lock, broken"."""
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


def is_strange(item: Item) -> bool:
    """Whether an item is a word that neither the lexicon nor ordinary talk knows."""
    plain = item.role == "word" and item.id.isalpha() and not item.weak
    return plain and item.id not in COMMON_WORDS
