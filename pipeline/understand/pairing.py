"""Which flaw is said of which part: the links between groups of flaws and groups of parts.

A group is a list with a shared head ("chips, scratches and a dent", "the tank and the fender").
Each group of flaws looks at the nearest group of parts on either side of it; what stands between
says how strong the link is. Strengths are ranks, not probabilities:

    3  the words say so           "a dent in the tank", "the tank has a dent", "cracked mirror"
    2  they stand together        "left mirror, scratched"
    1  same sentence, no more     only where nothing better is in reach
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from lexicon.expand import OTHER
from pipeline.understand.plain import words
from pipeline.understand.talk import (
    ADVERBS,
    ARTICLES,
    DETERMINERS,
    FILLERS,
    HAVING,
    LANDMARKS,
    LIST_LINKS,
    PREPOSITIONS,
)
from pipeline.understand.terms import Item

_BREAKS = words("but though however while whereas ; although yet")
_MARKS = words(", : - – — …")
_FLAW_NEUTRAL_ROLES = frozenset(("qualifier", "number", "size", "area", "detail"))
_PART_NEUTRAL_ROLES = frozenset(("side", "position", "detail", "number"))
_FLAW_NEUTRAL_WORDS = (LIST_LINKS | ARTICLES | DETERMINERS | ADVERBS | FILLERS) - words("it's")
_PART_NEUTRAL_WORDS = LIST_LINKS | DETERMINERS | FILLERS | words("on in of at to")
_JOINS = words("and or plus & , nor then also")
_BINDING = (PREPOSITIONS | LANDMARKS) - words("from for")
_BINDERS = DETERMINERS | words("right just up down over of there here")
_TOWARDS = _BINDERS | words("to")
_BESIDE = LANDMARKS - words("around where round against")
_FIRM = PREPOSITIONS - LANDMARKS - words("to of")
_PAUSES = words("the uh um so")
_COPULAS = words(
    "is are 's was were been being it's they're that's looks look seems feels got gets isn't"
)
_EXISTING = words("there's there there're here's it's that's")
_OBJECTS = words("it them that there here these those him her me")
_SUBJECT_BREAKS = words("and or plus")
# A participle or adjective names its part right after it: "cracked mirror", "bent lever".
# "Oil from the fork seal" is the seal's, "residue from a sticker" is not the sticker's.
_SOURCES = words("from for off")
_FLUIDS = frozenset(("leak", "seepage"))
_PARTICIPLE_ENDINGS = ("ed", "en", "nt", "rn")
_FORM_ENDINGS = ("ed", "y", "en", "nt", "rn", "ing")


@dataclass(frozen=True, slots=True)
class Group:
    """Indexes, in their row, of items that share a head; always at least one."""

    members: tuple[int, ...]

    @property
    def first(self) -> int:
        """Index of the first member."""
        return self.members[0]

    @property
    def last(self) -> int:
        """Index of the last member."""
        return self.members[-1]


def flaw_groups(row: Sequence[Item]) -> list[Group]:
    """The groups of flaws of a sentence, in order."""
    return _groups(row, _indexes(row, ("defect", "damage")), _joins_flaws)


def part_groups(row: Sequence[Item]) -> list[Group]:
    """The groups of parts of a sentence, in order.

    "A dent on the tank, and the fender is rusty": the fender starts a group of its own, since a
    verb makes it the subject of a new flaw.
    """
    heads = [
        i
        for i in _indexes(row, ("part",))
        if not is_landmark(row, i)
        and not _is_piece_of_one_named(row, i)
        and not _stands_by(row, i)
        and not _only_meets(row, i)
        and not _is_topic_of_a_pair(row, i)
    ]
    groups = _groups(row, heads, _joins_parts)
    flaws = _indexes(row, ("defect", "no_damage", "damage"))
    split: list[Group] = []
    for group in groups:
        before = [i for i in flaws if i < group.first]
        after = [i for i in flaws if i > group.last]
        subject = (
            len(group.members) > 1
            and before
            and after
            and _linked_by_preposition(row[before[-1] + 1 : group.first])
            and _verb_follows(row[group.last + 1 : after[0]])
        )
        if subject or _is_new_subject(row, group, after):
            split += [Group(group.members[:-1]), Group(group.members[-1:])]
        else:
            split.append(group)
    return split


def _is_new_subject(row: Sequence[Item], group: Group, after: Sequence[int]) -> bool:
    """Whether ", and the boot is torn" starts anew: a comma before "and", one thing in the verb."""
    if len(group.members) < 2 or not after:
        return False
    joint = row[group.members[-2] + 1 : group.last]
    verb = row[group.last + 1] if group.last + 1 < len(row) else None
    comma = bool(joint) and joint[0].is_word((",",))
    comma_and = comma and len(joint) > 1 and joint[1].is_word(("and",))
    topic = comma and len(group.members) == 2 and _opens_with_a_place(row, group.first)
    return (comma_and or topic) and verb is not None and verb.is_word(("is", "has", "'s", "was"))


def _opens_with_a_place(row: Sequence[Item], index: int) -> bool:
    """Whether a part is where the speaker goes first: "moving up to the bars, ..."."""
    before = row[:index]
    return any(item.is_word(PREPOSITIONS) for item in before) and not any(
        item.role == "defect" for item in before
    )


def is_landmark(row: Sequence[Item], index: int) -> bool:
    """Whether a part only says where another is: "the badge on the trunk"."""
    before = next((i for i in range(index - 1, -1, -1) if row[i].role == "part"), None)
    if before is None:
        return False
    between = row[before + 1 : index]
    prepositions = [i for i in between if i.is_word(_BINDING)]
    return 0 < len(prepositions) <= 2 and all(
        item.is_word(_BINDING | _BINDERS) or item.role in ("side", "position", "detail")
        for item in between
    )


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
    return bool(between) and all(
        item.role in ("side", "position") or item.is_word(_PAUSES) for item in between
    )


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
    return _is_predicate(row, subject, flaw)


def _is_predicate(row: Sequence[Item], part: int, flaw: int) -> bool:
    """Whether a flaw is said of a part by a verb alone: "the heat shield is loose"."""
    between = row[part + 1 : flaw]
    has = any(item.is_word(("got",)) for item in between)
    if has and not row[flaw].text.endswith(_PARTICIPLE_ENDINGS):
        return False  # "has got scuffing"
    return (
        bool(between)
        and between[0].is_word(_COPULAS)
        and not row[flaw - 1].is_word(ARTICLES)
        and all(
            item.is_word(_COPULAS | ADVERBS | FILLERS) or item.role == "qualifier"
            for item in between
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
    return not any(item.role in ("side", "position") for item in around)


def link(row: Sequence[Item], flaws: Group, parts: Sequence[Group]) -> Group | None:
    """The parts that a group of flaws is said of; None where the sentence names none in reach."""
    left = next((g for g in reversed(parts) if g.last < flaws.first), None)
    right = next((g for g in parts if g.first > flaws.last), None)
    left_strength = _left_strength(row, left, flaws) if left else 0.0
    right_strength = _right_strength(row, flaws, right) if right else 0.0
    if max(left_strength, right_strength) <= 0:
        return None
    return left if left_strength >= right_strength else right


def _indexes(row: Sequence[Item], roles: Sequence[str]) -> list[int]:
    return [i for i, item in enumerate(row) if item.role in roles]


def _groups(
    row: Sequence[Item], indexes: Sequence[int], joins: Callable[[Sequence[Item]], bool]
) -> list[Group]:
    groups: list[list[int]] = []
    for index in indexes:
        if groups and joins(row[groups[-1][-1] + 1 : index]):
            groups[-1].append(index)
        else:
            groups.append([index])
    return [Group(tuple(members)) for members in groups]


def _joins_flaws(between: Sequence[Item]) -> bool:
    if not between:
        return True
    return any(item.is_word(_JOINS) for item in between) and all(
        item.role in _FLAW_NEUTRAL_ROLES or item.is_word(_FLAW_NEUTRAL_WORDS) for item in between
    )


def _joins_parts(between: Sequence[Item]) -> bool:
    return any(item.is_word(_JOINS) or item.text == "as well as" for item in between) and all(
        item.role in _PART_NEUTRAL_ROLES or item.is_word(_PART_NEUTRAL_WORDS) for item in between
    )


def _linked_by_preposition(between: Sequence[Item]) -> bool:
    return any(item.is_word(PREPOSITIONS) for item in between)


def _verb_follows(between: Sequence[Item]) -> bool:
    return any(item.is_word(HAVING) and item.id != "with" for item in between)


def _left_strength(row: Sequence[Item], parts: Group, flaws: Group) -> float:
    """How strongly flaws are said of parts that stand before them."""
    between = row[parts.last + 1 : flaws.first]
    strength = 2.0
    if _is_predicate(row, parts.last, flaws.first):
        strength = 3.3  # "the heat shield is loose on the pipe" is said of the heat shield
    elif any(item.is_word(HAVING) for item in between):
        strength = 3.0
    elif not between:
        strength = 2.8
    elif any(item.is_word(_MARKS) for item in between):
        strength = 2.2
    if any(item.is_word(_BREAKS) for item in between):
        strength -= 1.2
    goes_on = len(between) > 1 and between[1].is_word(HAVING) and not between[1].is_word(_EXISTING)
    if any(item.is_word(_SUBJECT_BREAKS) for item in between[:1]) and not goes_on:
        strength -= 1.2
    others = sum(item.role in ("defect", "no_damage") for item in between)
    # The sentence has gone on to another flaw: "dust on the dash, and a crack ..."
    return strength - 0.5 * others


def _right_strength(row: Sequence[Item], flaws: Group, parts: Group) -> float:
    """How strongly flaws are said of parts that stand after them."""
    between = row[flaws.last + 1 : parts.first]
    if any(item.role in ("no_damage",) for item in between):
        return 0.3
    breaks = any(item.is_word(_BREAKS) for item in between)
    binding = PREPOSITIONS | LANDMARKS
    if row[flaws.last].id not in _FLUIDS:
        binding -= _SOURCES
    # A preposition before a mark or "and" belongs to what stands there: "at the tip, and the tank".
    breaks_at = [i for i, item in enumerate(between) if item.is_word(_MARKS | _SUBJECT_BREAKS)]
    close = between[breaks_at[-1] + 1 if breaks_at else 0 :]
    preposition = next(
        (
            item
            for item, after in pairwise([*close, row[parts.first]])
            if item.is_word(binding) and not after.is_word(_OBJECTS)  # "a hole in it"
        ),
        None,
    )
    if preposition is not None and not breaks:
        near = preposition.is_word(LANDMARKS) and not any(item.is_word(_FIRM) for item in between)
        marked = any(item.is_word(_MARKS | _SUBJECT_BREAKS) for item in between)
        return 2.1 if near else (2.6 if marked else 3.2)
    plain = all(
        item.role in ("side", "position", "qualifier", "detail") or item.is_word(DETERMINERS)
        for item in between
    )
    if plain and row[flaws.last].text.endswith(_FORM_ENDINGS):
        return 3.1 if not between else 2.5
    if breaks or any(item.is_word(_SUBJECT_BREAKS) for item in between):
        return 0.6
    return 1.2
