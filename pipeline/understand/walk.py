"""The walk round the machine: where the speaker stands, and what that says of each part named.

A spoken side holds until the speaker moves. A part that exists on one side only tells the side
where none is known. A side that is not said of the part itself is inferred.
"""

from collections.abc import Sequence
from dataclasses import replace

from lexicon.load import Lexicon
from pipeline.models import Place, Position, Side
from pipeline.understand.heads import is_landmark
from pipeline.understand.memory import Memory
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import names_a_piece
from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.places import Spot
from pipeline.understand.plain import words
from pipeline.understand.said import OPPOSITE, Target
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import COMMON_WORDS, MOVES, SAME
from pipeline.understand.terms import Item

_MOVES = PhraseSet(MOVES)
_SAME = PhraseSet(SAME)
_OTHER_SIDE = PhraseSet({"other side", "opposite side", "far side"})
_THIS_SIDE = PhraseSet({"this side", "this here side"})
_THAT_SIDE = PhraseSet({"that side", "same side"})
_PAIR_OF_THEM = PhraseSet({"the pair of them", "the pair of 'em", "pair of them", "both of them"})
# Ends and places in the middle: who goes there stands on no side.
_ENDS = words(
    "front back rear cockpit cab dash top tail behind end bars middle controls nose stern bow"
)
_WHY = words("because 'cause since")
_MIDDLE = frozenset(("cockpit", "cab", "dash"))
_STANDING_FOR_A_PART = words("one ones left right")
_SHORT_ITEMS = 11
_OPENING_ITEMS = 6


def move(sentence: Sentence, memory: Memory) -> None:
    """Puts the speaker where the sentence says that he goes, if it does."""
    row = sentence.row
    first_flaw = sentence.flaws[0].first if sentence.flaws else len(row)
    first_part = sentence.parts[0].first if sentence.parts else len(row)
    moves, same = sentence.cue(_MOVES), sentence.cue(_SAME)
    if moves and moves > min(first_flaw, first_part) and row[moves - 1].role != "word":
        moves = None  # "a ding here on the left"
    sides = [
        i
        for i in sentence.loose_of("side")
        if row[i].id != "both" and not sentence.mood[i] & Mood.DENIED  # "don't tell the left"
    ]
    if len(sides) > 1:  # "at the right, because at the left is snow"
        why = next((i for i, item in enumerate(row) if item.is_word(_WHY)), len(row))
        sides = [i for i in sides if i < why] or sides
    leading = [
        i for i in sides if i < min(first_flaw, first_part) or (moves is not None and i > moves)
    ]
    topics = [i for i in leading if moves is not None or _is_topic(sentence, i)]
    if not topics and not sentence.flaws and not _praises(row):
        topics = sides
    if topics and (same is None or topics[0] < same):  # "the right, and so is" goes there
        memory.walk = row[topics[-1]].id  # type: ignore[assignment]
        return
    other = sentence.cue(_OTHER_SIDE)
    if other is not None:
        opens = same is None or other < min(first_part, same)
        goes = moves is not None and not moves < first_flaw < other
        if opens and (goes or other < first_flaw):
            memory.walk = OPPOSITE.get(memory.walk or "")
            return
    if _leaves_the_side(sentence, moves, bool(sides), first_part):
        memory.walk = None


def _leaves_the_side(sentence: Sentence, moves: int | None, sided: bool, first_part: int) -> bool:
    """Whether the speaker goes to an end or to the middle of the machine."""
    if _opens_at_an_end(sentence):
        return True
    ends = {sentence.row[i].id for i in sentence.loose} & {"front", "rear"}
    if moves is not None and not sided:
        spot = sentence.spots.get(first_part)  # "the first thing you see is the rear fender"
        own = range(spot.first, first_part + 1) if spot else ()
        flat = zip(sentence.flat, sentence.owner, strict=True)
        named = {owner for word, owner in flat if word in _ENDS and owner not in own}
        return bool((ends or named) and not sentence.parts) or (
            first_part > moves + 4 and any(owner < first_part for owner in named)
        )
    bare = not sentence.parts and not sentence.flaws and len(sentence.row) <= _SHORT_ITEMS
    return bare and bool(ends or _MIDDLE.intersection(sentence.flat))


