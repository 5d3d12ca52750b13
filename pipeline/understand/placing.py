"""Of which places a flaw or praise is said: named or last spoken of, and where on them."""

from collections.abc import Sequence

from pipeline.models import Place
from pipeline.understand.memory import Memory
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group
from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.plain import words
from pipeline.understand.said import Target, flipped
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import OTHER_OF_A_PAIR, PLURAL_PRONOUNS, PREPOSITIONS, SAME
from pipeline.understand.terms import Item

_OTHER = PhraseSet(OTHER_OF_A_PAIR)
_SAME = PhraseSet(SAME)
_THIS_SIDE = PhraseSet({"this side"})
_CLAUSE_BREAKS = words(", . ; : - but and")
_TURNS = words("but though however ;")
_THEN = words("then the also")
_SAYING = frozenset(("defect", "damage", "no_damage"))
_COMPARING = words("more worse better than")
_NAMING_AGAIN = PREPOSITIONS | words("it's that's mean meaning")


def stated_targets(sentence: Sentence, group: Group, parts: Group | None) -> list[Target]:
    """The places of the parts; of two names of one, that which says more: "on both skis"."""
    if parts is None:
        return []
    targets = sentence.targets_of(parts)
    if any(target.place.side_basis == "spoken" or target.place.position for target in targets):
        return targets
    first_side = next((i for i in sentence.loose_of("side") if i > group.last), len(sentence.row))
    named = {target.place.part for target in targets}
    next_flaw = min((g.first for g in sentence.flaws if g.first > group.last), default=first_side)
    same = sentence.cue(_SAME)  # "and so is the left one" names another
    stop = min(first_side, next_flaw, *() if same is None or same < group.last else (same,))
    for other in sentence.parts:
        if group.last < other.first < stop and _is_named_again(sentence, other.first):
            again = sentence.targets_of(other)
            if {target.place.part for target in again} == named:
                return again
    return targets


def _is_named_again(sentence: Sentence, index: int) -> bool:
    """Whether a part only says which one was meant: "on both skis", "it's the lower A-arm"."""
    row = sentence.row
    if row[index].text in ("one", "ones"):
        return index + 1 == len(row) or row[index + 1].is_word(_CLAUSE_BREAKS)
    before = sentence.spots[index].first - 1
    if before > 0 and row[before].is_word(("the",)):
        before -= 1
    return before >= 0 and row[before].is_word(_NAMING_AGAIN)


def implied_targets(sentence: Sentence, group: Group, memory: Memory) -> list[Target]:
    """The places that a flaw with no part in its sentence is said of: those last spoken of."""
    asked = sentence.row[-1].is_word(("?",))  # but "it's loose, hear that?" tells
    if (
        asked and not sentence.any_word(group.last, len(sentence.row), (",",))
    ) or not memory.has_focus(sentence.number):
        return []
    plural = sentence.any_word(0, group.first, PLURAL_PRONOUNS)
    focus = memory.focus if plural else memory.focus[-1:]
    if sentence.cue(_OTHER) is not None:
        focus = [flipped(place) for place in focus]
    return [Target(_without_spot(place)) for place in focus]


def _without_spot(place: Place) -> Place:
    """The place without where on the part the last flaw was; front and rear tell parts apart."""
    if place.position in ("front", "rear", None):
        return place.model_copy(update={"detail": None})
    return place.model_copy(update={"position": None, "detail": None})


