"""Flaws that are told but not there: planned repairs, causes, marks of other flaws, mended ones."""

from collections.abc import Sequence
from itertools import pairwise

from pipeline.understand.mood import Mood
from pipeline.understand.plain import words
from pipeline.understand.said import Flaw, Target, same_place
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import ADVERBS, ARTICLES, DETERMINERS
from pipeline.understand.terms import Item

MENDED = frozenset(("prior_repair", "repaint", "replaced_part", "touch_up"))
_CLAUSE_STARTS = words(", . ; : - but")
_DOERS = words("they he she somebody someone they've he's she's somebody's someone's")
_NEUTRAL = ARTICLES | DETERMINERS | ADVERBS
PATCHES = words("patch patches")
_SPILLS = words("grease oil")
_VERDICTS = frozenset(("done", "about done", "toast", "shot", "about shot", "past its best"))
_DULLED = words("oxidation corrosion")
_OF_A_CAUSE = words("loose stuck misaligned peeling residue")
_CAUSING = words("where because since from after when")
_RUBS = words("rub rubs rubbed rubbing")
_DULL = frozenset(("chalky", "gone white", "gone chalky", "gone dull"))
_DEEP = words("chip scratch gouge scuff peeling flaking")
GLUES = words("glue adhesive tape epoxy") | {"zip tie", "zip ties"}
_GLUE_REACH = 5
_WETNESS = words("oil oily wet damp moist wetness dampness")
_SPILLING = words("tear leak seepage cut crack")
_PLANS = words(
    "who'll it'll they'll that'll i'd you'd i'll you'll we'll would could can should will to want "
    "wants need needs gonna"
)
_BEFORE_A_VERB = _PLANS | words("be get it that them those this just probably easily")
_DONE = words("been have has had was were got already")
_NEEDS = words(
    "need needs needing want wants use requires deserves buy priced pricing quoted find order "
    "figure give giving include including"
)
_ORDERED = words("order ordered")
_OPENERS = words("and do so please then i'd just go you'd want to")
_POINTING = words("that this those these the it them")
_FETCHING = words(
    "can could must would i'd you'd we'll get got buy bought order ordered use need needs"
)
_COULD = words("could can would you'd i'd we'd they'd")
_COSTS = words("is 's runs costs goes would will")
_MAY = words("might could may")
_IT = words("it it's that that's")
_ADDING = words("and also too another plus there there's")
_VERBS = words("is are 's looks look")
_SIDES = ("left", "right", "both", None)
_SPARES = {("figure", "on"), ("plan", "on"), ("i've", "got"), ("to", "sew"), ("to", "fit"),
           ("quote", "me"), ("quoted", "me")}  # fmt: skip
_TELLING_TO = words("so and , to you'd i'd just then better like")
_WOULD = words("would could should might")
_PLAN_REACH = 6
_MAY_BE = words("might may")
_WHY = words("because since cause 'cause")
_WAS = words("was were been")
_PASSIVES = words("was were been got")
_ITSELF = words("it's it they've they")
_WHERE = words("where because")
_TAKING_BACK = words("no nope nah wait sorry")
_THE = (["the"], ["that"], ["those"])
_REPAIRABLE = words("crack hole tear cut broken leak seepage bent dent gouge loose")
_TENSE_REACH = 6
_PAST = words("had was were used")


def is_planned(row: Sequence[Item], index: int) -> bool:
    """Whether a repair is only meant to be done: "it could be touched up", "I'd get that fixed"."""
    if not index:
        return False
    before = row[max(0, index - 3) : index]
    if row[index].text in GLUES:
        if before[-1].is_word(_CLAUSE_STARTS) and any(
            item.is_word(("it", "them", "that")) for item in row[index + 1 : index + 2]
        ):
            return True  # "glue it or order one, your call"
        return any(item.is_word(_FETCHING) for item in row[max(0, index - _GLUE_REACH) : index])
    if row[index].id not in MENDED:
        return False
    ordered = before[-1].is_word(("gets", "getting")) or any(
        item.is_word(_ORDERED) and not last.is_word(("work",))
        for last, item in pairwise(row[index:])
    )
    if (
        ordered
        or _is_thing_to_buy(row, index)
        or _is_told_to_do(row, index)
        or _is_reckoned_with(row, index)
    ):
        return True
    put = before[-1].is_word(("a",)) and before[-2:][0].is_word(("put", "throw"))
    return (put or before[-1].is_word(_BEFORE_A_VERB)) and _follows_a_plan(row, index)


