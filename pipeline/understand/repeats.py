"""The same again, in short: "so does the backrest", "same on the right", "the tail light too"."""

from collections.abc import Sequence
from dataclasses import replace

from pipeline.understand.memory import Memory
from pipeline.understand.mood import Mood
from pipeline.understand.naming import is_strange
from pipeline.understand.pairing import is_praised
from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.plain import words
from pipeline.understand.said import Clean, Flaw, Target, flipped, same_place
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import (
    DETERMINERS,
    HAVING,
    OTHER_OF_A_PAIR,
    PREPOSITIONS,
    SAME,
)
from pipeline.understand.terms import Item

_SAME = PhraseSet(SAME)
_TOO = PhraseSet({"too", "as well", "also"})
_LOOKING = words("look looked looking check checked checking inspected")
_LOOK_REACH = 4
_PERSONS = words("i we you he she")
_SAMENESS = words("story thing deal way again goes issue problem condition boat")
_PLAIN = HAVING | DETERMINERS | PREPOSITIONS | words("other")
_ALL_OTHERS = words("every any most everything everybody everyone all")
_OTHER = PhraseSet(OTHER_OF_A_PAIR)


def repeat(
    sentence: Sentence, stated: Sequence[Flaw], memory: Memory
) -> tuple[list[Flaw], list[Clean]]:
    """The flaws said again of other places, and the parts that another's praise is said of too."""
    cue = _also(sentence, stated)
    if cue is None:
        cue = sentence.cue(_SAME)
    if cue is None:
        cue = _too(sentence, stated)
    idiom = cue is not None and (
        sentence.row[cue].text.startswith("same ")
        or sentence.row[cue].id == "~"  # "right side, same walk" is an idiom
        or sentence.any_word(cue + 1, cue + 3, _ALL_OTHERS)  # "same as every other one"
        # "a scuff, quite a big one, and rust on the pedal" tells of the same scuff
        or (sentence.row[cue].is_word(("a",)) and sentence.any_word(cue + 3, cue + 4, (",", ".")))
    )
    if cue is None or idiom or sentence.mood[cue] & Mood.IMAGINED or _names_one_part(sentence, cue):
        return [], []
    before = [flaw for flaw in stated if flaw.items[0] < cue]
    if _praises(sentence, max((flaw.items[0] for flaw in before), default=-1) + 1, cue):
        named = next((g for g in sentence.parts if g.first >= cue), None)
        targets = (
            sentence.targets_of(named)
            if named
            else [t for t in _targets(sentence, cue, cue, memory) if t.items]
        )
        return [], [Clean(sentence.number, target, list(target.items)) for target in targets]
    if stated and not before:
        return [], []
    source = before or memory.recent_flaws(sentence.number)
    told = max((flaw.items[0] for flaw in before), default=-1) + 1
    targets = _targets(sentence, cue, told, memory) if source else []
    copies = [
        _copy(sentence, flaw, target, cue)
        for target in targets
        for flaw in _of_its_kind(source, target)
        if not same_place(flaw.target.place, target.place)
    ]
    return copies, []


def _of_its_kind(source: Sequence[Flaw], target: Target) -> Sequence[Flaw]:
    """Of some flaws those of the other one of a pair, else those of what was named last."""
    last = source[-1].target.place
    return [flaw for flaw in source if flaw.target.place.part == target.place.part] or [
        flaw for flaw in source if same_place(flaw.target.place, last)
    ]


def _names_one_part(sentence: Sentence, cue: int) -> bool:
    """Whether "that same panel" only names a part again."""
    at = cue + sentence.row[cue].is_word(("the",))
    after = sentence.row[at + 1 : at + 2]
    if sentence.row[at].text == "same" and after and _is_alike_in(after[0]):
        return True  # "the backrest is the same gator"
    if sentence.any_word(cue, cue + 3, _PERSONS):
        return True  # "and so do I"
    same = sentence.row[cue].text == "same" and sentence.any_word(
        cue - 1, cue, ("that", "this", "the")
    )
    return same and bool(after) and after[0].role in ("part", "detail")


