"""How much of a flaw is said: which qualifier, count, size and area belongs to which flaw."""

from collections.abc import Mapping, Sequence

from pipeline.understand.memory import Memory
from pipeline.understand.mending import MENDED, PATCHES
from pipeline.understand.mood import Mood
from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.plain import words
from pipeline.understand.said import Flaw
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import (
    ADVERBS,
    ARTICLES,
    COMMON_WORDS,
    FILLERS,
    NO_DENIAL,
    PLURAL_PRONOUNS,
)
from pipeline.understand.terms import Item

_NO_DENIAL = PhraseSet(NO_DENIAL)
_DEGREES = frozenset(("qualifier", "number", "size", "area"))
_LITTLE, _SLIGHT = ("a little ", "a bit of ", "bit of ", "little bit of "), 2
_LONGEST_FOLLOW_UP = 18
_MOST = 100  # flaws that anybody counts; a larger number is a price or a mileage
_SUBJECT_REACH = 4
_PIECES = words("of the them those these its em ' 'em")
_THEM = words("them those em '")
_AFTER_A_COUNT = words("total , . places spots areas")
_ON = words("on at in of the about maybe from")
_FEELING = words("feel feels felt sorry luck")
_ILL_FEELINGS = PhraseSet({"bad about", "bad for", "bad news", "bad luck"})
_ABOUT_IT = words("it it's that that's they they're them those these this which one ones each")
_A = words("a an")
_NO_COUNT = words("at a sold owned ridden bought")
_SUCH = words("thing things ones")
_THINGS = words(
    "lad lads fella fellas man men boy boys girl thing things guy guys part parts piece pieces "
    "bike deal dog neck back knee knees hip hips shoulder eyes"
)
_BEFORE_A_NOUN = words("the this that any your my no with more of in")
_AFTER_ALONE = words(", . ; : ! ? and but though too one ones spots marks")
_ALL = PLURAL_PRONOUNS | words("all none")
_ONE = words("that's that which it's it is")
_OPENING = (ADVERBS | ARTICLES | words("of , in ~")) - words("and or")
# "four of them", "four total"; or nothing more is said.
_COUNTED = (["of", "them"], ["of", "those"], ["of", "em"], ["of", "'"])


def give_degrees(sentence: Sentence, stated: Sequence[Flaw], memory: Memory) -> None:
    """Adds what the sentence says of degree to its flaws, or to the last one it goes on about."""
    own, loose = _opening(sentence, stated)
    defects = sorted({flaw.items[0] for flaw in stated})
    _spread(sentence, own, defects)
    for index in loose:
        for taker in _takers(sentence, index, own, defects):
            own.setdefault(taker, []).append(index)
    for flaw in stated:
        if flaw.defect.text.startswith(_LITTLE):
            flaw.qualifiers.append(_SLIGHT)
        for index in own.get(flaw.items[0], ()):
            if flaw.defect.id in MENDED and _is_of_something_else(sentence, flaw, index):
                continue
            _add(flaw, sentence.row[index])
            flaw.items.append(index)
    if not defects and not sentence.parts and _goes_on(sentence, memory):
        last = memory.last_flaws[-1]
        for index in loose:
            item = sentence.row[index]
            if last.defect.id in MENDED and item.role == "qualifier":
                continue  # "It's been welded. It's ugly."
            if item.role != "number" and not _is_denied(sentence, index):
                _add(last, item)


def _is_of_something_else(sentence: Sentence, flaw: Flaw, index: int) -> bool:
    """Whether a degree is not that of past work: "aftermarket, one hundred percent".

    "It's been plugged, and it's holding air just fine" grades no plug.
    """
    if sentence.row[index].role == "area":
        return True
    first = flaw.items[0]
    return sentence.row[index].role == "qualifier" and sentence.any_word(first, index, (",",))


def _opening(sentence: Sentence, stated: Sequence[Flaw]) -> tuple[dict[int, list[int]], list[int]]:
    """The degrees that open each flaw's noun phrase, and those that stand elsewhere."""
    own: dict[int, list[int]] = {}
    loose: list[int] = []
    owner = sentence.owner
    ignored = {  # "bad" in "not so bad", but not "nothing deep" where that is a term itself
        owner[i]
        for start, end in _NO_DENIAL.find(sentence.flat)
        for i in range(start, end)
        if owner[i] != owner[start]
    } | {owner[start] for start, _ in _ILL_FEELINGS.find(sentence.flat)}
    defects = {flaw.items[0] for flaw in stated}
    everything = {i for group in sentence.flaws for i in group.members}
    for index, item in enumerate(sentence.row):
        all_of_them = item.role == "number" and _is_of_all(sentence.row, index)
        not_so = item.role == "qualifier" and index in ignored
        if item.role not in _DEGREES or not_so or all_of_them:
            continue
        ahead = _ahead(sentence.row, index)
        counted = _counted(sentence.row, index, stated)
        if counted is not None:
            own.setdefault(counted, []).append(index)
        elif ahead in defects:
            own.setdefault(ahead, []).append(index)
        elif ahead is None:
            follows = any(defect < index for defect in defects)
            if (
                not item.weak or (follows and _is_alone(sentence.row, index))
            ) and not _is_said_of_a_part(sentence.row, index):
                loose.append(index)
        elif ahead not in everything or item.role == "size" or _is_patch(sentence.row[ahead]):
            loose.append(index)
    return own, loose