def with_loose(
    sentence: Sentence, group: Group, parts: Group | None, targets: Sequence[Target]
) -> list[Target]:
    """Adds a side or position said after the flaw ("a dent on the left side", "along the top")."""
    if not sentence.loose:
        return list(targets)
    row = sentence.row
    heads = [
        other.first
        for other in [*sentence.parts, *sentence.flaws]
        if other.first > group.last and other != parts
    ]
    # "No dents, no rust, just some fading on top": the top is faded, not free of dents.
    heads += [
        i
        for flaws in sentence.flaws
        for i in flaws.members
        if i > group.last and not sentence.mood[i] & Mood.DENIED
    ]
    breaks = [i for i in range(group.last, len(row)) if row[i].is_word(_TURNS)]
    here = sentence.cue(_THIS_SIDE)
    if here is not None:  # "scratched on this side, and so is the left one"
        breaks += [i for i in range(max(here, group.last), len(row)) if row[i].is_word(("and",))]
    pair = sentence.cue(_OTHER)
    if pair is not None and (same := sentence.cue(_SAME)) is not None and same < pair:
        breaks += [i for i in (same,) if i > group.last]  # "same as its twin on the right"
    if any(other.first > group.last for other in sentence.flaws):  # "and along the edge, two chips"
        breaks += [i for i in range(group.last, len(row) - 1) if _opens_a_place(row, i)]
    stop = min([*heads, *breaks], default=len(row))
    loose = [i for i in sentence.loose if not _is_compared(row, i)]
    if not sentence.mood[group.last] & Mood.DENIED:  # "cracked, I didn't see that inside the shop"
        loose = [i for i in loose if not sentence.mood[i] & Mood.DENIED]
    after = [i for i in loose if group.last < i < stop or _is_of_all(row, i)]
    if parts is None:
        after += [
            i
            for i in loose
            if i < group.first and (row[i].role == "side" or _is_of_it(sentence, i, group))
        ]
    elif parts.last < group.first:
        after += [i for i in loose if _is_between(sentence, parts, i, group)]
    # "A dent in the left bag and a scratch on the right": the bag is named for the dent.
    own = parts is not None and any(flaws.last < parts.first for flaws in sentence.flaws)
    own = own and parts is not None and parts.last < group.first
    placed = []
    for target in targets:
        places = [target.place]
        for i in after:
            places = _placed(row, i, places, own and i > group.last)
        items = [*target.items, *after]
        placed += [Target(place, items) for place in places]
    return placed


def _opens_a_place(row: Sequence[Item], index: int) -> bool:
    if not row[index].is_word(("and",)):
        return False
    after = next((item for item in row[index + 1 :] if not item.is_word(_THEN)), row[index])
    return after.role == "position" or after.is_word(PREPOSITIONS)


def _placed(row: Sequence[Item], index: int, places: list[Place], anew: bool) -> list[Place]:
    """The places with a side or position that they lack; "front and rear" makes two of one.

    A side told `anew` replaces the one they have.
    """
    item = row[index]
    if item.role == "side":
        side = {"side": item.id, "side_basis": "spoken"}
        return [
            p if p.side_basis == "spoken" and not anew else p.model_copy(update=side)
            for p in places
        ]
    position = {"position": item.id}
    if index > 1 and row[index - 1].is_word(("and",)) and row[index - 2].role == "position":
        return [*places, *(p.model_copy(update=position) for p in places[:1])]
    return [p if p.position else p.model_copy(update=position) for p in places]


def _is_between(sentence: Sentence, parts: Group, index: int, group: Group) -> bool:
    """Whether a place between parts and a later flaw of theirs is not an earlier flaw's."""
    if not parts.last < index < group.first:
        return False
    earlier = [i for i in range(parts.last, index) if sentence.row[i].role in _SAYING]
    return not earlier or sentence.any_word(earlier[-1] + 1, index, _CLAUSE_BREAKS)


def _is_of_it(sentence: Sentence, index: int, group: Group) -> bool:
    """Whether a flaw is the first in a place of the thing last spoken of: "the bottom of it"."""
    if any(index < flaws.first < group.first for flaws in sentence.flaws):
        return False
    return sentence.any_word(index + 1, index + 2, ("of",)) and sentence.any_word(
        index + 2, index + 3, ("it", "that", "them")
    )


def _is_of_all(row: Sequence[Item], index: int) -> bool:
    """Whether a side is said of a whole list: "dented muffler, torn grip, all on the right"."""
    return any(item.is_word(("all",)) for item in row[max(0, index - 3) : index])


def _is_compared(row: Sequence[Item], index: int) -> bool:
    """Whether a side only says where it is worse: "pitted, more on the left than the right"."""
    worse = index + 1 < len(row) and row[index + 1].text in _COMPARING  # "the left worse than"
    return worse or any(item.is_word(_COMPARING) for item in row[max(0, index - 3) : index])
