"""Which flaws a sentence states."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lexicon.expand import Phrase
from lexicon.load import Lexicon
from pipeline.understand.memory import Memory
from pipeline.understand.mending import MENDED, is_cause, is_planned
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import FORM_ENDINGS, Group, link
from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.placing import implied_targets, stated_targets, with_loose
from pipeline.understand.plain import words
from pipeline.understand.said import Flaw, Target
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
    PREPOSITIONS,
    PRONOUNS,
    SAME,
)
from pipeline.understand.terms import Item

_AGAIN = PhraseSet(AGAIN)
_SAME = PhraseSet(SAME)
_OTHER = PhraseSet(OTHER_OF_A_PAIR)
_CLAUSE_STARTS = words(", . ; : - but")
# What may stand before a flaw in a clause that names no part: anything else tells of another thing.
_ASSERTING = (
    LANDMARKS | ARTICLES | DETERMINERS | ADVERBS | FILLERS | PRONOUNS | EXISTENTIALS | LIST_LINKS
    | PREPOSITIONS | (HAVING - words("started starting starts runs ran comes came"))
    | words("you can see you'll notice i we also will then around over up down where been could "
            "might may be am to oh hey look yes no other same side way spot one ones bit more else "
            "~ not about hence therefore thus")
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
# "Scratch-resistant", "leak-proof".
_WARDING = words("resistant proof")
# Flaws that one speaker may call by two names.
_KIN = (
    words("scratch scuff chip gouge"), words("peeling flaking"), words("dent bent"),
    words("rust corrosion pitting oxidation"), words("leak seepage"), words("crack broken"),
    words("tear cut hole worn_through"), words("fading discoloration hazing"),
)  # fmt: skip
_MODALS = words(
    "could can would will should gonna it'll they'll that'll you'll you'd it'd he'd she'd "
    "they'd we'd i'd might may"
)
_BARE_VERBS = words(
    "scratch scuff chip peel flake blister rust dent gouge crack tear rip cut leak drip seep weep "
    "fade stain melt burn bend rub split"
)
_BEGINNING = words("starting started starts start beginning begun begins began down worn through")
_DEFINITE = words("the that those")
_POINTING = words("the that this those these same again")
_MENDERS = words("i we you he they somebody someone owner")
_OBJECTS = words("it them that this those")
_COPULAS = words("is are 's was it's that's looks look got")
_HAD = words("had have got get having getting")


def state(sentence: Sentence, group: Group, memory: Memory, lexicon: Lexicon) -> Iterator[Flaw]:
    """The flaws that a group of flaws states, one for each of its places."""
    row, mood = sentence.row, sentence.mood
    members = [
        i
        for i in group.members
        if row[i].role == "defect"
        and not mood[i] & Mood.DENIED
        and (not row[i].weak or _is_predicate(row, i) or _is_referred(sentence, i))
        and not _is_infinitive(row, i)
        and not (i + 1 < len(row) and row[i + 1].is_word(_WARDING))
        and not is_planned(row, i)
        and not is_cause(row, i)
    ]
    if not members:
        return
    parts = link(row, group, sentence.parts)
    if parts is not None and memory.focus and _only_says_where(row, group, parts):
        parts = None
    again = None if parts else _pointed_at(sentence, members[0], memory)
    if again is not None:
        targets = [Target(again.target.place)]
    elif parts is None and not _asserts(row, group.first):
        return
    else:
        targets = stated_targets(sentence, group, parts) or implied_targets(sentence, group, memory)
    for target in with_loose(sentence, group, parts, targets):
        for index in members:
            referred = again is not None or _is_referred(sentence, index)
            defect = _as_said_of(row[index], target.place.part, lexicon)
            yield Flaw(
                sentence=sentence.number,
                defect=_as_known(defect, target.place.part, memory) if referred else defect,
                target=target,
                items=[index, *target.items],
                doubted=bool(mood[index] & Mood.DOUBTED),
                referred=referred,
                definite=_is_definite(row, index),
                again=sentence.cue(_AGAIN) is not None,
                state=_is_state(row, index),
                another=sentence.any_word(index - 4, index, ANOTHER),
            )


def recall(sentence: Sentence, memory: Memory) -> Iterator[Flaw]:
    """The known flaws that a sentence speaks of again without stating them.

    "Don't let that dent in the tank scare you", "that mark on the fairing I showed you".
    """
    row, mood = sentence.row, sentence.mood
    for index, item in enumerate(row):
        unstated = item.role == "defect" and mood[index] & (Mood.DENIED | Mood.IMAGINED)
        if not unstated and not (item.role == "damage" and _is_referred(sentence, index)):
            continue
        parts = link(row, Group((index,)), sentence.parts)
        if parts is None or not _is_definite(row, index):
            continue
        named = {target.place.part for target in sentence.targets_of(parts)}
        known = memory.last_known(item.id if unstated else None, named)
        if known is not None:
            yield Flaw(
                sentence=sentence.number,
                defect=replace(known.defect, start=item.start, end=item.end, text=item.text),
                target=Target(known.target.place, list(parts.members)),
                items=[index, *parts.members],
                definite=True,
            )


def _is_infinitive(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw's word is a verb not done: "tried to peel it", "it'll leak"."""
    before = row[max(0, index - 2) : index]
    if before and before[-1].is_word(_MODALS) and row[index].text in _BARE_VERBS:
        return True
    return len(before) == 2 and before[1].is_word(("to",)) and not before[0].is_word(_BEGINNING)


