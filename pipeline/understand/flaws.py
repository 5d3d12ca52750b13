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
from pipeline.understand.said import Flaw, Target, flipped
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
_BEFORE_A_PREDICATE = HAVING | ADVERBS | FILLERS | words("a an any no some , : and or")
_BINDING = PREPOSITIONS - LANDMARKS - words("to of up down")
_IT = words("it's it")
_DEFINITE = words("the that those")
_POINTING = words("the that this those these same again")
_MENDED = frozenset(("prior_repair", "repaint", "replaced_part", "touch_up"))
_PAST = words("had was were used")


def state(sentence: Sentence, group: Group, memory: Memory, lexicon: Lexicon) -> Iterator[Flaw]:
    """The flaws that a group of flaws states, one for each of its places."""
    row, mood = sentence.row, sentence.mood
    members = [
        i
        for i in group.members
        if row[i].role == "defect"
        and not mood[i] & Mood.DENIED
        and not (row[i].weak and not _is_predicate(row, i))
    ]
    if not members:
        return
    parts = link(row, group, sentence.parts)
    if parts is not None and memory.focus and _only_says_where(row, group, parts):
        parts = None
    if parts is None and not _asserts(row, group.first):
        return
    targets = sentence.targets_of(parts) if parts else _implied(sentence, group, memory)
    for target in with_loose(sentence, group, parts, targets):
        for index in members:
            yield Flaw(
                sentence=sentence.number,
                defect=_as_said_of(row[index], target.place.part, lexicon),
                target=target,
                items=[index, *target.items],
                doubted=bool(mood[index] & Mood.DOUBTED),
                referred=_is_referred(sentence, index),
                definite=_is_definite(row, index),
                another=sentence.any_word(index - 4, index, ANOTHER),
            )


def _is_predicate(row: Sequence[Item], index: int) -> bool:
    """Whether a weak flaw word ("new", "stuck") is said of a thing: "is new", "new tires"."""
    if index + 1 < len(row) and row[index + 1].role == "part":
        return True
    before = row[index - 1] if index else None
    return before is None or before.role != "word" or before.is_word(_BEFORE_A_PREDICATE)


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
    heads = [g.first for g in [*sentence.parts, *sentence.flaws] if g.first > group.last]
    stop = min(heads, default=len(row))
    after = [i for i in sentence.loose if group.last < i < stop]
    if parts is None:
        after += [i for i in sentence.loose_of("side") if i < group.first]
    elif parts.last < group.first:
        after += [i for i in sentence.loose if parts.last < i < group.first]
    placed = []
    for target in targets:
        place, items = target.place, list(target.items)
        for i in after:
            if row[i].role == "side" and place.side_basis != "spoken":
                place = place.model_copy(update={"side": row[i].id, "side_basis": "spoken"})
                items.append(i)
            elif row[i].role == "position" and place.position is None:
                place = place.model_copy(update={"position": row[i].id})
                items.append(i)
        placed.append(Target(place, items))
    return placed


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


def without_mended(sentence: Sentence, stated: list[Flaw]) -> list[Flaw]:
    """Leaves out flaws told as gone: "it had a crack, that has been repaired"."""
    mended = [flaw for flaw in stated if flaw.defect.id in _MENDED]

    def is_gone(flaw: Flaw) -> bool:
        first = flaw.items[0]
        return sentence.any_word(first - 6, first, _PAST) and any(
            later.items[0] > first and later.target.place.part == flaw.target.place.part
            for later in mended
        )

    return [flaw for flaw in stated if flaw.defect.id in _MENDED or not is_gone(flaw)]
