"""What is denied, doubted, only imagined, or excepted from a denial.

doc._.items ─► doc._.mood: for each sentence, one `Mood` an item
"""

from collections.abc import Sequence
from dataclasses import dataclass

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.understand.phrasing import PhraseSet, flat_words
from pipeline.understand.plain import words
from pipeline.understand.talk import (
    ASIDES,
    ELSEWHERE,
    EXCEPTIONS,
    EXISTENTIALS,
    HAVING,
    HEDGES,
    NEGATION_ENDS,
    NEGATION_PHRASES,
    NEGATIONS,
    NO_DENIAL,
    REAL_CONDITIONS,
    SUBJECT_STARTS,
    UNREAL,
)
from pipeline.understand.terms import Item


class Mood:
    """How an item is meant: marks of an int, which is far quicker than an IntFlag here."""

    PLAIN = 0
    DENIED = 1
    DOUBTED = 2
    IMAGINED = 4
    EXCEPTED = 8


_OPEN = Mood.IMAGINED | Mood.DOUBTED
_DENYING_ROLES = ("word", "number", "no_damage")
_NAMING = frozenset(
    ("not so much a", "not gonna call", "not going to call", "won't call", "wouldn't call")
)
_DENIALS = PhraseSet(NEGATIONS | NEGATION_PHRASES | NO_DENIAL | _NAMING)
_NAMED = words("as , more but just")
_HEDGES = PhraseSet(HEDGES)
_UNREAL = PhraseSet(UNREAL)
_ELSEWHERE = PhraseSet(ELSEWHERE)
_ASIDES = PhraseSet(ASIDES)
# "It's like a scratch" and "other than a scratch" compare nothing.
_NO_COMPARISON = {
    "like": words("looks look looked seems feel felt feels it's that's is 's just"),
    "than": words("other rather"),
    "last": words("every"),  # "every last one"
    "the": words("'s is it's that's was"),  # "this is the original one"
    "you'd": words("as which what like than"),  # "chipped, as you'd expect, on the left"
    "you": words("as which what like than"),
}
_EXCEPTIONS = PhraseSet(EXCEPTIONS)
_QUESTION_STARTS = words("is are was were does do did has have any could would should can")
_SAYING = HAVING | EXISTENTIALS
_A = words("a an any some that those")
_QUESTION_BREAKS = words(", : ; and but so")
_NONE_FOUND = PhraseSet(
    {"found none", "found nothing", "there's none", "there's nothing", "there are none"}
    | {"have none", "has none", "'s got none", "got none", "show none", "shows none"}
    | {
        f"{verb} {one}"
        for verb in ("isn't", "aren't", "wasn't", "weren't")
        for one in ("any", "one", "there")
    }
    | {"it was not", "it has not", "answer's no", "answer is no", "none whatsoever"}
    | {
        f"{cannot} {verb} {one}"
        for cannot in ("didn't", "couldn't", "can't", "don't", "did not", "could not")
        for verb in ("find", "see")
        for one in ("any", "one", "anything", "a thing")
    }
)
_NONE_OF_IT = PhraseSet(
    {"none of that", "none of it", "none of those", "none of them", "no sir", "no ma'am"}
    | {"neither of them", "it has not", "it hasn't", "they haven't", "not a chance"}
    | {"no chance", "don't exist", "there are none", "there is none", "not here", "zero"}
    | {"not a bit of it", "no way", ", neither", "nope", "nah", "well no", "not one", "not at all"}
)
# "These hoods all crack at the hinge, and this one hasn't": a flaw of others.
_NOT_THIS = PhraseSet(
    {"not mine", "not this one", "not hers", "not ours", "not this", "different story here"}
    | {
        f"this one {verb}"
        for verb in ("hasn't", "isn't", "doesn't", "didn't", "won't", "has not", "is not")
    }
)
_OTHERS = words("these those all every most they ones lot lots some always usually any")
_ABSENT = PhraseSet(
    f"{verb} {there}"
    for verb in ("isn't", "aren't", "wasn't", "weren't")
    for there in ("there", "here", "anywhere")
)
_AFFIRMED = PhraseSet(
    f"but {it}" for it in ("it is", "they are", "it does", "there is", "there are", "it has")
)
_SEEKING = words(
    "check checked checking inspect inspected inspecting examine examined look looked test tested"
)
_SOUGHT = words("for any a the")
_SEEK_REACH = 9
_BEFORE_A_SUBJECT = words("then and or the this that your its")
_SUBJECT_VERBS = words("is are 's has have was were got looks look")
_REPAIRS = words("touch_up prior_repair repaint replaced_part")
_SPARED = frozenset(("could've been", "could have been", "might have been", "would've been"))
_SPARING = words("didn't wasn't weren't they're")
_BUT_IS = PhraseSet(
    f"but {it}" for it in ("it", "it's", "is", "isn't", "they", "only", "just", "that's", "somehow")
)
_MARKS = words(", . ; : ? !")
_HARD_ENDS = words(". ; but though although however because")
_DOES_NOT = words("doesn't don't won't isn't aren't")
_CLAUSE_JOINS = words(", . ; : and but")
_TURNS_BACK = words("and but ;")
_OWN_SUBJECTS = words("it it's this that's the there's there")
_GRANTED = frozenset(("as it", "as they", "as you"))
_NO_ASIDE = words("as like from by off at to of against with")  # "bald as my uncle", "from my car"
_RELATIVES = words("that which where when so since because 'cause what")
_FRESH_STARTS = ("qualifier", "number", "size")
_AMOUNTS = ("number", "size", "area")
_SAYING_HOW_MUCH = ("size", "qualifier")  # "a dent that you really have to look for"