def _is_of_all(row: Sequence[Item], index: int) -> bool:
    """Whether a number only says how many there are: "all four tires", "one of the two"."""
    before = [item.text for item in row[max(0, index - 2) : index]]
    last = index + 1 == len(row) or row[index + 1].is_word((".",))
    return (
        before[-1:] in (["all"], ["other"])
        or before == ["of", "the"]
        or (before[-1:] == ["the"] and last)
    )


def _counted(row: Sequence[Item], index: int, stated: Sequence[Flaw]) -> int | None:
    """The flaw of pieces that are counted: "two lugs are torn", "three of the spokes are bent"."""
    if row[index].role != "number":
        return None
    head = index + 1
    while head < len(row) and (
        row[head].role in ("side", "position", "detail", "qualifier", "number")
        or row[head].is_word(_PIECES)
    ):
        head += 1
    of_them = index + 1 < len(row) and row[index + 1].is_word(("of",))
    told = max((f.items[0] for f in stated if f.items[0] < index), default=None)
    them = any(item.is_word(_THEM) for item in row[index + 2 : index + 3])
    if told is not None and of_them and them and (row[told].plural or row[told].id == "missing"):
        return told  # "scratches on it, three of them"
    for flaw in stated:
        first = flaw.items[0]
        if (
            flaw.defect.id == "missing"
            and index < first <= index + 2
            and _is_one_of_many(row, first)
        ):
            return first  # "six lugs missing"
        told = head in flaw.target.items and head < len(row) and row[head].plural
        told |= first == index + 2 and _some_are(row, index)
        if first > index and (told or (of_them and first > head - 1)):
            between = row[head:first]
            if not any(item.role in ("defect", "number") for item in between):
                return first
        if first < index and _counts_pieces(row, index, flaw):
            return first
    return None


def _some_are(row: Sequence[Item], index: int) -> bool:
    """Whether a number tells how many of a part are so: "spokes, two are loose"."""
    named = index - 1 - (index > 1 and row[index - 1].is_word((",",)))
    before = row[named] if index else None
    are = row[index + 1].is_word(("are", "were"))
    return before is not None and before.role == "part" and before.plural and are


def _is_one_of_many(row: Sequence[Item], index: int) -> bool:
    """Whether what stands before an index is a plural: "lugs"."""
    before = row[index - 1]
    pieces = before.role == "part" and any(item.id == before.id for item in row[: index - 1])
    return (before.role in ("word", "detail") or pieces) and before.text.endswith("s")


def _counts_pieces(row: Sequence[Item], index: int, flaw: Flaw) -> bool:
    """Whether a number after a flaw counts what has it: "missing two lugs", "on two blades"."""
    first = flaw.items[0]
    if row[first].plural or not all(item.is_word(_ON) for item in row[first + 1 : index]):
        return False
    piece = next((item for item in row[index + 1 :] if not item.is_word(_PIECES)), None)
    if piece is None or not piece.plural:
        return False
    return piece.role == "detail" or (piece.role, piece.id) == ("part", flaw.target.place.part)


def _is_alone(row: Sequence[Item], index: int) -> bool:
    """Whether a word of many uses is all that a clause says: "rust, light", "it's pretty rough"."""
    before, after = row[index - 1], row[index + 1 : index + 2]
    led_in = [item.id for item in row[max(0, index - 2) : index]]
    aside = led_in in (["for", "a"], ["which", ","])  # "drilled for a light", "which, fine"
    named = aside or before.is_word(_BEFORE_A_NOUN)
    return not named and (not after or after[0].is_word(_AFTER_ALONE))


def _is_patch(flaw: Item) -> bool:
    return flaw.text in PATCHES


def _ahead(row: Sequence[Item], index: int) -> int | None:
    """The flaw whose noun phrase an amount or qualifier opens."""
    for i in range(index + 1, len(row)):
        item = row[i]
        if item.role == "defect":
            return i
        if item.role in _DEGREES or item.role == "detail":
            continue
        after = row[i + 1] if i + 1 < len(row) else None
        if not item.is_word(_OPENING) or (
            item.id == ","
            and (row[index].role != "qualifier" or (after is not None and after.is_word(ARTICLES)))
        ):
            return None
    return None


