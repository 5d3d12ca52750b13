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
from typing import NamedTuple

from pipeline.understand.heads import heads, is_predicate
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
_PART_NEUTRAL_WORDS = (LIST_LINKS | DETERMINERS | FILLERS | words("on in of at to")) - words("so")
_JOINS = words("and or plus & , nor then also")
_WITHIN = words("in on")
_THE = words("the a an this that his")
_FIRM = PREPOSITIONS - LANDMARKS - words("to of")
_ATTRIBUTES = frozenset(("new", "brand new", "newer", "aftermarket"))
_ON = words("on in at")
_PRAISING = words("with about on")
_EXISTING = words("there's there there're here's it's that's")
_OBJECTS = words("it them that there here these those him her me")
_SUBJECT_BREAKS = words("and or plus")
# A participle or adjective names its part right after it: "cracked mirror", "bent lever".
# "Oil from the fork seal" is the seal's, "residue from a sticker" is not the sticker's.
_SOURCES = words("from for off")
_FLUIDS = frozenset(("leak", "seepage"))
FORM_ENDINGS = ("ed", "y", "en", "nt", "rn", "ing")
# What a thing does or does not do: "and the shifter sticks".
_ACTS = words("sticks leaks weeps rattles wobbles binds drags squeaks doesn't don't won't isn't 's")
# "The paint's flaking off the stand", "on the wheel there's a loose spoke".
_BEFORE_ITS_PART = (*FORM_ENDINGS, " off", "loose", "stuck", "bald", "dull", "dead")


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


# What a part is made of, where both have a name of their own.
_PIECES = {
    "wheel": frozenset(("spokes", "rim", "hub", "valve_stem")),
    "fork": frozenset(("fork_seal", "fork_boot")),
}
_COUNTED = frozenset(("number", "side", "position", "qualifier"))
_BARE = words(", the a some few")


def flaw_groups(row: Sequence[Item]) -> list[Group]:
    """The groups of flaws of a sentence, in order."""
    flaws = _indexes(row, ("defect", "damage"))
    return _groups(flaws, lambda one, other: _joins_flaws(row, one, other))