@Language.component("mood", requires=["doc._.items"], assigns=["doc._.mood"])
def mood(doc: Doc) -> Doc:
    """Marks every item of every sentence."""
    doc._.mood = [_moods(row) for row in doc._.items]
    return doc


@dataclass(frozen=True, slots=True)
class _Words:
    """A row of items with its words (`flat`), the item of each (`owner`), and the marks so far."""

    row: Sequence[Item]
    flat: list[str]
    owner: Sequence[int]
    moods: list[int]

    def mark(self, start: int, stop: int, mark: int) -> None:
        for index in range(start, stop):
            # "The red isn't the same, doesn't match": a flaw that denies by itself is not denied.
            twice = mark == Mood.DENIED and self.row[index].role == "defect"
            if not (twice and self.row[index].text.split(" ")[0] in _DOES_NOT):
                self.moods[index] |= mark

    def text(self, start: int, end: int) -> str:
        return " ".join(self.flat[start:end])

    def role(self, word: int) -> str:
        return self.row[self.owner[word]].role

    def after(self, end: int) -> int:
        """The item that a phrase ending at a word is said of: it may end inside of an item."""
        item = self.owner[end - 1]
        inside = end < len(self.flat) and self.owner[end] == item
        return item if inside and self.row[item].role != "no_damage" else item + 1


def _moods(row: Sequence[Item]) -> list[int]:
    flat, owner = flat_words(row)
    said = _Words(row, flat, owner, [Mood.PLAIN] * len(row))
    _deny(said)
    _deny_late(said)
    _imagine(said)
    _seek(said)
    _doubt(said)
    _except(said)
    _answer(said)
    return said.moods


def _deny(said: _Words) -> None:
    for start, end in _DENIALS.find(said.flat):
        if said.text(start, end) in NO_DENIAL or said.role(start) not in _DENYING_ROLES:
            continue
        if said.text(start, end) == "without" and _denied_before(said, start):
            continue
        first = said.after(end)
        stop = _denial_end(said.row, first)
        if said.text(start, end) in _NAMING:  # "not so much a dent as a scratch"
            stop = next((i for i in range(first, stop) if said.row[i].is_word(_NAMED)), stop)
        undone = (  # "we haven't touched up the chips": the chips are there
            i + 1 for i in range(first, stop - 1) if _takes_a_flaw(said.row, i)
        )
        said.mark(first, next(undone, stop), Mood.DENIED)
    for index in range(1, len(said.row)):  # "dents: none", "dings on neither"
        joined = said.row[index - 1].is_word((",", ":", "on", "in"))
        before = index - 2 if joined else index - 1
        alone = index + 1 == len(said.row) or said.row[index + 1].is_word(_MARKS)
        if (
            said.row[index].is_word(("none", "neither"))
            and alone
            and said.row[before].role == "defect"
        ):
            said.mark(before, before + 1, Mood.DENIED)


def _deny_late(said: _Words) -> None:
    """Denies what a sentence opens with: "chips, cracks, a loose lamp, no sir, none of that"."""
    first = next((i for i, item in enumerate(said.row) if item.role == "defect"), None)
    if first is None:
        return
    flat = said.flat[:-1] if said.flat[-1] in _MARKS else said.flat
    others = any(item.is_word(_OTHERS) for item in said.row[:first])
    if others and any(end == len(flat) for _, end in _NOT_THIS.find(said.flat)):
        for index in range(len(said.row)):
            if said.row[index].role == "defect":
                said.moods[index] |= Mood.IMAGINED
    if any(item.is_word(_SAYING) for item in said.row[:first]):
        return
    last = [start for start, end in _NONE_OF_IT.find(said.flat) if end == len(flat)]
    for index in range(said.owner[last[0]] if last else 0):
        if said.row[index].role == "defect":
            said.moods[index] |= Mood.DENIED