def _follows_a_plan(row: Sequence[Item], index: int) -> bool:
    """Whether a plan stands before an index; "might be plugged" tells what may be, not a plan."""
    near = row[max(0, index - _PLAN_REACH) : index + 1]
    for item, after in reversed(list(pairwise(near))):
        if item.is_word(("have",)) and after.is_word(_POINTING):
            continue  # "I'll have it swapped"
        if item.is_word(_CLAUSE_STARTS | _DONE | _MAY_BE):
            return False
        if item.is_word(_PLANS):
            return True
    return False


def _is_reckoned_with(row: Sequence[Item], index: int) -> bool:
    """Whether a repair is still to come: "budget for plastic weld", "a bit of weld would do it"."""
    before, after = row[max(0, index - _PLAN_REACH) : index], row[index + 1 : index + 2]
    return any(item.is_word(("budget",)) for item in before) or (
        bool(after) and after[0].is_word(_WOULD)
    )


def _is_told_to_do(row: Sequence[Item], index: int) -> bool:
    """Whether a repair is asked for: "get that bracket straightened", "you could stitch it"."""
    opens = max((i + 1 for i in range(index) if row[i].is_word(_CLAUSE_STARTS)), default=0)
    clause = [item for item in row[opens:index] if not item.is_word(_OPENERS)]
    asked = len(clause) > 1 and clause[0].is_word(("get",)) and clause[1].is_word(_POINTING)
    bare = row[index - 1].is_word(_COULD) and index + 1 < len(row)
    return asked or (bare and row[index + 1].is_word(("it", "that", "them", "this")))


def _is_thing_to_buy(row: Sequence[Item], index: int) -> bool:
    """Whether "new" is said of no part of this machine: "needs a new seat", "a new seat is ..."."""
    before = [
        item
        for item in row[max(0, index - 3) : index]
        if item.role not in ("qualifier", "number") and not item.is_word(ARTICLES)
    ]
    if before and before[-1].is_word(_NEEDS | {"for"}):
        return True
    pair = tuple(item.id for item in before[-2:])
    spare = pair[1:] == ("got",) and row[index].text == "a new one"  # "I got a new one in the shed"
    if spare or pair in _SPARES or (pair[1:] == ("get",) and before[-2].is_word(_TELLING_TO)):
        return True  # "so get a new one", "figure on a new one", "I've got a new one in the back"
    after = row[index + 1 : index + 3]
    named = row[index].text.startswith("a ") or row[index - 1].is_word(("a",))
    if named and after and after[0].is_word(("'s",)):
        return True  # "a replacement's a hundred and eighty bucks"
    if [item.text for item in row[index + 2 : index + 4]] == ["be", "had"]:
        return True  # "a replacement can be had"
    return (
        row[index - 1].is_word(("a",))
        and len(after) == 2
        and after[0].role in ("part", "detail", "word")
        and after[1].is_word(_COSTS)
    )


