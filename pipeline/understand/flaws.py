"""Which flaws a sentence states, and of which places."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lexicon.expand import Phrase
from lexicon.load import Lexicon
from pipeline.models import Place
from pipeline.understand.memory import Memory
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group, link
from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.said import Flaw, Target, flipped, same_place
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import (
    ADVERBS,
    AGAIN,
    ANOTHER,
    ARTICLES,
    DETERMINERS,
    EXISTENTIALS,
    FILLERS,
    HAVING,
    LANDMARKS,
    LIST_LINKS,
    OTHER_OF_A_PAIR,
    PLURAL_PRONOUNS,
    PREPOSITIONS,
    PRONOUNS,
    words,
)
from pipeline.understand.terms import Item

_AGAIN = PhraseSet(AGAIN)
_OTHER = PhraseSet(OTHER_OF_A_PAIR)
_CLAUSE_STARTS = words(", . ; : - but")
# What may stand before a flaw in a clause that names no part: anything else tells of another thing.
_ASSERTING = (
    LANDMARKS | ARTICLES | DETERMINERS | ADVERBS | FILLERS | PRONOUNS | EXISTENTIALS | LIST_LINKS
    | PREPOSITIONS | (HAVING - words("started starting starts runs ran comes came"))
    | words("you can see you'll notice i we also will then around over up down where been could "
            "might may be am to oh hey look yes no other same side way spot one ones bit more else "
            "~ not")
) - words("if he she his her my our")  # fmt: skip
_GOVERNED = words("of from for to against without into out")
_NEUTRAL = ARTICLES | DETERMINERS | ADVERBS
_SUBJECTS = EXISTENTIALS | PRONOUNS | HAVING
_BEFORE_A_PREDICATE = (HAVING | ADVERBS | FILLERS | words("a an any no some , : and or")) - words(
    "i you guys folks"
)
_BINDING = PREPOSITIONS - LANDMARKS - words("to of up down")
_IT = words("it's it")
_DEMONSTRATIVES = words("that those this these")
_DEFINITE = words("the that those")
_POINTING = words("the that this those these same again")
_MENDERS = words("i we you he they")
PATCHES = words("patch patches")
_SPILLS = words("grease oil")
_SPILLING = words("tear leak seepage cut crack")
_COMPARING = words("more worse better than")
_NAMING_AGAIN = PREPOSITIONS | words("it's that's mean meaning")
_MENDED = frozenset(("prior_repair", "repaint", "replaced_part", "touch_up"))
_WHY = words("because since cause 'cause")
_PAST = words("had was were used")


def state(sentence: Sentence, group: Group, memory: Memory, lexicon: Lexicon) -> Iterator[Flaw]:
    """The flaws that a group of flaws states, one for each of its places."""
    row, mood = sentence.row, sentence.mood
    members = [
        i
        for i in group.members
        if row[i].role == "defect"
        and not mood[i] & Mood.DENIED
        and (not row[i].weak or _is_predicate(row, i) or _is_referred(sentence, i))
    ]
    if not members:
        return
    parts = link(row, group, sentence.parts)
    if parts is not None and memory.focus and _only_says_where(row, group, parts):
        parts = None
    again = None
    if parts is None and not _asserts(row, group.first):
        again = _pointed_at(row, group.first, memory)
        if again is None:
            return
        targets = [Target(again.target.place)]
    else:
        targets = _stated_targets(sentence, group, parts) or _implied(sentence, group, memory)
    for target in with_loose(sentence, group, parts, targets):
        for index in members:
            yield Flaw(
                sentence=sentence.number,
                defect=_as_said_of(row[index], target.place.part, lexicon),
                target=target,
                items=[index, *target.items],
                doubted=bool(mood[index] & Mood.DOUBTED),
                referred=again is not None or _is_referred(sentence, index),
                definite=_is_definite(row, index),
                another=sentence.any_word(index - 4, index, ANOTHER),
            )


def _pointed_at(row: Sequence[Item], index: int, memory: Memory) -> Flaw | None:
    """The flaw spoken of before that "that gouge" points at."""
    first = index
    while first and (row[first - 1].role == "qualifier" or row[first - 1].is_word(ADVERBS)):
        first -= 1
    pointed = first > 0 and row[first - 1].is_word(_DEMONSTRATIVES)
    return memory.latest.get(row[index].id) if pointed else None


def _stated_targets(sentence: Sentence, group: Group, parts: Group | None) -> list[Target]:
    """The places of the parts; of two names of one, that which says more: "on both skis"."""
    if parts is None:
        return []
    targets = sentence.targets_of(parts)
    if any(target.place.side_basis == "spoken" or target.place.position for target in targets):
        return targets
    named = {target.place.part for target in targets}
    for other in sentence.parts:
        if (
            sentence.any_word(group.last + 1, other.first, _NAMING_AGAIN)
            and other.first > group.last
        ):
            again = sentence.targets_of(other)
            if {target.place.part for target in again} == named:
                return again
    return targets


def _is_predicate(row: Sequence[Item], index: int) -> bool:
    """Whether a weak flaw word ("new", "stuck") is said of a thing: "is new", "new tires"."""
    if index + 1 < len(row) and row[index + 1].role == "part":
        return True
    before = row[index - 1] if index else None
    if before is None or before.role != "word" or before.is_word(_BEFORE_A_PREDICATE):
        return True
    return row[index].id in _MENDED and before.is_word(_MENDERS)


def _only_says_where(row: Sequence[Item], flaws: Group, parts: Group) -> bool:
    """Whether a part after a flaw only says where on "it" that is: "it's peeling by the badge"."""
    if parts.first < flaws.last:
        return False
    between = row[flaws.last + 1 : parts.first]
    near = any(item.is_word(LANDMARKS) for item in between) and not any(
        item.is_word(_BINDING) for item in between
    )
    return near and any(item.is_word(_IT) for item in row[: flaws.first])


def _asserts(row: Sequence[Item], stop: int) -> bool:
    """Whether a flaw with no part in its sentence is said to be there: "it has", "there's a".

    Only little words may stand between the clause's start and the flaw; a strange one ("my dog
    chewed a hole") means that something else is told of.
    """
    start = stop
    while start and not _starts_clause(row, start):
        start -= 1
    spoken = [item for item in row[start:stop] if item.role == "word"]
    content = [item for item in spoken if not item.is_word(_NEUTRAL)]
    if content and content[-1].is_word(_GOVERNED):
        return False
    return all(item.is_word(_ASSERTING) for item in spoken)


def _starts_clause(row: Sequence[Item], index: int) -> bool:
    """Whether a clause starts at an index: after a mark, or after "and" with its own subject."""
    if row[index - 1].is_word(("and",)):
        return row[index].is_word(_SUBJECTS)
    return row[index - 1].is_word(_CLAUSE_STARTS)


def _implied(sentence: Sentence, group: Group, memory: Memory) -> list[Target]:
    """The places that a flaw with no part in its sentence is said of: those last spoken of."""
    if sentence.row[-1].is_word(("?",)) or not memory.has_focus(sentence.number):
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
    row = sentence.row
    heads = [
        other.first
        for other in [*sentence.parts, *sentence.flaws]
        if other.first > group.last and other != parts
    ]
    stop = min(heads, default=len(row))
    loose = [i for i in sentence.loose if not _is_compared(row, i)]
    after = [i for i in loose if group.last < i < stop]
    if parts is None:
        after += [i for i in loose if i < group.first and row[i].role == "side"]
    elif parts.last < group.first:
        after += [i for i in loose if _is_between(sentence, parts, i, group)]
    placed = []
    for target in targets:
        places = [target.place]
        for i in after:
            places = _placed(row, i, places)
        items = [*target.items, *after]
        placed += [Target(place, items) for place in places]
    return placed


def _placed(row: Sequence[Item], index: int, places: list[Place]) -> list[Place]:
    """The places with a side or position that they lack; "front and rear" makes two of one."""
    item = row[index]
    if item.role == "side":
        side = {"side": item.id, "side_basis": "spoken"}
        return [p if p.side_basis == "spoken" else p.model_copy(update=side) for p in places]
    position = {"position": item.id}
    if index > 1 and row[index - 1].is_word(("and",)) and row[index - 2].role == "position":
        return [*places, *(p.model_copy(update=position) for p in places[:1])]
    return [p if p.position else p.model_copy(update=position) for p in places]


def _is_between(sentence: Sentence, parts: Group, index: int, group: Group) -> bool:
    """Whether a place between parts and a later flaw of theirs is not an earlier flaw's."""
    if not parts.last < index < group.first:
        return False
    earlier = [g.last for g in sentence.flaws if parts.last < g.last < index]
    return not earlier or sentence.any_word(earlier[-1] + 1, index, _CLAUSE_STARTS | {"and"})