def _praises(row: Sequence[Item]) -> bool:
    return any(item.role == "no_damage" for item in row)


def _opens_at_an_end(sentence: Sentence) -> bool:
    """Whether a sentence opens with "round the back," or "in the cockpit,"."""
    for index, item in enumerate(sentence.row[:_OPENING_ITEMS]):
        end = item.text in _ENDS or (index in sentence.loose and item.id in ("front", "rear"))
        if end:
            after = [item for item in sentence.row[index + 1 : index + 3] if item.text != "now"]
            return index > 0 and bool(after) and after[0].is_word((",", ".", ":"))
        if not item.is_word(COMMON_WORDS):
            return False
    return False


def _is_topic(sentence: Sentence, index: int) -> bool:
    """Whether a place is what the sentence opens with ("on the left side, ...")."""
    return all(
        item.role in ("side", "position") or item.is_word(COMMON_WORDS)
        for item in sentence.row[:index]
    )


def find_targets(sentence: Sentence, memory: Memory, lexicon: Lexicon) -> None:
    """Fills in the places that each part of a sentence stands for; several where it names more."""
    for group in sentence.parts:
        for index in group.members:
            sentence.targets[index] = _targets(sentence, index, memory, lexicon)


def _targets(sentence: Sentence, index: int, memory: Memory, lexicon: Lexicon) -> list[Target]:
    item, where = sentence.row[index], _spot(sentence, index, lexicon)
    base = Place(part=item.id, part_said=item.text, detail=_detail(sentence, index))
    entry = lexicon.parts.get(item.id)
    sides: Sequence[Side | None] = where.sides or (None,)
    positions: Sequence[Position | None] = where.positions or (
        _position_of_ones(sentence, index, memory),
    )
    if set(where.sides) == {"left", "right"} or _both_of_them(sentence, index):
        sides = ("both",)
    axles = entry is not None and entry.axle_pair and not entry.paired
    if sides == ("both",) and axles and _has_axles(lexicon) and not where.positions:
        sides, positions = (None,), ("front", "rear")
    items = list(range(where.first, where.last + 1))
    return [
        Target(
            _sided(sentence, index, _at(base, position), side, memory=memory, lexicon=lexicon),
            items,
        )
        for position in positions
        for side in sides
    ]


def _spot(sentence: Sentence, index: int, lexicon: Lexicon) -> Spot:
    """The place words of a part, else what a landmark lends: "the seal on the left fork".

    A second name of the part lends all ("the glass on the left one"), another part its side; front
    or rear only where both come in front and rear ("the spokes on the rear wheel").
    """
    where, row = sentence.spots[index], sentence.row
    whole = next((i for i in range(index - 1, -1, -1) if i in sentence.spots), None)
    placed = where.sides or where.positions
    if (
        whole is not None
        and not placed
        and (_renames(row[whole], row[index]) or names_a_piece(row, whole, index))
    ):
        told = sentence.spots[whole]
        return replace(where, sides=told.sides, positions=told.positions)
    mark = next((i for i in sentence.spots if i > index), None)
    if mark is None or not is_landmark(row, mark):
        return where
    lent = sentence.spots[mark]
    if row[mark].id == row[index].id:
        return where if placed else lent
    entries = [lexicon.parts.get(row[i].id) for i in (index, mark)]
    axles = all(entry is not None and entry.axle_pair for entry in entries)
    return replace(
        where,
        sides=where.sides or lent.sides,
        positions=where.positions or (lent.positions if axles else ()),
    )


def _renames(whole: Item, item: Item) -> bool:
    """Whether an item is another word for the part before it, or for a piece of that."""
    named = item.text not in _STANDING_FOR_A_PART and not item.plural
    return named and item.id == whole.id and item.text != whole.text


def _position_of_ones(sentence: Sentence, index: int, memory: Memory) -> Position | None:
    """The position of "the left one": that of the parts it is one of ("front turn signals")."""
    row = sentence.row
    if row[index].text not in _STANDING_FOR_A_PART:
        return None
    earlier = [i for i in sentence.spots if i < index and row[i].id == row[index].id]
    if earlier:
        told = [position for i in earlier for position in sentence.spots[i].positions]
        return told[-1] if told else None
    if not memory.focus or memory.focus[-1].part != row[index].id:
        return None
    position = memory.focus[-1].position
    return position if position in ("front", "rear") else None


