"""The same flaw spoken of twice is one statement with more mentions.

Two flaws are the same where part, position, side and flaw are, unless the speaker says it is
another one; where he refers back ("that dent I mentioned"), a place left unsaid fits any.
"""

from collections import defaultdict
from collections.abc import Callable, Sequence

from lexicon.expand import OTHER
from pipeline.models import Mention, Place, Statement
from pipeline.understand.said import Flaw

UNHEARD_REFERENCE = "reference_to_unheard"


def merge(
    flaws: Sequence[Flaw], to_statement: Callable[[Flaw], Statement]
) -> tuple[list[Statement], list[Flaw]]:
    """Statements in order of first mention, and the flaws that refer to something never heard."""
    statements: list[Statement] = []
    unheard: list[Flaw] = []
    last_said: dict[int, int] = {}
    alike: defaultdict[tuple[str, str], list[Statement]] = defaultdict(list)
    for flaw in flaws:
        statement = to_statement(flaw)
        known = alike[statement.defect, statement.place.part]
        in_a_breath = [s for s in known[::-1] if last_said[id(s)] == flaw.sentence]
        earlier = _earlier(known[::-1], statement, flaw) or _vaguer(in_a_breath, statement, flaw)
        if earlier is None:
            if flaw.referred:
                statement.notes.append(UNHEARD_REFERENCE)
                unheard.append(flaw)
            statements.append(statement)
            known.append(statement)
        else:
            _take_in(earlier, statement)
            if flaw.renamed or any(earlier is one for one in in_a_breath):
                _place_in(earlier, statement.place)
            if flaw.sentence != last_said[id(earlier)]:
                when = statement.interval
                earlier.mentions.append(
                    Mention(start_s=when.start_s, end_s=when.end_s, heard=statement.heard)
                )
        last_said[id(earlier or statement)] = flaw.sentence
    return statements, unheard


def _earlier(alike: Sequence[Statement], new: Statement, flaw: Flaw) -> Statement | None:
    """The statement that a flaw says again, of those of its part and defect, the latest first."""
    same = alike
    if new.place.part == OTHER:
        same = [s for s in alike if _same_thing(s.place, new.place, flaw)]
    fitting = [s for s in same if _key(s.place) == _key(new.place)]
    if not fitting and _speaks_again(flaw):
        fitting = [s for s in same if _fits(s.place, new.place)]
    anew = flaw.another and not flaw.referred and not flaw.definite
    return fitting[0] if fitting and not anew else None


def _vaguer(alike: Sequence[Statement], new: Statement, flaw: Flaw) -> Statement | None:
    """The statement of the same sentence that differs but in what is left unsaid of the place.

    "Radiator, left side, fins bent" tells one flaw, and so does "cracked, two cracks down low".
    """
    if flaw.another:
        return None
    of_it = (s for s in alike if _agree(s.place, new.place))
    return next(
        (s for s in of_it if new.place.part != OTHER or _same_thing(s.place, new.place, flaw)), None
    )


def _agree(a: Place, b: Place) -> bool:
    """Whether no word on one place contradicts the other."""
    sides, positions = {a.side, b.side} - {None}, {a.position, b.position} - {None}
    return len(sides) < 2 and len(positions) < 2


def _place_in(statement: Statement, place: Place) -> None:
    """Fills in what was left unsaid of a statement's place."""
    known = statement.place
    if known.position is None:
        known = known.model_copy(update={"position": place.position})
    if known.side is None:
        known = known.model_copy(update={"side": place.side, "side_basis": place.side_basis})
    statement.place = known


def _speaks_again(flaw: Flaw) -> bool:
    """Whether a flaw of which not all of the place is said is likely one spoken of before."""
    place = flaw.target.place
    bare = flaw.state and place.side is None and place.position is None
    return flaw.referred or flaw.definite or flaw.again or flaw.renamed or bare


def _same_thing(known: Place, said: Place, flaw: Flaw) -> bool:
    """Whether two unknown things are one; a word in common is enough where one refers back."""
    if known.part_said == said.part_said:
        return True
    common = set((known.part_said or "").split()) & set((said.part_said or "").split())
    return flaw.referred and bool(common)


def _key(place: Place) -> tuple[str | None, str | None]:
    return place.position, place.side


def _fits(known: Place, said: Place) -> bool:
    """Whether a place fits another that leaves some of it unsaid; an inferred side is unsaid."""
    side = said.side if said.side_basis == "spoken" else None
    return (said.position in (None, known.position) or known.position is None) and (
        side in (None, known.side) or known.side in (None, "both")
    )


def _take_in(statement: Statement, again: Statement) -> None:
    """Fills in what the first time left unsaid."""
    if statement.severity_basis == "default" and again.severity_basis != "default":
        statement.severity, statement.severity_basis = again.severity, again.severity_basis
    for name in ("count", "size_mm", "area_pct", "amount_said"):
        if getattr(statement, name) is None:
            setattr(statement, name, getattr(again, name))