def _is_compared(row: Sequence[Item], index: int) -> bool:
    """Whether a side only says where it is worse: "pitted, more on the left than the right"."""
    return any(item.is_word(_COMPARING) for item in row[max(0, index - 3) : index])


def _as_said_of(defect: Item, part: str, lexicon: Lexicon) -> Item:
    """The flaw that the word means on this part: "split" is a tear on a seat."""
    phrase = Phrase(defect.text, "defect", defect.id)
    return replace(defect, id=lexicon.defect_on(phrase, part))


def _is_referred(sentence: Sentence, index: int) -> bool:
    """Whether a flaw is one spoken of before: "that dent I mentioned"."""
    return sentence.cue(_AGAIN) is not None and sentence.any_word(index - 4, index, _POINTING)


def _is_definite(row: Sequence[Item], index: int) -> bool:
    """Whether "the" or "that" opens the flaw's noun phrase: likely one spoken of before."""
    for item in reversed(row[max(0, index - 4) : index]):
        if item.is_word(_DEFINITE):
            return True
        if item.role not in ("qualifier", "size", "detail", "part") and not item.is_word(ADVERBS):
            return False
    return False


def refers_in_vain(sentence: Sentence, flaws: Sequence[Flaw]) -> bool:
    """Whether a sentence speaks of a flaw "mentioned before" of which no place is known."""
    return (
        sentence.cue(_AGAIN) is not None
        and not flaws
        and not sentence.parts
        and bool(sentence.flaws)
    )