def part_groups(row: Sequence[Item]) -> list[Group]:
    """The groups of parts of a sentence, in order.

    "A dent on the tank, and the fender is rusty": the fender starts a group of its own, since a
    verb makes it the subject of a new flaw.
    """
    groups = _groups(heads(row), lambda one, other: _joins_parts(row[one + 1 : other]))
    flaws = _indexes(row, ("defect", "no_damage", "damage"))
    split: list[Group] = []
    for group in groups:
        before = [i for i in flaws if i < group.first]
        after = [i for i in flaws if i > group.last]
        subject = (
            len(group.members) > 1
            and before
            and after
            and _is_linked(row[before[-1] + 1 : group.first])
            and (
                _verb_follows(row[group.last + 1 : after[0]])
                or is_praised(row, group.last)
                or _is_acting(row[group.last + 1])
            )
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
    if names_a_piece(row, *group.members[-2:]):
        return True
    if verb is None:
        return False
    return (comma_and or topic) and (_is_acting(verb) or verb.is_word(("is", "has", "'s", "was")))


def names_a_piece(row: Sequence[Item], whole: int, piece: int) -> bool:
    """Whether a part is only named for a piece of it: "rear wheel, two spokes loose"."""
    joint = row[whole + 1 : piece]
    own = row[piece].id in _PIECES.get(row[whole].id, ())
    bare = all(item.role in _COUNTED or item.is_word(_BARE) for item in joint)
    return own and bool(joint) and bare


def _opens_with_a_place(row: Sequence[Item], index: int) -> bool:
    """Whether a part is where the speaker goes first: "moving up to the bars, ..."."""
    before = row[:index]
    return any(item.is_word(PREPOSITIONS) for item in before) and not any(
        item.role == "defect" for item in before
    )


class Link(NamedTuple):
    """The parts that a group of flaws is said of, if any, and how strongly."""

    parts: Group | None
    strength: float


def best_link(row: Sequence[Item], flaws: Group, parts: Sequence[Group]) -> Link:
    """The strongest link of a group of flaws to parts of its sentence."""
    before = (g for g in reversed(parts) if g.last < flaws.first)
    left = next(before, None)
    if left is not None and _is_source(row, left.first):
        left = next(before, left)
    right = next((g for g in parts if g.first > flaws.last), None)
    left_strength = _left_strength(row, left, flaws) if left else 0.0
    right_strength = _right_strength(row, flaws, right) if right else 0.0
    best = left if left_strength >= right_strength else right
    strength = max(left_strength, right_strength)
    return Link(best if strength > 0 else None, strength)


def _is_source(row: Sequence[Item], part: int) -> bool:
    """Whether a flaw before comes from a part: "wear from the chain rubbing"."""
    start = part
    while start and (row[start - 1].role in ("side", "position") or row[start - 1].is_word(_THE)):
        start -= 1
    return start > 1 and row[start - 1].is_word(("from",)) and row[start - 2].role == "defect"


def link(row: Sequence[Item], flaws: Group, parts: Sequence[Group]) -> Group | None:
    """The parts that a group of flaws is said of; None where the sentence names none in reach."""
    return best_link(row, flaws, parts).parts


def _indexes(row: Sequence[Item], roles: Sequence[str]) -> list[int]:
    return [i for i, item in enumerate(row) if item.role in roles]


def _groups(indexes: Sequence[int], joins: Callable[[int, int], bool]) -> list[Group]:
    groups: list[list[int]] = []
    for index in indexes:
        if groups and joins(groups[-1][-1], index):
            groups[-1].append(index)
        else:
            groups.append([index])
    return [Group(tuple(members)) for members in groups]


def _joins_flaws(row: Sequence[Item], one: int, other: int) -> bool:
    """Whether two flaws make a list; "doesn't work, four dents in the tunnel" is none."""
    between = row[one + 1 : other]
    if not between:
        return True
    if _is_acting(row[one]) and row[other].plural:
        return False
    if between[-1].is_word(("that", "those")):
        return False  # "the winch doesn't work, and that crack in the hood ..."
    return any(item.is_word(_JOINS) for item in between) and all(
        item.role in _FLAW_NEUTRAL_ROLES or item.is_word(_FLAW_NEUTRAL_WORDS) for item in between
    )


def _joins_parts(between: Sequence[Item]) -> bool:
    return any(item.is_word(_JOINS) or item.text == "as well as" for item in between) and all(
        item.role in _PART_NEUTRAL_ROLES
        or item.is_word(_PART_NEUTRAL_WORDS)
        or (item.role == "qualifier" and after.is_word(_ON))  # "chain, and a bit on the stand"
        for item, after in pairwise([*between, between[-1]])
    )


def _is_linked(between: Sequence[Item]) -> bool:
    """Whether a part belongs to the flaw before it: "torn grip", "a tear in the left grip"."""
    return not between or any(item.is_word(PREPOSITIONS) for item in between)


def _is_acting(item: Item) -> bool:
    """Whether a flaw is told by what a part does: "sticks", "doesn't work", "'s missing"."""
    return item.role == "defect" and item.text.split(" ")[0] in _ACTS


def _verb_follows(between: Sequence[Item]) -> bool:
    return any(item.is_word(HAVING) and item.id != "with" for item in between)


def is_praised(row: Sequence[Item], part: int) -> bool:
    """Whether a part is the subject of praise: "and the fender looks great"."""
    after = row[part + 1 : part + 2]
    return bool(after) and after[0].role == "no_damage" and after[0].text.split(" ")[0] in HAVING


def _left_strength(row: Sequence[Item], parts: Group, flaws: Group) -> float:
    """How strongly flaws are said of parts that stand before them."""
    between = row[parts.last + 1 : flaws.first]
    strength = 2.0
    if is_predicate(row, parts.last, flaws.first):
        strength = 3.3  # "the heat shield is loose on the pipe" is said of the heat shield
    elif any(item.is_word(HAVING) for item in between):
        strength = 3.0
    elif _is_fronted(row, parts, flaws):
        strength = 2.7
    elif not between:
        # "There's a badge missing on the hood" is said of the badge.
        strength = 3.3 if row[flaws.first].id == "missing" else 2.8
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


def _comes_from(between: Sequence[Item]) -> bool:
    """Whether what stands before a part says that a flaw only comes from it."""
    said = [item for item in between if item.role != "side" and not item.is_word(DETERMINERS)]
    return len(said) > 1 and said[-1].is_word(("from",)) and said[0].is_word(("in", "on"))


def _is_fronted(row: Sequence[Item], parts: Group, flaws: Group) -> bool:
    """Whether parts open a clause as the place of flaws: "and on the rear fender, a chip"."""
    between = row[parts.last + 1 : flaws.first]
    if not between or not between[0].is_word((",",)):
        return False
    first = parts.first
    while first and (
        row[first - 1].role in ("side", "position") or row[first - 1].is_word(("the",))
    ):
        first -= 1
    if not first or not row[first - 1].is_word(("on", "in", "at")):
        return False
    opens = first == 1 or row[first - 2].is_word(_MARKS | _SUBJECT_BREAKS | {".", "then"})
    return opens and all(
        item.is_word(ARTICLES) or item.role in _FLAW_NEUTRAL_ROLES for item in between[1:]
    )


def _is_governed(between: Sequence[Item]) -> bool:
    """Whether a part is what praise is "with" or "about", by the words between the two."""
    return (
        bool(between)
        and between[0].is_word(_PRAISING)
        and all(
            item.role in _PART_NEUTRAL_ROLES or item.is_word(DETERMINERS) for item in between[1:]
        )
    )


def _fronts(row: Sequence[Item], parts: Group) -> bool:
    """Whether a flaw of its own comes right after a part: "in the impeller a ding"."""
    after = row[parts.last + 1 : parts.last + 4]
    own = next((item for item in after[1:] if item.role not in _FLAW_NEUTRAL_ROLES), None)
    opens = bool(after) and (after[0].is_word(ARTICLES) or after[0].role == "number")
    return opens and own is not None and own.role == "defect"


def _reaches(praise: Item, between: Sequence[Item]) -> bool:
    """Whether praise that ends in a preposition and an article is of the part next to it."""
    placed = all(item.role in ("side", "position") for item in between)
    return placed and praise.text.endswith((" on the", " on that", " on this"))


def _right_strength(row: Sequence[Item], flaws: Group, parts: Group) -> float:
    """How strongly flaws are said of parts that stand after them."""
    between = row[flaws.last + 1 : parts.first]
    # "Swirls in it, and the mirror ..."
    of_it = len(between) > 2 and between[0].is_word(_WITHIN) and between[1].is_word(_OBJECTS)
    # "He scratched it loading it on the trailer."
    done = row[flaws.last].text.endswith("ed")
    of_it |= done and bool(between) and between[0].is_word(("it", "them"))
    if of_it or any(item.role == "no_damage" for item in between):
        return 0.3
    praises = row[flaws.last].role == "no_damage"
    if praises and (_is_governed(between) or _reaches(row[flaws.last], between)):
        return 3.5  # "nothing wrong with the handlebar", "nothing on the rear fender"
    breaks = any(item.is_word(_BREAKS) for item in between)
    binding = PREPOSITIONS | LANDMARKS
    if row[flaws.last].id not in _FLUIDS:
        binding -= _SOURCES
    # A preposition before a mark or "and" belongs to what stands there: "at the tip, and the tank".
    breaks_at = [i for i, item in enumerate(between) if item.is_word(_MARKS | _SUBJECT_BREAKS)]
    close = between[breaks_at[-1] + 1 if breaks_at else 0 :]
    if breaks_at and _fronts(row, parts):
        return 0.6  # "some corrosion, and in the impeller a ding"
    bound = [
        item
        for item, after in pairwise([*close, row[parts.first]])
        if item.is_word(binding) and not after.is_word(_OBJECTS)  # "a hole in it"
    ]
    fluid = row[flaws.last].id in _FLUIDS
    if not fluid and _comes_from(close):
        bound = []  # "chips in its paint from the chain"
    # The talk has gone on to another flaw: "doesn't work, and that crack in the hood".
    others = sum(item.role == "defect" for item in close)
    passed = praises and bool(breaks_at)  # "the lamp, spotless, and in the fairing ..."
    if bound and not breaks and not others and not passed:
        near = bound[0].is_word(LANDMARKS) and not any(item.is_word(_FIRM) for item in bound)
        marked = any(item.is_word(_MARKS | _SUBJECT_BREAKS) for item in between)
        # "Rust from riding to the cottage on an open trailer."
        marked |= not fluid and any(item.is_word(("from",)) for item in close[:-2])
        return 2.1 if near else (2.6 if marked else 3.2)
    plain = all(
        item.role in ("side", "position", "qualifier", "detail") or item.is_word(DETERMINERS)
        for item in between
    )
    attribute = not between and row[flaws.last].text in _ATTRIBUTES  # "new tires, new chain"
    if attribute or (plain and row[flaws.last].text.endswith(_BEFORE_ITS_PART)):
        acts = bool(between) and between[0].is_word(("the", "this", "that", "my", "his"))
        return 3.1 if not between or acts else 2.5  # "the hook scratched the fender"
    apart = breaks or any(item.is_word(_SUBJECT_BREAKS) for item in between)
    return 0.6 if apart else 1.2
