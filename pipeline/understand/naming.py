"""Things that no lexicon phrase names by itself: unknown ones, and "the left one".

An unknown thing in a part's place becomes part `other` with the words said, never a near word.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from spacy.language import Language
from spacy.tokens import Doc

from lexicon.expand import OTHER
from pipeline.models import Place
from pipeline.understand.memory import Memory
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group, flaw_groups, link, part_groups
from pipeline.understand.plain import words
from pipeline.understand.said import OPPOSITE, OTHER_END
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
_STANDING_PLACES = words("left right front rear upper lower")
_ANOTHER = words("a an another more second third")
_CLAUSE_STARTS = words(", . ; : and but")
_PIECE_OF = words("of on")
_BEFORE_A_PLACE = words("and on the then now in at but")
_NOTHING = words("nothing fine good clean perfect great okay ok")
_ONES = words("one ones")
_DENYING = words("isn't doesn't hasn't aren't")
_PAUSES = words(", the uh um")
_LONGEST_NAME = 3


@Language.component(
    "naming", requires=["doc._.items", "doc._.mood"], assigns=["doc._.items", "doc._.mood"]
)
def naming(doc: Doc) -> Doc:
    """Joins compounds, reads short names of pieces, makes a part `other` of unknown things."""
    names = doc._.lexicon.part_names
    for row, mood in zip(doc._.items, doc._.mood, strict=True):
        for index in range(len(row) - 2, -1, -1):
            if row[index].role == "part" and row[index + 1].role == "part":
                _join(row, mood, index, index + 2, row[index + 1].id)
        _read_pieces(row, names)
        for find in (_of_a_flaw, _compound):
            found = find(row, mood)
            if found is not None:
                _join(row, mood, *found, OTHER)
    return doc


def _read_pieces(row: list[Item], names: Mapping[str, str]) -> None:
    """Takes "the cable" for the winch's where the lexicon has a "winch cable" and it was named."""
    whole: Item | None = None
    for index, item in enumerate(row):
        if item.role != "part":
            continue
        if whole is not None and item.id != whole.id and _is_piece(row, index, whole, names):
            row[index] = replace(item, id=whole.id)
        else:
            whole = item


def _is_piece(row: Sequence[Item], index: int, whole: Item, names: Mapping[str, str]) -> bool:
    item = row[index]
    if item.id == "trim" and index and row[index - 1].is_word(("its",)):
        return True
    either = (f"{whole.text} {item.text}", f"{whole.text.removesuffix('s')} {item.text}")
    return any(names.get(name) == whole.id for name in either)


def _join(row: list[Item], mood: list[int], start: int, stop: int, part: str) -> None:
    """Makes one part of the items from `start` to `stop`: "headlight fairing" is a fairing."""
    text = " ".join(item.text for item in row[start:stop])
    row[start:stop] = [Item("part", part, row[start].start, row[stop - 1].end, text)]
    del mood[start + 1 : stop]


def _of_a_flaw(row: Sequence[Item], mood: Sequence[int]) -> tuple[int, int] | None:
    """The unknown thing that a flaw is said of, as a range of items."""
    groups = flaw_groups(row)
    parts = part_groups(row) if groups else []
    for group in groups:
        if not is_meant(group, mood) or mood[group.first] & Mood.DENIED:
            continue
        right = _unknown_after(row, group.last + 1)
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
        left = _unknown_before(row, group.first)
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
    while start > 0 and (_is_strange(row[start - 1]) or row[start - 1].role == "detail"):
        start -= 1
    if not any(_is_strange(item) for item in row[start:end]):
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


def _is_strange(item: Item) -> bool:
    return item.role == "word" and item.id.isalpha() and item.id not in COMMON_WORDS


def resolve_ones(number: int, row: list[Item], mood: list[int], memory: Memory) -> None:
    """Reads "the left one", "the other one" and "the left is" as the part last spoken of."""
    recent = memory.has_focus(number)
    if not recent and not any(item.role == "part" for item in row):
        return
    part: str | None = None
    if recent:
        part = memory.focus[-1].part
        _name_bare_place(row, mood, memory.focus[-1])
    if not any(item.role in ("side", "position") or item.is_word(_ONES) for item in row):
        return
    for index, item in enumerate(row):  # also over what is put in
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


def _name_bare_place(row: list[Item], mood: list[int], last: Place) -> None:
    """Puts in the part left unsaid in "right rear: fine", where the last place was the left one."""
    at = _bare_place(row)
    if at is None or not _is_other(row[:at], last):
        return
    if row[at + 1].is_word(("nothing",)):
        row[at + 1] = replace(row[at + 1], role="no_damage")
    before = row[at - 1]
    row.insert(at, Item("part", last.part, before.start, before.end, before.text))
    mood.insert(at, mood[at - 1])


def _bare_place(row: Sequence[Item]) -> int | None:
    """Where the part is left unsaid in "right rear: fine", "on the right, nothing"."""
    if any(item.role == "part" for item in row):
        return None
    start = next((i for i, item in enumerate(row) if not item.is_word(_BEFORE_A_PLACE)), 0)
    stop = start
    while stop < len(row) and row[stop].role in ("side", "position"):
        stop += 1
    told = row[stop + 1 : stop + 2]
    ends = stop > start and stop < len(row) and row[stop].is_word((":", ",", "-", "–"))
    if not ends or not told:
        return None
    return stop if told[0].role in ("defect", "no_damage") or told[0].is_word(_NOTHING) else None


def _is_other(row: Sequence[Item], place: Place) -> bool:
    """Whether some items name the other one of a pair."""
    said = {item.id for item in row if item.role in ("side", "position")}
    return bool(said & {OPPOSITE.get(place.side or ""), OTHER_END.get(place.position or "")})


def _is_one(row: Sequence[Item], index: int) -> bool:
    before = row[max(0, index - 2) : index]
    if any(item.is_word(_ANOTHER) for item in before):
        return False  # "a smaller one on the tank" is a flaw
    placed = index > 0 and row[index - 1].role in ("side", "position")
    pointed = index + 1 < len(row) and row[index + 1].is_word(("on", "at", "in"))
    return row[index].is_word(_ONES) and (placed or pointed)


def _is_side_for_a_part(row: Sequence[Item], index: int) -> bool:
    """Whether a place stands for the part there: "the left is cracked", "the rear's bald"."""
    if row[index].role not in ("side", "position") or index + 1 == len(row):
        return False
    if row[index].id not in _STANDING_PLACES or _clause_names_a_part(row, index):
        return False
    listed = index > 0 and row[index - 1].is_word((",", ":"))
    told = listed and row[index + 1].role in ("defect", "no_damage")
    return told or row[index + 1].is_word(_OWNING | _DENYING)


def _clause_names_a_part(row: Sequence[Item], stop: int) -> bool:
    for item in reversed(row[max(0, stop - 4) : stop]):
        if item.is_word(_CLAUSE_STARTS):
            return False
        if item.role == "part":
            return True
    return False


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