def _is_alike_in(item: Item) -> bool:
    """Whether an item is an unknown thing that two have in common: "the same gator"."""
    return is_strange(item) and not item.is_word(_SAMENESS)


def _praises(sentence: Sentence, start: int, stop: int) -> bool:
    """Whether a part is called free of damage between two indexes."""
    return any(
        (item.role == "no_damage" and not mood & Mood.DENIED)
        or (item.role in ("defect", "damage") and bool(mood & Mood.DENIED))
        for item, mood in zip(sentence.row[start:stop], sentence.mood[start:stop], strict=True)
    )


def _copy(sentence: Sentence, flaw: Flaw, target: Target, cue: int) -> Flaw:
    """The flaw at another place: as bad, but neither counted nor measured there."""
    return replace(
        flaw, sentence=sentence.number, target=target, items=[*target.items, cue], count=None,
        size_mm=None, area_pct=None, amount_said=[], qualifiers=list(flaw.qualifiers),
        referred=False, doubted=flaw.doubted or bool(sentence.mood[cue] & Mood.DOUBTED),
    )  # fmt: skip


def _too(sentence: Sentence, stated: Sequence[Flaw]) -> int | None:
    """The cue of "..., and the tail light too": right after a part that no flaw is said of."""
    said_of = {i for flaw in stated for i in flaw.target.items}
    for start, _ in _TOO.find(sentence.flat):
        index = sentence.owner[start]
        groups = [group for group in sentence.parts if group.last < index]
        if not groups or groups[-1].last in said_of:
            continue
        if sentence.any_word(groups[-1].first - _LOOK_REACH, groups[-1].first, _LOOKING):
            continue  # "I had a look at the A-arm too"
        plain = all(
            item.role in ("side", "position", "detail", "number") or item.is_word(_PLAIN)
            for item in sentence.row[groups[-1].last + 1 : index]
        )
        if plain and not any(flaw.items[0] > index for flaw in stated):
            return groups[-1].first
    return None


def _also(sentence: Sentence, stated: Sequence[Flaw]) -> int | None:
    """The cue of "the mirror is scratched, and also the lever, from a fall"."""
    if "also" not in sentence.flat:
        return None
    said_of = {i for flaw in stated for i in flaw.target.items}
    for group in sentence.parts if said_of else ():
        last = sentence.spots[group.first].first - 1
        also = last - sentence.any_word(last, last + 1, ("the",))
        after = sentence.row[group.last + 1 : group.last + 2]
        ends = not after or after[0].is_word((",", "."))
        if also > 0 and sentence.row[also].is_word(("also",)) and ends:
            return also if group.last not in said_of else None
    return None


def _targets(sentence: Sentence, cue: int, told: int, memory: Memory) -> list[Target]:
    """The places that the same is said of: parts after the cue, else before it, else of a pair.

    Up to index `told` the sentence speaks of what the cue refers to.
    """
    after = [  # not of what is praised: "same post, but the right headlight's fine"
        group
        for group in sentence.parts
        if group.first >= cue and not is_praised(sentence.row, group.last)
    ]
    before = [group for group in sentence.parts if told <= group.first and group.last < cue]
    if groups := after or before:
        return [target for group in groups for target in sentence.targets_of(group)]
    if told and sentence.parts:
        last = sentence.targets_of(sentence.parts[-1])[-1].place
    elif memory.focus:
        last = memory.focus[-1]
    else:
        return []
    places = {role: sentence.loose_of(role)[-1:] for role in ("side", "position")}
    if at := [i for found in places.values() for i in found]:
        where = {role: sentence.row[found[0]].id for role, found in places.items() if found}
        basis = {"side_basis": "spoken"} if "side" in where else {}
        return [Target(last.model_copy(update=where | basis), at)]
    other = sentence.cue(_OTHER)
    return [] if other is None else [Target(flipped(last), [other])]