def _at(place: Place, position: Position | None) -> Place:
    return place.model_copy(update={"position": position})


def _has_axles(lexicon: Lexicon) -> bool:
    """Whether "both wheels" are the front and the rear one."""
    return lexicon.kind == "motorcycle"


def _both_of_them(sentence: Sentence, index: int) -> bool:
    tail = [item.text for item in sentence.row[index + 1 : index + 4]]
    pair = sentence.cue(_PAIR_OF_THEM)
    if pair is not None and pair > index and _is_near(sentence, index, pair):
        return True
    return tail in ([",", "both", "of"], ["both", "of", "them"]) or (
        tail[:2] == ["are", "both"] and sentence.row[index].plural
    )


def _sided(
    sentence: Sentence,
    index: int,
    place: Place,
    side: Side | None,
    *,
    memory: Memory,
    lexicon: Lexicon,
) -> Place:
    """The place with its side: said of it, else in the sentence, the part's own, or the walk's."""
    entry = lexicon.parts.get(place.part)
    said = side or _sentence_side(sentence, index) or _that_side(sentence, index)
    if said is not None:
        return place.model_copy(update={"side": said, "side_basis": "spoken"})
    here = sentence.cue(_THIS_SIDE)
    if here is not None and memory.walk is not None and _is_near(sentence, here, index):
        return _inferred(place, memory.walk)
    walk = memory.walk
    if walk is not None and _is_on_the_other_side(sentence, index):
        walk = OPPOSITE[walk]
    if entry is None:
        return place if walk is None else _inferred(place, walk)
    rear_lever = place.part == "brake_lever" and place.position == "rear"
    if entry.one_side and not rear_lever:
        memory.walk = memory.walk or entry.one_side
        return _inferred(place, entry.one_side)
    if entry.centre_line or walk is None:
        return place
    return _inferred(place, walk)


def _inferred(place: Place, side: Side) -> Place:
    return place.model_copy(update={"side": side, "side_basis": "inferred"})


def _sentence_side(sentence: Sentence, index: int) -> Side | None:
    """The last side before a part that no other part, or its flaw, takes."""
    told = [g.last for g in sentence.flaws if any(p.last < g.first for p in sentence.parts)]
    before = [
        i
        for i in sentence.loose_of("side")
        if i < index and (not any(flaw < i for flaw in told) or _opens_here(sentence, i, index))
    ]
    return sentence.row[before[-1]].id if before else None  # type: ignore[return-value]


def _opens_here(sentence: Sentence, side: int, part: int) -> bool:
    """Whether a clause opens with a side, and the part next: ", and on the right the mirror is"."""
    return sentence.any_word(side - 3, side - 1, ("and", ",")) and all(
        item.is_word(("the", ",")) for item in sentence.row[side + 1 : part]
    )


def _that_side(sentence: Sentence, index: int) -> Side | None:
    """The side last said: "the left grip is torn, and the mirror on that side is loose"."""
    that = sentence.cue(_THAT_SIDE)
    if that is None or that < index or not _is_near(sentence, that, index):
        return None
    told = [item.id for item in sentence.row[:index] if item.role == "side"]
    return told[-1] if told else None  # type: ignore[return-value]


def _is_on_the_other_side(sentence: Sentence, index: int) -> bool:
    """Whether a part is but told of in passing: "..., and the mirror on the other side has too"."""
    other = sentence.cue(_OTHER_SIDE)
    if other is None or other < index or not _is_near(sentence, index, other):
        return False
    return any(group.first < index for group in sentence.flaws)


def _is_near(sentence: Sentence, cue: int, part: int) -> bool:
    """Whether no other part stands between a place word and a part it is said of."""
    low, high = sorted((cue, part))
    return not any(item.role == "part" for item in sentence.row[low + 1 : high])


def _detail(sentence: Sentence, index: int) -> str | None:
    """Words that narrow the spot, right before or after the part."""
    row = sentence.row
    near = [*row[max(0, index - 4) : index], *row[index + 1 : index + 5]]
    return next((item.text for item in near if item.role == "detail"), None)
