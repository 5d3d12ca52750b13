"""Which flaws a sentence states."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lexicon.expand import Phrase
from lexicon.load import Lexicon
from pipeline.understand.memory import Memory
from pipeline.understand.mending import MENDED, is_cause, is_planned
from pipeline.understand.mood import Mood
from pipeline.understand.naming import is_strange
from pipeline.understand.pairing import FORM_ENDINGS, Group, Link, best_link, link
from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.placing import implied_targets, stated_targets, with_loose
from pipeline.understand.plain import words
from pipeline.understand.said import Flaw, Target
from pipeline.understand.senses import is_other_sense
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
# "Same again on this one" is said of another thing.
_ANEW = PhraseSet({"same again", "on this one", "on this side", "over here", "this one too"})
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
_MANY_STRANGE, _MANY_FLAWS, _STRONGEST_LINK = 5, 5, 3.3
_INDEFINITE = words("a an")
_AFTER_AN_ATTRIBUTE = (
    ADVERBS
    | FILLERS
    | words("one ones set pair and or but on in for at about roughly around maybe across along")
)
_GOVERNED = words("of from for to against without into out")
_NEUTRAL = ARTICLES | DETERMINERS | ADVERBS
_SUBJECTS = EXISTENTIALS | PRONOUNS | HAVING
_BEFORE_A_PREDICATE = (
    HAVING | ADVERBS | FILLERS | words("a an any no some feel feels felt , : and or")
) - words("i you guys folks")
_BINDING = PREPOSITIONS - LANDMARKS - words("to of up down")
_IT = words("it's it")
_ITS = words("it's it this one is they're they")
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
_LOST = words("lost losing gone given loses")
_DEFINITE = words("the that those")
_POINTING = words("the that this those these same")
_BEFORE_A_HEAD = frozenset(("qualifier", "size", "number", "detail", "part"))
_SOMEBODY = words("somebody someone")
_MENDERS = words("i we you he they somebody someone owner")
_OBJECTS = words("it them that this those")
_INTO_IT = (["in", "it"], ["on", "it"], ["into", "it"], ["to", "it"])
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
        and (not row[i].weak or _is_predicate(row, i) or _is_known_one(sentence, i, memory))
        and not _is_infinitive(row, i)
        and not (i + 1 < len(row) and row[i + 1].is_word(_WARDING))
        and not is_other_sense(row, i)
        and not is_planned(row, i)
        and not is_cause(row, i)
    ]
    if not members:
        return
    found = best_link(row, group, sentence.parts)
    parts = found.parts
    if (
        parts is not None
        and memory.focus
        and (_only_says_where(row, group, parts) or _is_of_it(row, group, parts))
    ):
        parts = None
    again = None if parts else _pointed_at(sentence, members[0], memory)
    if again is not None:
        targets = [Target(again.target.place)]
    elif parts is None and not mood[members[0]] & Mood.EXCEPTED and not _asserts(row, group.first):
        return
    else:
        targets = stated_targets(sentence, group, parts) or implied_targets(sentence, group, memory)
    placed = with_loose(sentence, group, parts, targets)
    before = _unplaced(placed, targets) if _last_is_apart(row, members) else placed
    for index in members:
        for target in placed if index == members[-1] else before:
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
                again=sentence.cue(_AGAIN) is not None and sentence.cue(_ANEW) is None,
                state=_is_state(row, index),
                another=sentence.any_word(index - 4, index, ANOTHER),
                renamed=_is_renamed(row, index),
                clues=_clues(sentence, found if parts else None),
            )


def _last_is_apart(row: Sequence[Item], members: Sequence[int]) -> bool:
    """Whether the last of some flaws is told by itself: "light mildew, and a split at the back"."""
    joint = [item.id for item in row[members[-2] + 1 : members[-1]]] if len(members) > 1 else []
    return joint[:1] == [","] and not {"and", "a", "an"}.isdisjoint(joint)


def _unplaced(placed: list[Target], targets: Sequence[Target]) -> list[Target]:
    """The targets without the position that was said after the flaws."""
    if len(placed) != len(targets):
        return placed
    return [
        Target(own.place.model_copy(update={"position": target.place.position}), own.items)
        for own, target in zip(placed, targets, strict=True)
    ]


def _clues(sentence: Sentence, found: Link | None) -> dict[str, float]:
    """What makes it less sure that a sentence was read aright, each from 0 to 1."""
    flaws = sum(item.role == "defect" for item in sentence.row)
    clues = {
        "strange": min(sum(map(is_strange, sentence.row)) / _MANY_STRANGE, 1.0),
        "crowded": min((flaws - 1) / _MANY_FLAWS, 1.0),
    }
    if found is not None:
        clues["weak_link"] = max(0.0, 1 - found.strength / _STRONGEST_LINK)
    return clues


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
    lost = any(item.is_word(_LOST) for item in row[max(0, index - 7) : index])
    verb = len(before) == 2 and before[1].is_word(("to",)) and not before[0].is_word(_BEGINNING)
    return verb and not lost  # "has lost its finish to rust"


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
    if _is_said_of_a_stranger(row, index):
        return False
    before = row[index - 1] if index else None
    if before is None or before.role != "word" or before.is_word(_BEFORE_A_PREDICATE):
        return True
    if before.is_word(_SOMEBODY):
        roles = [item.role for item in row[index + 1 : index + 3]]  # "somebody cut the seat"
        shaped = any(item.is_word(("out",)) for item in row[index + 3 : index + 4])
        return row[index].id in MENDED or (roles == ["word", "part"] and not shaped)
    if row[index].id not in MENDED:
        return False
    had_it = index > 1 and before.is_word(_OBJECTS) and row[index - 2].is_word(_HAD)
    return had_it or before.is_word(_MENDERS)


def _is_said_of_a_stranger(row: Sequence[Item], index: int) -> bool:
    """Whether an unknown word is what a weak one is said of: "a new value of five"."""
    after = row[index + 1 : index + 2]
    return (
        index > 0
        and row[index - 1].is_word(_INDEFINITE)
        and bool(after)
        and after[0].role == "word"
        and after[0].id.isalpha()
        and not after[0].is_word(_AFTER_AN_ATTRIBUTE)
    )


def _only_says_where(row: Sequence[Item], flaws: Group, parts: Group) -> bool:
    """Whether a part after a flaw only says where on "it" that is: "it's peeling by the badge"."""
    if parts.first < flaws.last:
        return False
    between = row[flaws.last + 1 : parts.first]
    if [item.text for item in between[:2]] in _INTO_IT:
        return not any(item.is_word(("of",)) for item in between)  # "a chip in it, by the cap"
    near = any(item.is_word(LANDMARKS) for item in between) and not any(
        item.is_word(_BINDING) for item in between
    )
    return near and any(item.is_word(_IT) for item in row[: flaws.first])


def _is_of_it(row: Sequence[Item], flaws: Group, parts: Group) -> bool:
    """Whether a flaw is of "it" and a part comes after: "it's scratched, and the pipe is ..."."""
    if parts.first < flaws.last or not flaws.first:
        return False
    start = next((i + 1 for i in range(flaws.first - 1, -1, -1) if row[i].is_word((",",))), 0)
    if not row[start].is_word(_ITS) or any(item.role == "part" for item in row[:start]):
        return False
    small = _ITS | HAVING | ADVERBS | ARTICLES
    if any(row[i].role == "word" and not row[i].is_word(small) for i in range(start, flaws.first)):
        return False
    between = row[flaws.last + 1 : parts.first]
    return any(item.is_word(("and",)) for item in between) and not any(
        item.is_word(("of",)) for item in between
    )


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
    again = sentence.cue(_AGAIN) is not None and sentence.cue(_ANEW) is None
    return again and sentence.any_word(index - 4, index, _POINTING)


def _is_known_one(sentence: Sentence, index: int, memory: Memory) -> bool:
    """Whether a weak flaw word points at a flaw spoken of before: "that bend in the bumper"."""
    known = _is_definite(sentence.row, index) and sentence.row[index].id in memory.latest
    return known or _is_referred(sentence, index)


def _is_definite(row: Sequence[Item], index: int) -> bool:
    """Whether "the" or "that" opens the flaw's noun phrase: likely one spoken of before."""
    strange = 0
    first = max(0, index - 4)
    for at in range(index - 1, first - 1, -1):
        item = row[at]
        if item.is_word(_DEFINITE):
            return True
        if item.role == "part" and row[at + 1].is_word((",", ":")):
            return False  # "the decal, faded"
        if item.role not in _BEFORE_A_HEAD and not item.is_word(ADVERBS):
            strange += 1
            if strange > 1 or not is_strange(item):  # "that walnut dent" has one word of its own
                return False
    return False


def _is_state(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw is told as how one thing is: "the ski is bent", "ski dent", not "a bend"."""
    before = row[index - 1] if index else None
    if before is None or row[index].plural:
        return False
    verb = before.is_word(_COPULAS) or before.is_word(ADVERBS - ARTICLES)
    return before.role == "part" or (verb and row[index].text.endswith(FORM_ENDINGS))


def _is_renamed(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw is but called by its name: "it's a cut", "it is a hairline crack"."""
    before = [item for item in row[max(0, index - 5) : index] if item.role == "word"]
    named = [item.id for item in before[-3:]]
    return named[-2:] == ["it's", "a"] or named == ["it", "is", "a"]


def refers_in_vain(sentence: Sentence, flaws: Sequence[Flaw]) -> bool:
    """Whether a sentence speaks of a flaw "mentioned before" of which no place is known."""
    return (
        sentence.cue(_AGAIN) is not None
        and not flaws
        and not sentence.parts
        and bool(sentence.flaws)
    )