def _takes_a_flaw(row: Sequence[Item], index: int) -> bool:
    """Whether a repair is said of a flaw: "touched up the chips"."""
    after = [item for item in row[index + 1 : index + 4] if item.role != "qualifier"]
    return (
        row[index].role == "defect"
        and row[index].id in _REPAIRS
        and len(after) > 1
        and after[0].is_word(("the", "that", "those"))
        and after[1].role == "defect"
    )


def _denied_before(said: _Words, stop: int) -> bool:
    """Whether a clause denies already: "wouldn't be a used one without a few chips"."""
    for index in range(stop - 1, -1, -1):
        if said.flat[index] in _MARKS:
            return False
        if said.flat[index] in NEGATIONS:
            return True
    return False


def _imagine(said: _Words) -> None:
    elsewhere = [at for at, _ in _ELSEWHERE.find(said.flat) if said.role(at) == "word"]
    # "No scratches on it, I looked twice because of the other bike": the reason is elsewhere.
    why = (i for i in range(elsewhere[0] if elsewhere else 0) if said.flat[i] == "because")
    asked = said.owner[next(why, 0)] if elsewhere else _asks(said.row)
    if asked is not None:
        said.mark(asked, len(said.row), Mood.IMAGINED)
    for start, _ in _ASIDES.find(said.flat):
        first = said.owner[start]
        likened = first > 0 and said.row[first - 1].is_word(_NO_ASIDE)
        if not likened and not any(
            item.is_word(_RELATIVES) for item in said.row[max(0, first - 2) : first]
        ):
            stop = _clause_stop(said.row, first)
            said.mark(_clause_start(said.row, first), stop, Mood.IMAGINED)
    for start, end in _UNREAL.find(said.flat):
        real = said.text(start, start + 3) in REAL_CONDITIONS
        before = said.flat[start - 1] if start else ""
        kin = before in _NO_COMPARISON.get(said.flat[start], ())
        granted = said.text(max(0, start - 2), start) in _GRANTED  # "worn, as it would be, and"
        if not real and not kin and not granted and said.role(start) not in _SAYING_HOW_MUCH:
            first = said.after(end)
            if said.text(start, end).endswith(" about") and said.row[first].is_word((",",)):
                continue  # "the muffler, which people always ask about, has ..."
            near = said.row[first - 1 : first + 1]
            if said.flat[start] == "like" and any(item.role in _AMOUNTS for item in near):
                continue  # "torn, like a half-inch tear"
            said.mark(first, _clause_end(said.row, first), Mood.IMAGINED)


def _asks(row: Sequence[Item]) -> int | None:
    """Where a question begins: "is it bent?", "the fork seals, are those weeping?"."""
    opens = [i for i in range(len(row)) if not i or row[i - 1].is_word(_QUESTION_BREAKS)]
    if any(item.is_word(("nah", "nope")) for item in row) and row[0].is_word(_QUESTION_STARTS):
        return 0  # "is that oil on the floor, nah, that's off the van"
    if not row[-1].is_word(("?",)):
        return None
    opens_with_it = row[0].role == "defect" or row[0].is_word(_A)
    if opens_with_it and not any(item.is_word(_SAYING) for item in row):
        return 0  # "rust in the tank?", "a scuff on that bar, from a man who never fell?"
    return next((i for i in opens if row[i].is_word(_QUESTION_STARTS)), None)


def _seek(said: _Words) -> None:
    """Takes a flaw for only looked for in "we checked the frame for cracks"."""
    for index in range(1, len(said.row)):
        if said.row[index].role != "defect" or not said.row[index - 1].is_word(_SOUGHT):
            continue
        before = said.row[max(0, index - _SEEK_REACH) : index]
        if any(item.is_word(("for",)) for item in before[-2:]) and any(
            item.is_word(_SEEKING) for item in before
        ):
            said.mark(index, _clause_end(said.row, index), Mood.IMAGINED)


def _doubt(said: _Words) -> None:
    for start, end in _HEDGES.find(said.flat):
        first = said.owner[start]
        # "The mirror could've been broken, but it is only scratched" tells what did not happen.
        spared = said.text(start, end) in _SPARED and _is_spared(said.flat[end:])
        mark = Mood.IMAGINED if spared else Mood.DOUBTED
        said.mark(first, _clause_end(said.row, first), mark)


def _is_spared(rest: list[str]) -> bool:
    """Whether it goes on with what did happen: "could've been bent, but it's only scratched"."""
    return not _SPARING.isdisjoint(rest) or next(_BUT_IS.find(rest), None) is not None


