"""Which parts a sentence calls free of damage, in general or of one flaw."""

from collections.abc import Iterator, Sequence

from pipeline.models import Place
from pipeline.understand.memory import Memory
from pipeline.understand.mending import GLUES, MENDED
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group, link
from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.placing import with_loose
from pipeline.understand.plain import words
from pipeline.understand.said import Clean, Flaw, Target, flipped, same_place
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import EXCEPTIONS, HAVING, LANDMARKS, OTHER_OF_A_PAIR, PLURAL_PRONOUNS

_OTHER = PhraseSet(OTHER_OF_A_PAIR)
_ABOUT = LANDMARKS | words("it on here there over")
_SUBJECTS = words("it they this both these those that")
_ITSELF = words("it it's they they're them")
_SUBJECTS_WITH_VERB = words("it's they're that's")
_OBJECTS = words("it them either")
_FOR_THE_REST = PhraseSet(
    EXCEPTIONS | {"otherwise", "else", "rest of", "the rest", "only", "just", "itself", "other one"}
)
_WORKS = frozenset(("works", "work", "working"))
_SORRY = words("sorry wait")
_FINDING = words(
    "see find notice spot feel seen found noticed felt isn't ain't wasn't not there is got have "
    "without hardly"
)
_OF_IT = (" on it", " off it", " off of it")
_THE_REST = words("she she's everything rest overall otherwise elsewhere bike machine")
_WHOLE = words("bike machine unit motorcycle ride rig sled ski quad boat title example")
_MARKS = words(", ; : . -")
_EXCEPTING = words("except besides excepting but")
_SHORT_DENIALS = words("isn't aren't hasn't doesn't")
_TOLD = frozenset(("defect", "damage", "no_damage"))
_VERBS = words("is are 's")
_RIDING = words("rode ride rides riding ran drove drive drives driving starts started idles")
_IT_IS = words("it's that's it that this is they're those")
_LONG_DENIALS = (["is", "not"], ["are", "not"], ["has", "not"], ["'s", "not"])


def clean_parts(
    sentence: Sentence, stated: Sequence[Flaw], praised: Sequence[Clean], memory: Memory
) -> list[Clean]:
    """The parts called clean: those in `praised`, those denied in short, those of each praise."""
    clean = [*praised, *_denied_in_short(sentence)]
    known = [flaw for flaw in stated if _is_known(sentence, flaw)]
    told = {flaw.items[0] for flaw in stated}
    for index in _praises(sentence):
        if (stated and _is_of_a_piece(sentence, index)) or _is_attribute(sentence, index):
            continue
        if _is_taken_back(sentence, index, stated):
            continue
        if index in told or (stated and sentence.row[index].text.endswith(" through")):
            continue  # a dent that is "not punched through" leaves nothing clean
        for target in _targets(sentence, index, stated, memory):
            if _is_marred(sentence, index, target, stated):
                continue
            told_of = [other.target.place for other in clean]
            if not any(
                same_place(target.place, flaw.target.place)
                and (flaw.defect.id not in MENDED or flaw.items[0] < index)
                for flaw in known
            ) and not any(_is_within(target.place, place) for place in told_of):
                clean.append(Clean(sentence.number, target, [index, *target.items]))
    return [one for one in clean if not any(_is_vaguer(one, other) for other in clean)]


def _is_vaguer(clean: Clean, other: Clean) -> bool:
    """Whether another names the side too: "look at the seals, and both seals are dry"."""
    place, known = clean.target.place, other.target.place
    vaguer = place.side is None and known.side is not None
    return vaguer and (place.part, place.position) == (known.part, known.position)


def _is_taken_back(sentence: Sentence, index: int, stated: Sequence[Flaw]) -> bool:
    """Whether a flaw follows that undoes the praise: "fine, sorry, no, it's got some hazing"."""
    works = sentence.row[index].text in _WORKS  # "works, but the lens is cracked"
    later = [flaw.items[0] for flaw in stated if flaw.items[0] > index]
    return bool(later) and (works or sentence.any_word(index, later[0], _SORRY))


def _is_marred(sentence: Sentence, index: int, target: Target, stated: Sequence[Flaw]) -> bool:
    """Whether the place has a flaw that praise makes light of: "cracked, and it still works"."""
    item = sentence.row[index]
    if item.role != "no_damage" or item.text.startswith(("no ", "nothing ")):
        return False  # "scratched, but no dents"
    if sentence.cue(_FOR_THE_REST) is not None:
        return False
    return any(
        flaw.items[0] < index
        and flaw.defect.id not in MENDED
        and same_place(target.place, flaw.target.place)
        for flaw in stated
    )


