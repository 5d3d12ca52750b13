"""Flaws that are told but not there: planned repairs, causes, marks of other flaws, mended ones."""

from collections.abc import Sequence

from pipeline.understand.phrasing import PhraseSet
from pipeline.understand.plain import words
from pipeline.understand.said import Flaw, Target, same_place
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import ADVERBS, ARTICLES, DETERMINERS
from pipeline.understand.terms import Item

MENDED = frozenset(("prior_repair", "repaint", "replaced_part", "touch_up"))
_WIPES_OFF = PhraseSet(
    f"{verb}{how} off" for verb in ("wipes", "wipe", "washes", "wash") for how in ("", " right")
)
_CLAUSE_STARTS = words(", . ; : - but")
_NEUTRAL = ARTICLES | DETERMINERS | ADVERBS
PATCHES = words("patch patches")
_SPILLS = words("grease oil")
_DEEP = words("chip scratch gouge scuff peeling flaking")
_GLUES = words("glue adhesive tape epoxy")
_WIPED = words("residue stain")
_WETNESS = words("oil oily wet damp moist wetness dampness")
_SPILLING = words("tear leak seepage cut crack")
_PLANS = words(
    "i'd you'd i'll you'll we'll would could can should will to want wants need needs gonna might"
)
_BEFORE_A_VERB = _PLANS | words("be get it that them those this just probably easily")
_DONE = words("been have has had was were got already")
_PLAN_REACH = 6
_WHY = words("because since cause 'cause")
_PASSIVES = words("was were been got")
_WHERE = words("where because")
_REPAIRABLE = words("crack hole tear cut broken leak seepage bent dent gouge loose")
_TENSE_REACH = 6
_PAST = words("had was were used")


def is_planned(row: Sequence[Item], index: int) -> bool:
    """Whether a repair is only meant to be done: "it could be touched up", "I'd get that fixed"."""
    if row[index].id not in MENDED or not index or not row[index - 1].is_word(_BEFORE_A_VERB):
        return False
    for item in reversed(row[max(0, index - _PLAN_REACH) : index]):
        if item.is_word(_CLAUSE_STARTS | _DONE):
            return False
        if item.is_word(_PLANS):
            return True
    return False


def is_cause(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw is only what another comes from: "runs from a cheap respray"."""
    for i in range(index - 1, max(-1, index - 5), -1):
        if row[i].is_word(("from",)):
            return not (i and row[i - 1].is_word(("apart", "aside", "far")))
        if not row[i].is_word(_NEUTRAL) and row[i].role not in ("qualifier", "part"):
            return False
    return False


def without_implied(sentence: Sentence, stated: list[Flaw]) -> list[Flaw]:
    """Leaves out what is but a measure or a mark of another flaw there, and dirt that wipes off.

    "Peeling, a patch the size of a quarter" is no repair; the grease round a torn boot no residue.
    """
    wiped = _WIPED if sentence.cue(_WIPES_OFF) is not None else frozenset[str]()
    return [
        flaw
        for flaw in stated
        if flaw.defect.id not in wiped
        and not any(
            _is_implied(flaw, other) and same_place(flaw.target.place, other.target.place)
            for other in stated
        )
    ]


def _is_implied(flaw: Flaw, other: Flaw) -> bool:
    if flaw.defect.text in PATCHES:
        return other.items[0] < flaw.items[0] and other.defect.id not in MENDED
    if flaw.defect.text.startswith("down to"):
        return other.defect.id in _DEEP and other.items[0] < flaw.items[0]
    if flaw.defect.id == "wear":
        return other.defect.id == "worn_through"
    if flaw.defect.id == "seepage" and not _WETNESS.isdisjoint(flaw.defect.text.split()):
        return other.defect.id == "leak"
    if flaw.defect.id == "residue" and other.defect.id == "prior_repair":
        return flaw.defect.text in _GLUES
    return flaw.defect.text in _SPILLS and other.defect.id in _SPILLING


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
    if mend.defect.id != "prior_repair" or flaw.defect.id not in _REPAIRABLE:
        return False
    first, last = sorted((flaw.items[0], mend.items[0]))
    if flaw.items[0] == first:
        return sentence.any_word(first - 2, last, _PASSIVES)
    return sentence.any_word(first + 1, last, _WHERE) or all(
        item.role == "qualifier" for item in sentence.row[first + 1 : last]
    )