def _except(said: _Words) -> None:
    for _, end in _EXCEPTIONS.find(said.flat):
        first = said.after(end)
        for index in range(first, _clause_end(said.row, first)):
            said.moods[index] = (said.moods[index] & ~Mood.DENIED) | Mood.EXCEPTED


def _answer(said: _Words) -> None:
    """Denies what was only looked for ("we checked for cracks and found none"), and the reverse."""
    affirmed = next((at for at in _AFFIRMED.find(said.flat) if said.flat[at[1]] in _MARKS), None)
    for index in range(said.owner[affirmed[0]] if affirmed else 0):
        said.moods[index] &= ~Mood.DENIED
    for start, _ in _ABSENT.find(said.flat):
        if not said.row[said.owner[start] - 1].is_word(_RELATIVES):
            _deny_subject(said, said.owner[start])
    found = next(_NONE_FOUND.find(said.flat), None)
    if found is None or said.role(found[0]) == "defect":
        return
    for index in range(said.owner[found[0]]):
        if said.row[index].role in ("defect", "damage") and said.moods[index] & _OPEN:
            said.moods[index] = Mood.DENIED


def _deny_subject(said: _Words, stop: int) -> None:
    """Denies the flaw that a clause is about: "the tear they all get just isn't there"."""
    for index in range(stop - 1, -1, -1):
        if said.row[index].is_word(_CLAUSE_JOINS):
            return
        if said.row[index].role == "defect":
            said.mark(index, index + 1, Mood.DENIED)


def _denial_end(row: Sequence[Item], start: int) -> int:
    """Where a denial stops: at "but", at a new clause, or where a list turns to a fresh flaw."""
    for index in range(start, len(row)):
        item = row[index]
        if item.is_word(NEGATION_ENDS) or item.text in NEGATION_ENDS:
            return index
        joins = item.is_word(("and", ",", "or"))
        told = any(other.role == "defect" for other in row[start:index])
        though = any(other.is_word(("though",)) for other in row[index + 1 : index + 2])
        if told and item.role == "defect" and though:
            return index  # "not cracked, scratched though"
        if told and [other.id for other in row[index : index + 2]] == ["much", "as"]:
            return index  # "isn't a crack so much as a scratch"
        if joins and index + 1 < len(row):
            after = row[index + 1]
            if after.is_word(("and", "or", "but")) and index + 2 < len(row):
                after = row[index + 2]
            opens = after.text.split(" ")[0]
            praise = after.role == "no_damage" and (opens in HAVING or opens in NEGATIONS)
            fresh = praise or after.role in _FRESH_STARTS or after.is_word(SUBJECT_STARTS | {"so"})
            if item.id != "or" and (fresh or _is_subject(row, index + 1)):
                return index
            if item.id == "," and _is_told_of(row, index + 1):
                return index
    return len(row)


def _is_subject(row: Sequence[Item], start: int) -> bool:
    """Whether a part and its verb come next: "no dings, the wear ring's got scoring"."""
    index = start
    while index < len(row) and (
        row[index].role in ("side", "position") or row[index].is_word(_BEFORE_A_SUBJECT)
    ):
        index += 1
    after = row[index + 1 : index + 2]
    if after and after[0].is_word(("that", "which")):  # "and grips that are worn"
        after = row[index + 2 : index + 3]
    return (
        index < len(row)
        and row[index].role == "part"
        and bool(after)
        and after[0].text.split(" ")[0] in _SUBJECT_VERBS
    )


def _is_told_of(row: Sequence[Item], start: int) -> bool:
    """Whether a part and what it is like come next: "no problem, lower A-arm bent"."""
    index = start
    while index < len(row) and row[index].role in ("side", "position"):
        index += 1
    after = [item.role for item in row[index : index + 3]]
    return after[:2] in (["part", "defect"], ["part", "no_damage"]) or after == [
        "part",
        "qualifier",
        "defect",
    ]


def _clause_start(row: Sequence[Item], stop: int) -> int:
    """Where the clause begins that an index stands in: after a mark, a joining or relative word."""
    opens = _CLAUSE_JOINS | _RELATIVES
    return next((i + 1 for i in range(stop - 1, -1, -1) if row[i].is_word(opens)), 0)


def _clause_stop(row: Sequence[Item], start: int) -> int:
    """Where the talk comes back to the machine: at "and" or "but" with a subject of its own."""
    for index in range(start, len(row) - 1):
        if row[index].is_word(_TURNS_BACK) and row[index + 1].is_word(_OWN_SUBJECTS):
            return index
    return len(row)


def _clause_end(row: Sequence[Item], start: int) -> int:
    for index in range(start, len(row)):
        if row[index].is_word(_HARD_ENDS) or (row[index].is_word((",",)) and index > start):
            return index
    return len(row)