def _is_within(place: Place, other: Place) -> bool:
    """Whether a place is another, or some of it: "the display is clear, no water inside"."""
    same = (place.part, place.side) == (other.part, other.side)
    return same and (place.position == other.position or None in (place.position, other.position))


def _is_attribute(sentence: Sentence, index: int) -> bool:
    """Whether praise is of a thing named after it: "it is a beautiful blue"."""
    after = sentence.row[index + 1 : index + 2]
    return (
        sentence.row[index].role == "no_damage"
        and sentence.any_word(index - 1, index, ("a", "an"))
        and bool(after)
        and after[0].role == "word"
        and after[0].id.isalpha()
    )


def _is_of_a_piece(sentence: Sentence, index: int) -> bool:
    """Whether but a piece is praised: "the glass is fine, but the housing's cracked"."""
    before = sentence.row[max(0, index - 2) : index]
    return (
        sentence.row[index].role == "no_damage"
        and len(before) == 2
        and before[1].role == "detail"
        and before[0].is_word(("the", "its"))
    )


def _is_known(sentence: Sentence, flaw: Flaw) -> bool:
    """Whether praise of the place is of how a known or mended flaw looks now."""
    if sentence.mood[flaw.items[0]] & Mood.EXCEPTED:
        return False
    return flaw.referred or flaw.definite or flaw.defect.id == "prior_repair"


def _praises(sentence: Sentence) -> Iterator[int]:
    """Where the sentence praises or denies damage."""
    for index, (item, mood) in enumerate(zip(sentence.row, sentence.mood, strict=True)):
        if item.role not in _TOLD or mood & Mood.IMAGINED:
            continue
        if _is_of_something_done(sentence, index):
            continue
        denied = bool(mood & Mood.DENIED)
        if (
            _goes_on_badly(sentence, index)
            if item.role == "no_damage"
            else _is_named(sentence, index)
        ):
            continue
        told = item.role in ("defect", "damage") and item.id not in MENDED  # "never repainted"
        told = told and item.text not in GLUES  # "didn't glue them"
        if (told and denied) or (item.role == "no_damage" and not denied):
            yield index


def _is_of_something_done(sentence: Sentence, index: int) -> bool:
    """Whether "anything" is no flaw but what is done: "he never towed anything"."""
    item = sentence.row[index]
    return item.text == "anything" and not sentence.any_word(index - 1, index, _FINDING)


def _is_named(sentence: Sentence, index: int) -> bool:
    """Whether a flaw is denied only as a name for something: "that's not a crack"."""
    row = sentence.row
    if sentence.any_word(index - 3, index, ("call",)):
        return True  # "not gonna call that a dent, more of a crease"
    if (
        index > 1
        and row[index].role == "damage"
        and row[index - 1].is_word(("isn't", "wasn't"))
        and row[index - 2].is_word(("that", "this"))
        and sentence.any_word(index, len(row), _IT_IS)
    ):
        return True  # "that isn't damage, that's a june bug"
    if (
        index > 1
        and row[index - 1].is_word(("not",))
        and row[index - 2].is_word(("that's", "it's"))
    ):
        # "that's not rust on the pipe, that's dirt"; "it's not dripping, it's weeping"
        again = row[index - 2].id == "that's" or sentence.any_word(index, len(row), ("it's",))
        if again:
            return True
    return (
        index > 1
        and row[index - 1].is_word(("a", "an"))
        and row[index - 2].is_word(("isn't", "not", "wasn't"))
        and (
            not row[index - 2].is_word(("not",)) or sentence.any_word(index - 4, index - 2, _IT_IS)
        )
        and not sentence.any_word(index - 3, index - 2, ("there",))
    )


def _goes_on_badly(sentence: Sentence, index: int) -> bool:
    """Whether a flaw is added to what sounds like praise: "dry and cracked"."""
    row = sentence.row[index + 1 : index + 3]
    return (
        len(row) == 2
        and row[0].is_word(("and",))
        and row[1].role == "defect"
        and not sentence.mood[index + 2] & Mood.DENIED
    )