def without_implied(stated: list[Flaw]) -> list[Flaw]:
    """Leaves out what is but a measure or a mark of another flaw there.

    "Peeling, a patch the size of a quarter" is no repair; the grease round a torn boot no residue.
    """
    return [
        flaw
        for flaw in stated
        if not any(
            _is_implied(flaw, other) and same_place(flaw.target.place, other.target.place)
            for other in stated
        )
    ]


def _is_implied(flaw: Flaw, other: Flaw) -> bool:
    if flaw.defect.text in PATCHES:
        return other.items[0] < flaw.items[0] and other.defect.id not in _MENDED
    return flaw.defect.text in _SPILLS and other.defect.id in _SPILLING


def without_mended(sentence: Sentence, stated: list[Flaw]) -> list[Flaw]:
    """Leaves out flaws told as gone: "it had a crack along the top, that has been repaired".

    Where the flaw was is where the repair is.
    """
    left: list[Flaw] = []
    gone: list[tuple[Flaw, Flaw]] = []
    for flaw in stated:
        mend = None if flaw.defect.id in _MENDED else _mend(sentence, flaw, stated)
        if mend is None:
            left.append(flaw)
        else:
            gone.append((flaw, mend))
    for flaw, mend in gone:
        where = flaw.target.place.position
        if where is not None and mend.target.place.position is None:
            place = mend.target.place.model_copy(update={"position": where})
            mend.target = Target(place, mend.target.items)
    return left


def _mend(sentence: Sentence, flaw: Flaw, stated: Sequence[Flaw]) -> Flaw | None:
    """The repair that did away with a flaw of the past, if there is one."""
    first = flaw.items[0]
    if not sentence.any_word(first - 6, first, _PAST):
        return None
    why = sentence.any_word(first - 6, first, _WHY)
    return next(
        (
            mend
            for mend in stated
            if mend.defect.id in _MENDED
            and (why or mend.items[0] > first)
            and mend.target.place.part == flaw.target.place.part
        ),
        None,
    )