def _is_said_of_a_part(row: Sequence[Item], index: int) -> bool:
    """Whether a qualifier or number stands right before a part, or "thing", and is said of that."""
    if row[index].text.endswith((" of", " with")):  # "a bit of tape", "covered with a bag"
        return not any(item.role == "defect" for item in row[index + 1 : index + 5])
    if row[index].role not in ("qualifier", "number") or index + 1 == len(row):
        return False
    after = row[index + 1]
    more = after.text.endswith("er") or after.is_word(("like", "further", "farther"))
    if row[index].text in ("a lot", "a little", "a bit") and more:
        return True  # "a lot shinier", "a lot like the other one", "a little further in"
    if row[index].role == "qualifier" and row[index - 1].is_word((",",)) and after.is_word(_SUCH):
        return False  # "three chips, tiny things"
    the_one = after.is_word(("one",)) and row[index - 1].is_word(("the", "that"))
    if row[index].role == "qualifier" and (
        the_one or after.is_word(_THINGS) or _is_noun(row, index + 1)
    ):
        return True  # "the sticker, the big one with the cat"
    return row[index + 1].role in ("part", "side", "position", "no_damage", "damage")


def _is_noun(row: Sequence[Item], index: int) -> bool:
    """Whether an unknown word is what a qualifier before it is said of: "a rough landing"."""
    item = row[index]
    strange = item.role == "word" and item.id.isalpha() and item.id not in COMMON_WORDS
    named = strange and not item.id.endswith("ing")
    return named and index > 1 and row[index - 2].is_word(ARTICLES)


def _spread(sentence: Sentence, own: dict[int, list[int]], defects: Sequence[int]) -> None:
    """Shares a qualifier over a list: "light scratches and scuffs"."""
    for group in sentence.flaws:
        for left, right in zip(group.members, group.members[1:], strict=False):
            if right in own or right not in defects or left not in own:
                continue
            shared = [i for i in own[left] if sentence.row[i].role == "qualifier"]
            if shared and not sentence.any_word(left + 1, right, ARTICLES):
                own[right] = shared


def _takers(
    sentence: Sentence, index: int, own: Mapping[int, Sequence[int]], defects: Sequence[int]
) -> Sequence[int]:
    """The flaws that a degree is said of that opens none: those before it, else the one after."""
    item = sentence.row[index]
    if not defects or (item.role == "qualifier" and _is_denied(sentence, index)):
        return ()
    before = [defect for defect in defects if defect < index]
    if not before:
        return defects[:1] if item.role != "number" else ()
    if item.role == "number" and not _counts_back(sentence.row, index):
        return ()
    group = next((g.members for g in sentence.flaws if before[-1] in g.members), ())
    members = [member for member in group if member in before] or before[-1:]
    return members if _is_said_of_all(sentence, index, members, own) else members[-1:]


def _is_denied(sentence: Sentence, index: int) -> bool:
    return bool(sentence.mood[index] & Mood.DENIED) and sentence.row[index].role == "qualifier"


def _is_said_of_all(
    sentence: Sentence, index: int, members: Sequence[int], own: Mapping[int, Sequence[int]]
) -> bool:
    """Whether a qualifier or area after a list is said of all of it, or of its last flaw alone."""
    row = sentence.row
    if row[index].role not in ("qualifier", "area") or len(members) < 2:
        return False
    last = members[-1]
    if sentence.any_word(last + 1, index, _ALL):
        return True
    singular = sentence.any_word(last + 1, min(index, last + 4), _ONE)
    article = sentence.any_word(members[-2] + 1, last, ARTICLES)
    graded = any(row[i].role == "qualifier" for member in members for i in own.get(member, ()))
    return not (singular or article or graded)


def _counts_back(row: Sequence[Item], index: int) -> bool:
    """Whether a number after a flaw counts it: "chips, four of them", "scratches, rather four"."""
    if row[index - 1].is_word(_NO_COUNT):
        return False  # "folds in at sixty", "it's a thirteen", "of these I've sold forty"
    if row[index - 1].is_word(("or",)) and any(
        item.is_word(_A) for item in row[max(0, index - 4) : index]
    ):
        return False  # "ate a rock or two"
    tail = [item.text for item in row[index + 1 : index + 3]]
    return tail in _COUNTED or not tail or tail[0] in _AFTER_A_COUNT


def _goes_on(sentence: Sentence, memory: Memory) -> bool:
    """Whether a sentence with no flaw goes on about the last one: "It's about two inches long."."""
    row = sentence.row
    if not memory.last_flaws or memory.last_flaws[-1].sentence != sentence.number - 1:
        return False
    if len(row) > _LONGEST_FOLLOW_UP or sentence.any_word(0, len(row), _FEELING):
        return False
    opening = next((item for item in row if not item.is_word(FILLERS)), row[0])
    return opening.role in _DEGREES or sentence.any_word(0, _SUBJECT_REACH, _ABOUT_IT)


def _add(flaw: Flaw, item: Item) -> None:
    if item.role == "qualifier":
        flaw.qualifiers.append(int(item.id))
    elif item.role == "number":
        if float(item.id) <= _MOST:
            flaw.count = int(float(item.id))
    elif item.role == "size":
        flaw.size_mm = max(float(item.id), flaw.size_mm or 0.0)
        flaw.amount_said.append(item.text)
    else:
        flaw.area_pct = float(item.id)
        flaw.amount_said.append(item.text)