def is_cause(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw is only what another comes from: "runs from a cheap respray"."""
    for i in range(index - 1, max(-1, index - 5), -1):
        if row[i].is_word(("it's", "it")):
            return False  # "running off from that and it's been touched up"
        if row[i].role == "word" and i == index - 1 and row[i - 1].is_word(("a", "an", "from")):
            continue  # "from a badger hole", "from ice chunks"
        if row[i].is_word(("after",)):  # "resprayed after a scratch"
            return any(item.id in MENDED for item in row[max(0, i - 2) : i])
        if row[i].is_word(("from",)):
            return not (i and row[i - 1].is_word(("apart", "aside", "far")))
        if not row[i].is_word(_NEUTRAL | _DOERS) and row[i].role not in ("qualifier", "part"):
            return False
    return False


def without_implied(sentence: Sentence, stated: list[Flaw]) -> list[Flaw]:
    """Leaves out what is but a measure or a mark of another flaw there.

    "Peeling, a patch the size of a quarter" is no repair; the grease round a torn boot no residue.
    """
    return [
        flaw
        for flaw in stated
        if not any(
            _is_alternative(sentence, flaw, other) or _is_other_guess(sentence, flaw, other)
            for other in stated
        )
        and not any(
            (_is_implied(flaw, other) and same_place(flaw.target.place, other.target.place))
            or (
                _is_reason(sentence, flaw, other)
                and flaw.target.place.part == other.target.place.part
            )
            for other in stated
        )
    ]


def _is_alternative(sentence: Sentence, flaw: Flaw, other: Flaw) -> bool:
    """Whether a flaw is only what another may be instead: "a tear, but it might be a crease"."""
    first, last = other.items[0], flaw.items[0]
    return (
        flaw.doubted
        and first < last
        and same_place(flaw.target.place, other.target.place)
        and sentence.any_word(first + 1, last, _MAY)
        and sentence.any_word(first + 1, last, ("be",))
        and not sentence.any_word(first + 1, last, _ADDING)
    )


def _is_other_guess(sentence: Sentence, flaw: Flaw, other: Flaw) -> bool:
    """Whether a flaw is what a doubted one may be instead: "or that could just be chain lube"."""
    first, last = other.items[0], flaw.items[0]
    others = (i for i in range(first + 1, last) if sentence.row[i].role == "part")
    if not other.doubted or first > last or not set(others) <= set(other.target.items):
        return False
    between = [item for item in sentence.row[first + 1 : last] if not item.is_word(("else",))]
    if any(a.is_word(("or",)) and b.is_word(_IT | _DOERS) for a, b in pairwise(between)):
        return True
    comma = max((i for i, item in enumerate(between) if item.is_word((",",))), default=0)
    clause = between[comma:]
    may = next((i for i, item in enumerate(clause) if item.is_word(_MAY)), None)
    if any(item.is_word(_ADDING) for item in clause):
        return False  # "and it could be rusted inside"
    return may is not None and any(item.is_word(("be",)) for item in clause[may:])


def _is_reason(sentence: Sentence, flaw: Flaw, other: Flaw) -> bool:
    """Whether a flaw only tells where another comes from.

    "Cracked where the bag rubbed"; "a crack, that's from the wind taking it with the strap undone".
    """
    first, last = other.items[0], flaw.items[0]
    if first > last:
        return False
    if not _RUBS.isdisjoint(flaw.defect.text.split(" ")):
        return sentence.any_word(first + 1, last, ("where", "that's"))
    joined = [i for i in range(first + 1, last) if sentence.row[i].is_word(("and",))]
    start = joined[-1] if joined else first + 1  # "scuffed from the dock, and it's coming loose"
    return flaw.defect.id in _OF_A_CAUSE and sentence.any_word(start, last, _CAUSING)


def _is_implied(flaw: Flaw, other: Flaw) -> bool:
    """Whether a flaw is but a measure, a mark or another word of another one there."""
    said, by = flaw.defect.text, other.defect.id
    later = other.items[0] < flaw.items[0]
    return any(
        (
            said in PATCHES and later and by not in MENDED,
            said.startswith("down to") and later and by in _DEEP,
            said in _DULL and by in _DULLED and other is not flaw,
            said in _VERDICTS and by != "wear",
            flaw.defect.id == "wear" and by == "worn_through",
            flaw.defect.id == "seepage" and by == "leak" and bool(_WETNESS & set(said.split())),
            said.startswith("rounded") and by == "wear",
            said == "crusty" and by == "rust",
            said == "crumbling" and by == "dry_rot",
            said == "sticky" and by == "melted",
            said.startswith("pinhole") and by == "pitting",
            said.startswith(("knocked off", "been knocked off")) and by == "missing",
            said == "won't budge" and by in ("stain", "residue"),
            said == "sat outside" and other is not flaw,
            said in GLUES and by in ("prior_repair", "missing"),
            flaw.defect.id == "replaced_part"
            and by == "color_mismatch"
            and (flaw.doubted or said.startswith("off another")),
            said.startswith("wobbl") and by == "bent",
            said.startswith(("hanging", "dangling")) and by in ("broken", "missing"),
            said.startswith("brush mark") and by in MENDED,
            said in _SPILLS and by in _SPILLING,
        )
    )


def without_mended(sentence: Sentence, stated: list[Flaw]) -> list[Flaw]:
    """Leaves out flaws told as gone: "it had a crack along the top, that has been repaired".

    Where the flaw was is where the repair is.
    """
    left: list[Flaw] = []
    gone: list[tuple[Flaw, Flaw]] = []
    for flaw in stated:
        mend = None if flaw.defect.id in MENDED else _mend(sentence, flaw, stated)
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


def without_taken_back(sentence: Sentence, stated: list[Flaw]) -> list[Flaw]:
    """Leaves out flaws taken back: "the lamp's got, no, that's a real web, the lamp's good"."""
    row = sentence.row
    turned = stated and any(
        (item.is_word(_TAKING_BACK) and after.is_word(_CLAUSE_STARTS)) or item.text == "~"
        for item, after in pairwise(row)
    )
    if not turned:
        return stated
    praised = {
        (row[part].id, side): i
        for i in range(1, len(row))
        if row[i].role == "no_damage" and not sentence.mood[i]
        for part in (i - 2 if i > 1 and row[i - 1].is_word(_VERBS) else i - 1,)
        if row[part].role == "part"
        for side in (sentence.spots[part].sides or _SIDES)
    }
    denied = {
        item.id: i
        for i, item in enumerate(row)
        if sentence.mood[i] & Mood.DENIED and not sentence.any_word(i + 1, i + 2, ("anything",))
    }  # "is cracked, no, sorry, it's not cracked"
    return [
        flaw
        for flaw in stated
        if max(
            praised.get((flaw.target.place.part, flaw.target.place.side), -1),
            denied.get(flaw.defect.id, -1),
        )
        < flaw.items[0]
    ]


def _mend(sentence: Sentence, flaw: Flaw, stated: Sequence[Flaw]) -> Flaw | None:
    """The repair that did away with a flaw, if there is one."""
    for mend in stated:
        mends = mend.defect.id in MENDED and mend.target.place.part == flaw.target.place.part
        if mends and (_is_past(sentence, flaw, mend) or _is_repaired(sentence, flaw, mend)):
            return mend
    return None


def _is_past(sentence: Sentence, flaw: Flaw, mend: Flaw) -> bool:
    """Whether a flaw is told as one of the past: "it had a crack, ...", "because it was bent"."""
    first = flaw.items[0]
    if not sentence.any_word(first - _TENSE_REACH, first, _PAST):
        return False
    return mend.items[0] > first or sentence.any_word(first - _TENSE_REACH, first, _WHY)


def _is_repaired(sentence: Sentence, flaw: Flaw, mend: Flaw) -> bool:
    """Whether a repair is that of a flaw: "a crack that's been welded", "glued where it broke"."""
    first, last = sorted((flaw.items[0], mend.items[0]))
    between = sentence.row[first + 1 : last]
    if mend.items[0] == first and [item.id for item in between] in _THE:
        return True  # "we touched up the chips"
    if mend.defect.id != "prior_repair" or flaw.defect.id not in _REPAIRABLE:
        return False
    if flaw.items[0] == first:
        anew = sentence.any_word(first + 1, last, _ITSELF)  # "cracked, and it's been patched"
        anew |= any(  # "has a crack, and that was repaired"
            item.is_word(("and",)) and after.is_word(("that", "that's"))
            for item, after in pairwise(between)
        )
        was = sentence.any_word(first - 2, first, _WAS) or sentence.any_word(
            first + 1, last, _PASSIVES
        )
        return not anew and was
    return sentence.any_word(first + 1, last, _WHERE) or all(
        item.role == "qualifier" for item in sentence.row[first + 1 : last]
    )
