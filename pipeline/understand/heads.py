"""Which parts of a sentence are spoken of, and which only say where those are."""

from collections.abc import Sequence

from lexicon.expand import OTHER
from pipeline.understand.plain import words
from pipeline.understand.talk import (
    ADVERBS,
    ARTICLES,
    DETERMINERS,
    FILLERS,
    LANDMARKS,
    PREPOSITIONS,
)
from pipeline.understand.terms import Item

_BINDING = (PREPOSITIONS | LANDMARKS) - words("from")
_BINDERS = DETERMINERS | words("right just up down over of there here")
_TOWARDS = _BINDERS | words("to")
_BESIDE = LANDMARKS - words("around where round against")
_PAUSES = words("the uh um so")
_OFF_OR_ON = words("off on from")
_PULLED = words("pulled peeled took scraped removed tore ripped had put stuck")
_EXISTENTIAL = words("there's there there're here's we've")
_UNDER = words("underneath beneath under below")
_EXTENT, _BREATH = 6, 20
_CLAUSE_OPENERS = words(", . ; : and but right just")
_COPULAS = words(
    "is are 's was were been being it's they're that's looks look seems feels got gets isn't"
)
_HAS = words("has have had")
_PARTICIPLE_ENDINGS = ("ed", "en", "nt", "rn")


def heads(row: Sequence[Item]) -> list[int]:
    """The indexes of the parts that a sentence speaks of, in order."""
    spoken_of = [
        i
        for i, item in enumerate(row)
        if item.role == "part"
        and not is_landmark(row, i)
        and not _is_gone_sticker(row, i)
        and not _is_piece_of_one_named(row, i)
        and not _stands_by(row, i)
        and not _only_meets(row, i)
        and not _is_topic_of_a_pair(row, i)
        and not _was_there(row, i)
        and not _is_where(row, i)
        and not _is_floor_of_a_bed(row, i)
        and not _is_compared(row, i)
        and not _is_seen_from(row, i)
        and not _is_called(row, i)
    ]
    return [i for i in spoken_of if not _is_an_end(row, i)] or spoken_of


def _was_there(row: Sequence[Item], index: int) -> bool:
    """Whether a part is one that is gone: "the fender, where a sticker used to be, has ..."."""
    before = [item for item in row[max(0, index - 3) : index] if item.role == "word"]
    after = [item.text for item in row[index + 1 : index + 3]]
    gone = after in (["used", "to"], ["once", "was"], ["had", "been"])
    return gone and any(item.is_word(("where",)) for item in before)


def _is_floor_of_a_bed(row: Sequence[Item], index: int) -> bool:
    """Whether a floor is the bed's: "the bed has scratches on the floor"."""
    return row[index].text == "floor" and any(item.id == "cargo_bed" for item in row[:index])


def _is_where(row: Sequence[Item], index: int) -> bool:
    """Whether a part only tells where a flaw is: "cracked where the plate bolts on"."""
    for i in range(index - 1, max(-1, index - _EXTENT), -1):
        if row[i].is_word(("where",)):
            before = row[max(0, i - 2) : i]
            return any(item.role == "defect" for item in before) and any(
                item.role == "part" for item in row[:i]
            )
        if row[i].role != "word" or row[i].is_word((",", ".")):
            return False
    return False


def _is_seen_from(row: Sequence[Item], index: int) -> bool:
    """Whether a part is where the speaker looks from: "from the seat, the bars are crooked"."""
    return (
        index == 2
        and row[0].is_word(("from",))
        and row[1].is_word(("the",))
        and any(item.role == "part" for item in row[3:])
        and row[3].is_word((",",))
    )


