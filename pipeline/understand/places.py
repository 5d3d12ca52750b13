"""Which one of a part is meant, and on which side the speaker stands.

Left and right are the rider's. A side or position beside a part belongs to it ("left front turn
signal", "top of the tank", "the mirror on the right"). One that belongs to no part says where the
speaker is, or where on the last part the flaw sits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.models import Position, Side
from pipeline.understand.plain import words
from pipeline.understand.terms import Item

_ADVERBIAL_AFTER = words(
    "here there at on by where around now up down along below above next in behind under beneath "
    "underneath through off away over beside near across about before after as out into it a onto "
    "inside to between and when back"
)
_BEFORE_WHAT_REMAINS = words(
    "percent tread life meat rubber nothing much anything what's i he they we who whoever lot some "
    "plenty miles time season lots"
)
_OWNING = words("has is 's got")
_TO_A_PLACE = words("on at to over in up out down the your here there right just")
_AFTER_BOTH = words("of sides new old")
_ARTICLES_OF_SIDES = words("the your rider's")
_BEFORE_IN_ORDER = words(
    "it's that's they're is are 's looks look about quite just not sits sit works work fits fit "
    "feels all seals seal closes close shuts shut latches latch shifts shift runs run tracks seats"
)
_TOLD = frozenset(("defect", "no_damage", "qualifier", "number", "size"))
_ARTICLES = words("the your its that this my his her")
_PREPOSITIONAL = words("underneath beneath inside outside")
_OBJECTS = words("it them that")
_VIEWING = words(
    "see look looking looks here here's there's again visible show showing shows view angle over"
)
_BEFORE_BACK = _ARTICLES | words("in out at around round toward towards to very")
_SIDED = words("hand side one ones most hander")
_MARKS = words(", . ; : ? !")
_POINTERS = words("the your my rider's riders sorry mean far that on to")
_JOINS = words("and & or")
# "The right tools" are those that fit.
_FITTING = words(
    "rods tools tool way light stuff person people guy man price money kind sort size angle idea "
    "thing time hands touch buyer"
)
_LEAVING = words("that which it this he she they who somebody someone i and")
_LEFT_BEHIND = words("the a an some his her its it me us")
_HEIGHTS = frozenset(("low", "high", "down low", "low down", "up high", "high up"))


@Language.component("places", requires=["doc._.items"], assigns=["doc._.items"])
def places(doc: Doc) -> Doc:
    """Takes "right" and "left" for plain words where they name no side ("right here")."""
    for row in doc._.items:
        for index, item in enumerate(row):
            if (item.role == "side" and not _is_side(row, index)) or (
                item.role == "position" and not _is_position(row, index)
            ):
                row[index] = replace(item, role="word", id=item.text)
    return doc


def _is_side(row: Sequence[Item], index: int) -> bool:
    if row[index].text == "both":
        return _is_both(row, index)
    if row[index].text not in ("left", "right"):
        return not row[index].weak or _opens_a_place(row, index) or _has_verb(row, index)
    return _is_left_or_right(row, index)


def _is_position(row: Sequence[Item], index: int) -> bool:
    """Whether a place word is one: not so in "glued back on", "scratches on top of scratches"."""
    before, after = row[max(0, index - 1) : index], row[index + 1 : index + 3]
    if _is_viewpoint(row, index) or _is_before_another(row, index):
        return False
    if len(after) == 2 and after[0].is_word(("of",)) and after[1].role == "defect":
        return False
    flaw = bool(before) and before[0].role == "defect"
    if row[index].text in _PREPOSITIONAL and after and after[0].is_word(_OBJECTS) and not flaw:
        return False  # "the signal underneath it"
    if row[index].text in ("low", "high"):
        return len(after) == 2 and after[0].is_word(("on",)) and after[1].is_word(_ARTICLES)
    if row[index].text != "back":
        return True
    named = bool(after) and (
        after[0].role in ("part", "side", "position", "detail") or after[0].is_word(("of",))
    )
    return named or (bool(before) and before[0].is_word(_BEFORE_BACK))


def _is_before_another(row: Sequence[Item], index: int) -> bool:
    """Whether "front" only tells what something stands before: "the guard in front of it"."""
    around = row[max(0, index - 1)], row[min(index + 1, len(row) - 1)]
    return row[index].text == "front" and around[0].is_word(("in",)) and around[1].is_word(("of",))


def _is_viewpoint(row: Sequence[Item], index: int) -> bool:
    """Whether a place is where one looks from: "you can see it from the front"."""
    start = index - 1 if index and row[index - 1].is_word(("the",)) else index
    viewed = start > 0 and row[start - 1].is_word(("from",))
    goes_on = index + 1 < len(row) and row[index + 1].is_word(("to", "of"))
    return viewed and not goes_on and any(item.is_word(_VIEWING) for item in row)


def _has_verb(row: Sequence[Item], index: int) -> bool:
    """Whether a verb makes a place a subject: "the passenger's is fine"."""
    after = row[index + 1 : index + 2]
    return bool(after) and after[0].text.split(" ")[0] in ("is", "'s", "has", "are")


def _is_left_or_right(row: Sequence[Item], index: int) -> bool:
    """Whether "left" or "right" is a side, and not "right here" or "not much left"."""
    before = row[index - 1] if index else None
    after = row[index + 1] if index + 1 < len(row) else None
    if before is not None and (
        _remains(before, after) or _leaves_something(before, after)
        if row[index].text == "left"
        else _is_in_order(before, after)
    ):
        return False
    if after is None or _opens_a_place(row, index):
        return True
    if before is None:
        return _opens_a_sentence(row)
    listed = before.is_word((":", ",")) or before.role == "position"
    if listed and (after.role in _TOLD or after.is_word(_OWNING)):
        return True  # "mirrors: left cracked, right missing", "rear left's good"
    if before.is_word(_ARTICLES_OF_SIDES):
        return row[index].text == "left" or not after.is_word(_FITTING)
    adverbial = after.is_word(_ADVERBIAL_AFTER)
    return not adverbial and (after.is_word(_MARKS) or before.is_word(_POINTERS))


def _leaves_something(before: Item, after: Item | None) -> bool:
    """Whether "left" is a verb: "that left the bar end scuffed"."""
    return before.is_word(_LEAVING) and after is not None and after.is_word(_LEFT_BEHIND)


def _opens_a_sentence(row: Sequence[Item]) -> bool:
    """Whether "left" or "right" at the start is a side: "Right, a scratch", but not "Right, so"."""
    if row[1].is_word((",", ":")) and len(row) > 2 and row[2].role in _TOLD:
        return True
    return row[0].text == "left" and row[1].is_word(_MARKS)


def _is_both(row: Sequence[Item], index: int) -> bool:
    """Whether "both" says which of a part: "both mirrors", "the mirrors are both scratched"."""
    after = row[index + 1] if index + 1 < len(row) else None
    graded = after is not None and after.role == "qualifier"
    if graded and not any(item.role == "part" for item in row[index + 1 : index + 4]):
        return False  # "swirls, a crack, both minor"
    if after is not None and (
        after.role in ("part", "position", "side", "detail", "qualifier")
        or after.is_word(_ARTICLES | _AFTER_BOTH)
    ):
        return True
    named = [item for item in row[:index] if item.role == "part"]
    return bool(named) and named[-1].plural


def _is_in_order(before: Item, after: Item | None) -> bool:
    """Whether "right" means as it should be: "the slack is about right."."""
    return before.text in _BEFORE_IN_ORDER and (after is None or after.is_word(_MARKS))


def _remains(before: Item, after: Item | None) -> bool:
    """Whether "left" is what remains, or a verb: "thirty percent left", "some tread left in it"."""
    if after is not None and after.role in ("part", "position", "detail"):
        return False
    return before.role in ("area", "number", "size") or before.is_word(_BEFORE_WHAT_REMAINS)


def _opens_a_place(row: Sequence[Item], index: int) -> bool:
    """Whether a place goes on after an index: "right mirror", "left hand", "left and right"."""
    if index + 1 == len(row):
        return False
    after = row[index + 1]
    if after.role in ("part", "position", "side", "detail") or after.is_word(_SIDED):
        return True
    if _is_of_a_part(row, index):
        return True
    joined = after.is_word(_JOINS) and index + 2 < len(row)
    return joined and row[index + 2].role in ("side", "part")


def _is_of_a_part(row: Sequence[Item], index: int) -> bool:
    """Whether a side is one of a part: "the left of the hull", but not "to the left of it"."""
    after = row[index + 1 : index + 4]
    beside = any(item.is_word(("to",)) for item in row[max(0, index - 2) : index])
    return (
        len(after) == 3
        and after[0].is_word(("of",))
        and after[1].is_word(_ARTICLES)
        and after[2].role == "part"
        and not beside
    )


@dataclass(frozen=True, slots=True)
class Spot:
    """The place words of one part in its sentence: sides and positions, and the items they use.

    Of two positions the nearer one counts ("bottom of the front fender"), unless "and" joins them.
    """

    sides: tuple[Side, ...]
    positions: tuple[Position, ...]
    first: int
    last: int


def spot(row: Sequence[Item], index: int) -> Spot:
    """The place words that belong to the part at `index` of a row."""
    sides: list[Side] = []
    positions: list[Position] = []
    first = last = index
    joined = False
    cursor = index - 1
    while cursor >= 0:
        item = row[cursor]
        if item.role == "side":
            sides.insert(0, item.id)  # type: ignore[arg-type]
            first = cursor
        elif item.role == "position":
            if joined or not positions:
                positions.insert(0, item.id)  # type: ignore[arg-type]
            first = cursor
        elif _joins_places(row, cursor, first):
            joined = True
        elif item.is_word(_ARTICLES) and cursor and _is_inside(row, cursor - 1):
            pass
        elif (reach := _of_before(row, cursor)) is not None:
            cursor = reach
            continue
        elif (
            (item.role == "detail" and cursor == first - 1)
            or item.id == "~"
            or (item.is_word(_ARTICLES) and cursor > 0 and row[cursor - 1].id == "both")
        ):
            pass
        else:
            break
        cursor -= 1
    cursor = index + 1
    after = _place_after(row, cursor)
    if after is not None:
        item = row[after]
        if item.role == "side":
            sides.append(item.id)  # type: ignore[arg-type]
        elif not positions:
            positions.append(item.id)  # type: ignore[arg-type]
        last = after
    return Spot(tuple(dict.fromkeys(sides)), tuple(dict.fromkeys(positions)), first, last)


def _is_inside(row: Sequence[Item], index: int) -> bool:
    """Whether a place is that of the part to come: "inside the pan", "on its underside the can"."""
    its = index > 0 and row[index - 1].is_word(("its",))
    return row[index].text in _PREPOSITIONAL or (its and row[index].role == "position")


def _joins_places(row: Sequence[Item], cursor: int, first: int) -> bool:
    """Whether "and" joins two place words of one kind ("front and rear fenders")."""
    return (
        row[cursor].is_word(_JOINS)
        and first == cursor + 1
        and cursor > 0
        and row[cursor - 1].role == row[first].role
        and row[first].role in ("side", "position")
    )


def _of_before(row: Sequence[Item], cursor: int) -> int | None:
    """The place word of "top of the", "left side on the": its index, where one ends at `cursor`."""
    if row[cursor].is_word(_ARTICLES):
        cursor -= 1
    low = row[cursor].is_word(("on",)) and row[cursor - 1].text in _HEIGHTS
    if cursor <= 0 or not (row[cursor].is_word(("of",)) or low):
        return None
    cursor -= 1
    if cursor > 0 and row[cursor].is_word(
        ("edge", "part", "half", "section", "side", "portion", "area")
    ):
        cursor -= 1
    return cursor if row[cursor].role in ("side", "position") else None


def _place_after(row: Sequence[Item], cursor: int) -> int | None:
    """The place word of "on the right", "at the rear" right after a part, if it is that part's."""
    start = cursor
    while cursor < len(row) and row[cursor].is_word(_TO_A_PLACE):
        cursor += 1
    if cursor >= len(row) or row[cursor].role not in ("side", "position"):
        return None
    if cursor == start:
        return None
    after = row[cursor + 1] if cursor + 1 < len(row) else None
    if after is not None and (
        after.role in ("part", "side", "position", "detail")
        or after.is_word(("of", "one", "edge", "corner"))
    ):
        return None
    return cursor