def _pointed_at(sentence: Sentence, index: int, memory: Memory) -> Flaw | None:
    """The flaw spoken of before that "that gouge" or "the tear I mentioned" points at."""
    row = sentence.row
    first = index
    while first and (row[first - 1].role == "qualifier" or row[first - 1].is_word(ADVERBS)):
        first -= 1
    pointed = first > 0 and row[first - 1].is_word(_DEMONSTRATIVES)
    if pointed or _is_referred(sentence, index):
        return memory.latest.get(row[index].id)
    return None


def _is_predicate(row: Sequence[Item], index: int) -> bool:
    """Whether a weak flaw word ("new", "stuck") is said of a thing: "is new", "new tires"."""
    if index + 1 < len(row) and row[index + 1].role == "part":
        return True
    before = row[index - 1] if index else None
    if before is None or before.role != "word" or before.is_word(_BEFORE_A_PREDICATE):
        return True
    if row[index].id not in MENDED:
        return False
    had_it = index > 1 and before.is_word(_OBJECTS) and row[index - 2].is_word(_HAD)
    return had_it or before.is_word(_MENDERS)


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


def _as_said_of(defect: Item, part: str, lexicon: Lexicon) -> Item:
    """The flaw that the word means on this part: "split" is a tear on a seat."""
    phrase = Phrase(defect.text, "defect", defect.id)
    return replace(defect, id=lexicon.defect_on(phrase, part))


def _as_known(defect: Item, part: str, memory: Memory) -> Item:
    """The flaw spoken of before in other words: "that scrape I mentioned" was a scuff."""
    if memory.last_known(defect.id, (part,)) is not None:
        return defect
    kin = next((ids for ids in _KIN if defect.id in ids), frozenset[str]())
    known = memory.last_known(None, (part,))
    return replace(defect, id=known.defect.id) if known and known.defect.id in kin else defect


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


def _is_state(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw is told as how one thing is: "the ski is bent", "ski dent", not "a bend"."""
    before = row[index - 1] if index else None
    if before is None or row[index].plural:
        return False
    verb = before.is_word(_COPULAS) or before.is_word(ADVERBS - ARTICLES)
    return before.role == "part" or (verb and row[index].text.endswith(FORM_ENDINGS))


def refers_in_vain(sentence: Sentence, flaws: Sequence[Flaw]) -> bool:
    """Whether a sentence speaks of a flaw "mentioned before" of which no place is known."""
    return (
        sentence.cue(_AGAIN) is not None
        and not flaws
        and not sentence.parts
        and bool(sentence.flaws)
    )
