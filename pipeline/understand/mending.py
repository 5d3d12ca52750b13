"""Flaws that are told but not there: planned repairs, causes, marks of other flaws, mended ones."""

from collections.abc import Sequence

from pipeline.understand.plain import words
from pipeline.understand.said import Flaw, Target, same_place
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import ADVERBS, ARTICLES, DETERMINERS
from pipeline.understand.terms import Item

MENDED = frozenset(("prior_repair", "repaint", "replaced_part", "touch_up"))
_CLAUSE_STARTS = words(", . ; : - but")
_NEUTRAL = ARTICLES | DETERMINERS | ADVERBS
PATCHES = words("patch patches")
_SPILLS = words("grease oil")
_SPILLING = words("tear leak seepage cut crack")
_PLANS = words(
    "i'd you'd i'll you'll we'll would could can should will to want wants need needs gonna might"
)
_BEFORE_A_VERB = _PLANS | words("be get it that them those this just probably easily")
_DONE = words("been have has had was were got already")
_PLAN_REACH = 6
_WHY = words("because since cause 'cause")
_PASSIVES = words("was were been got")
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
        if not row[i].is_word(_NEUTRAL) and row[i].role != "qualifier":
            return False
    return False


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
        return other.items[0] < flaw.items[0] and other.defect.id not in MENDED
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
    """The repair that did away with a flaw of the past, if there is one."""
    first = flaw.items[0]
    past = sentence.any_word(first - 6, first, _PAST)
    why = past and sentence.any_word(first - 6, first, _WHY)

    def mends(mend: Flaw) -> bool:
        later = mend.items[0] > first
        mended = flaw.definite and sentence.any_word(first, mend.items[0], _PASSIVES)
        return (why or (later and (past or mended))) and (
            mend.target.place.part == flaw.target.place.part
        )

    return next((m for m in stated if m.defect.id in MENDED and mends(m)), None)