def _denied_in_short(sentence: Sentence) -> Iterator[Clean]:
    """Parts denied the flaw just said of another: "the one on the left is not"."""
    for group in sentence.parts:
        start = sentence.spots[group.last].last + 1
        rest = list(sentence.row[start:])
        while rest and rest[0].is_word(_ABOUT):
            rest.pop(0)
        tail = [item.text for item in rest if not item.is_word(("either",))][:3]
        short = bool(tail) and tail[0] in _SHORT_DENIALS and (len(tail) < 3 or tail[1] == ",")
        told = [item.role for item in sentence.row[: group.first] if item.role in _TOLD]
        if told[-1:] == ["no_damage"]:
            continue  # "the tunnel's straight, the bumper is not"
        if not told and sentence.any_word(0, group.first, (",",)):
            continue  # "the cover comes with it, the trailer doesn't"
        last = not any(item.role == "defect" for item in rest)  # "has not, and it is bent"
        ends = tail[2:] in ([], ["."]) or (tail[2:] == [","] and last)
        if short or (tail[:2] in _LONG_DENIALS and ends):
            for target in sentence.targets_of(group):
                yield Clean(sentence.number, target, list(target.items))


def _targets(
    sentence: Sentence, index: int, stated: Sequence[Flaw], memory: Memory
) -> list[Target]:
    """The places that a praise at an index is said of."""
    here = Group((index,))
    parts = link(sentence.row, here, sentence.parts)
    if parts is not None:
        first = sentence.spots[parts.first].first
        elsewhere = sentence.any_word(parts.last + 1, index, _THE_REST) and not _is_rest_of_it(
            sentence, parts.last + 1, index
        )
        absent = sentence.any_word(first - 1, first, ("no",))
        excepted = sentence.any_word(index + 1, parts.first, _EXCEPTING)
        whole = sentence.any_word(index + 1, index + 3, _WHOLE) or (
            parts.first > index and sentence.row[index].text.split(" ")[0] in _VERBS
        )
        return (
            []
            if elsewhere or absent or excepted or whole
            else with_loose(sentence, here, parts, sentence.targets_of(parts))
        )
    excepted = all(sentence.mood[flaw.items[0]] & Mood.EXCEPTED for flaw in stated)
    if sentence.parts or not excepted or not memory.has_focus(sentence.number, reach=1):
        return []
    return _implied(sentence, here, memory)


def _is_rest_of_it(sentence: Sentence, start: int, index: int) -> bool:
    """Whether the rest of the same thing is praised: "a dent, otherwise it's clean"."""
    rest = next((i for i in range(start, index) if sentence.row[i].is_word(("otherwise",))), None)
    return rest is not None and (
        sentence.any_word(rest + 1, index, _ITSELF)
        or sentence.any_word(index + 1, index + 3, _ITSELF)
    )


def _implied(sentence: Sentence, here: Group, memory: Memory) -> list[Target]:
    """The places last spoken of, where a praise names none: "it's clean", "other side is fine"."""
    if sentence.cue(_OTHER) is not None:
        return [Target(flipped(memory.focus[-1]))]
    opens = here.first == 0 and sentence.any_word(1, 2, (",",))  # "Spotless, bar a little ding"
    ridden = sentence.any_word(0, here.first, _RIDING)
    if ridden or not (opens or _has_pronoun(sentence, here.first)):
        return []
    plural = sentence.any_word(0, len(sentence.row), PLURAL_PRONOUNS)
    places = memory.focus if plural else memory.focus[-1:]
    targets = [  # "no leaks, no weeps. They're clean." is said once
        Target(place)
        for place in places
        if not any(same_place(place, known) for known in memory.last_clean)
    ]
    if sentence.loose_of("side"):
        return with_loose(sentence, here, None, targets)
    return targets


def _has_pronoun(sentence: Sentence, index: int) -> bool:
    """Whether "it" and the like stand near a praise: "it's clean", "nothing wrong with it"."""
    row = sentence.row
    marks = [i for i in range(index) if row[i].is_word(_MARKS)]
    start = max([index - 5, *(i + 1 for i in marks), 0])
    subject = any(
        row[i].is_word(_SUBJECTS_WITH_VERB)
        or (row[i].is_word(_SUBJECTS) and row[i + 1].is_word(HAVING))
        for i in range(start, index)
    )
    named = row[index].text.endswith(_OF_IT)  # "there's not a mark on it"
    return subject or named or sentence.any_word(index + 1, index + 4, _OBJECTS)