def _is_called(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw only goes by a part's name: "pinstripes, meaning three scratches"."""
    after = [item.id for item in row[index + 1 : index + 6] if not item.is_word((",",))]
    meant = after[:1] == ["meaning"] or after[:3] == ["which", "is", "to"]
    return meant and any(item.role == "part" for item in row[:index])


def _is_compared(row: Sequence[Item], index: int) -> bool:
    """Whether a part is only what another is like: "off color compared to the tank"."""
    before = [item.text for item in row[max(0, index - 3) : index]]
    likened = before[-2:] in (["like", "a"], ["like", "the"]) and index > 3
    likened = likened and before[0] not in ("feel", "felt", "looks")  # "I feel like the seal is"
    return likened or before[:2] in (["compared", "to"], ["compared", "with"])


def is_landmark(row: Sequence[Item], index: int) -> bool:
    """Whether a part only says where another is: "the badge on the trunk"."""
    before = next((i for i in range(index - 1, -1, -1) if row[i].role == "part"), None)
    if before is None or _is_an_end(row, before) or _is_gone_sticker(row, before):
        return False
    between = _unrelated(row[before + 1 : index])
    prepositions = [i for i in between if i.is_word(_BINDING) or i.text in _UNDER]
    return 0 < len(prepositions) <= 2 and all(
        item.is_word(_BINDING | _BINDERS) or item.role in ("side", "position", "detail")
        for item in between
    )


def _is_gone_sticker(row: Sequence[Item], index: int) -> bool:
    """Whether a sticker only left residue: "pulled a sticker off the deck, and there's residue"."""
    if row[index].id != "decal":
        return False
    left = row[max(0, index - 3) : index]
    if any(item.id == "residue" for item in left) and row[index - 1].is_word(("a", "the")):
        return any(item.role == "part" for item in row[:index])  # "the residue of a sticker"
    before = row[max(0, index - _EXTENT) : index]
    if any(
        where.is_word(("where",)) and had.is_word(("had",))
        for where, had in zip(before, before[2:], strict=False)
    ):
        return True  # "some residue where they had a rally sticker"
    after = [item for item in row[index + 1 : index + _EXTENT] if not item.is_word(DETERMINERS)]
    stuck = bool(after) and after[0].is_word(_OFF_OR_ON)
    return (
        stuck
        and any(item.is_word(_PULLED) for item in row[max(0, index - _BREATH) : index + _BREATH])
        and any(item.role == "part" for item in after)
        and any(item.id == "residue" for item in row[index : index + _BREATH])
    )


def _unrelated(between: Sequence[Item]) -> Sequence[Item]:
    """What stands between two parts, without a "that sits" ("the shield that sits on the pipe")."""
    relative = (
        len(between) > 2 and between[0].is_word(("that", "which")) and between[1].role == "word"
    )
    return between[2:] if relative else between


def _stands_by(row: Sequence[Item], index: int) -> bool:
    """Whether a part is only what something is near to, where another was named before it."""
    cursor = index - 1
    while cursor >= 0 and (
        row[cursor].role in ("side", "position") or row[cursor].is_word(_TOWARDS)
    ):
        cursor -= 1
    near = cursor >= 0 and row[cursor].is_word(_BESIDE)
    return near and any(item.role == "part" for item in row[:cursor])


def _is_topic_of_a_pair(row: Sequence[Item], index: int) -> bool:
    """Whether a part is named only to tell of one of its kind: "skis, left ski is good"."""
    after = next((i for i in range(index + 1, len(row)) if row[i].role == "part"), None)
    if after is None or row[after].id != row[index].id or not row[index + 1].is_word((",", ":")):
        return False
    between = row[index + 2 : after]
    return any(item.role in ("side", "position") for item in between) and all(
        item.role in ("side", "position") or item.is_word(_PAUSES) for item in between
    )


def _is_an_end(row: Sequence[Item], index: int) -> bool:
    """Whether a part only bounds a place on another.

    "From the cap to the seat"; "just below the badge on the tank, a chip".
    """
    cursor = index - 1
    while cursor >= 0 and (
        row[cursor].role in ("side", "position") or row[cursor].is_word(DETERMINERS)
    ):
        cursor -= 1
    if cursor < 0:
        return False
    opens = cursor == 0 or row[cursor - 1].is_word(_CLAUSE_OPENERS)
    if opens and row[cursor].is_word(_BESIDE) and index + 3 < len(row):
        ahead = row[index + 1 : index + 4]
        return ahead[0].is_word(("on", "of")) and any(item.role == "part" for item in ahead)
    if row[cursor].is_word(("to",)):
        return any(item.is_word(("from",)) for item in row[max(0, cursor - _EXTENT) : cursor])
    ahead = row[index + 1 : index + 1 + _EXTENT]
    return row[cursor].is_word(("from",)) and any(item.is_word(("to",)) for item in ahead)


def _only_meets(row: Sequence[Item], index: int) -> bool:
    """Whether a part is only where another's flaw is: "the hose is chafing on the frame"."""
    cursor = index - 1
    while cursor >= 0 and (
        row[cursor].role in ("side", "position") or row[cursor].is_word(_BINDERS)
    ):
        cursor -= 1
    if cursor < 1 or not row[cursor].is_word(_BINDING) or row[cursor - 1].role != "defect":
        return False
    flaw = cursor - 1
    subject = next((i for i in range(flaw - 1, -1, -1) if row[i].role == "part"), None)
    if subject is None or row[subject].id == row[index].id:
        return False
    topic = row[subject + 1].is_word((",",)) and row[subject + 2].is_word(_EXISTENTIAL)
    return topic or is_predicate(row, subject, flaw)


def is_predicate(row: Sequence[Item], part: int, flaw: int) -> bool:
    """Whether a flaw is said of a part by a verb alone: "the heat shield is loose"."""
    between = row[part + 1 : flaw]
    has = any(item.is_word(("got",)) for item in between)
    if has and not row[flaw].text.endswith(_PARTICIPLE_ENDINGS):
        return False  # "has got scuffing"
    verbs = _COPULAS | _HAS if row[flaw].text.startswith("been ") else _COPULAS
    return (
        bool(between)
        and between[0].is_word(verbs)
        and not row[flaw - 1].is_word(ARTICLES)
        and all(
            item.is_word(verbs | ADVERBS | FILLERS) or item.role == "qualifier" for item in between
        )
    )


def _is_piece_of_one_named(row: Sequence[Item], index: int) -> bool:
    """Whether a part is a piece of one named before it: "rear tire: a cut in the sidewall"."""
    before = next((i for i in range(index - 1, -1, -1) if row[i].role == "part"), None)
    if before is None or row[before].id != row[index].id or row[index].id == OTHER:
        return False
    if is_landmark(row, before) or _stands_by(row, before):
        return False
    if index + 1 < len(row) and row[index + 1].text.split(" ")[0] in _COPULAS:
        return False
    around = [*row[max(0, index - 2) : index], *row[index + 1 : index + 4]]
    return not any(item.role in ("side", "position") or item.is_word(("other",)) for item in around)
