"""From which word on a flaw is told: where the video has to start for its moment to be heard."""

from collections.abc import Container, Iterable, Sequence

from pipeline.understand.plain import words
from pipeline.understand.talk import DETERMINERS, EXISTENTIALS, HAVING, PREPOSITIONS, PRONOUNS
from pipeline.understand.terms import Item

_MARKS, _JOINS = words(", ; : . and"), words("and then also , uh um")
_LEANING = words("that that's which has is")
_SAYING = HAVING | EXISTENTIALS | PRONOUNS
_SMALL = words("a an some the one little bit of any possibly maybe also still this that")
_DOUBTING = words("might may could maybe possibly perhaps possible")
_MAY_BE = _DOUBTING | words("be there there's i looks like it it's that that's is has have the")
_VERBS = words("has have had got is are was been also 's count see put")
_SUBJECTS = words(
    "it it's they they're they've that's this these there there's you've we've i've "
    "you we i somebody someone somebody's someone's"
)
_POINTING = words("the this that its")
_IN = words("on in at of from along")
_BEFORE_A_CLAUSE = words(", . and but now then so")
_PLACED = frozenset(("part", "side", "position"))
_COATS = words("paint chrome rubber finish coating lacquer")
_OF, _AND = words("of"), words("and")
_AMOUNTS = frozenset(("qualifier", "number"))
_PLACES = frozenset(("side", "position", "detail"))
_TO_A_PLACE = PREPOSITIONS | DETERMINERS | words(", here")
_WALKING = words("up round down over back around")


def extent(
    row: Sequence[Item], items: Sequence[int], part: str | None, told: Iterable[int]
) -> Sequence[int]:
    """The items that a flaw is told in, of those it is read from (`items`, its own item first).

    From its own clause on where other flaws of its `part` are `told` before (their items), else
    from where the part is named first ("the tank, I turn it, there's a dent"), and with what opens
    that: who doubts it, "it's got", "on the left".
    """
    before = [at for at in told if at < items[0]]
    start = _own_clause(row, items[0], before) if before else None
    if start is not None:
        return [start, *(i for i in items if i >= start)]
    first = _named_before(row, min(items), part, before)
    opens = _opening(row, _list_before(row, first), items[0])
    return items if opens == min(items) else [opens, *items]


def _own_clause(row: Sequence[Item], flaw: int, told: Sequence[int]) -> int | None:
    """Where the clause of a flaw begins that has a subject of its own, after flaws told before.

    Of "the tank has a scratch, and it's got a big dent" the dent is told from "it's got" on.
    """
    start = next((i + 1 for i in range(flaw - 1, max(told), -1) if row[i].is_word(_MARKS)), None)
    if start is None:
        return None
    while start < flaw and row[start].is_word(_JOINS):
        start += 1
    subject = row[start].text.split()[0] not in HAVING - PRONOUNS
    says = any(i.is_word(_SAYING) for i in row[start:flaw]) or _is_said_of(row[flaw])
    leans = row[start].is_word(_LEANING) and not row[start - 1].is_word(_AND)
    if leans or not (subject and says):
        return None  # "..., which is cracked", "some dings and scratches"
    return start


def _named_before(row: Sequence[Item], first: int, part: str | None, told: Sequence[int]) -> int:
    """Where the part of what is told from an index on was named first, nothing told between."""
    for at in range(first - 1, -1, -1):
        if at in told or row[at].role == "no_damage":
            break
        if row[at].role == "part" and row[at].id == part:
            first = at
    return first


def _list_before(row: Sequence[Item], first: int) -> int:
    """Where a list of flaws begins that the flaw at an index ends ("swirls and stains on it")."""
    at = first
    while row[at].role == "defect":
        link = _back(row, at, _SMALL)
        if not link or not row[link - 1].is_word(_JOINS):
            break
        before = _back(row, link, _JOINS)
        if not before or row[before - 1].role != "defect":
            break
        at = before - 1
    return at


def _opening(row: Sequence[Item], first: int, flaw: int) -> int:
    """Where the clause opens that an index stands in, as far as that is of the flaw."""
    opens = _doubted_from(row, first)
    if opens == first:
        opens = _subject_before(row, first)
    if opens == first and first < flaw and row[first].role in _PLACED:
        opens = _place_before(row, first)
    return _places_before(row, opens)


def _is_said_of(flaw: Item) -> bool:
    """Whether a flaw's own words have a verb ("doesn't match", "color's off")."""
    return any(word in HAVING or word.endswith("n't") for word in flaw.text.split())


def _doubted_from(row: Sequence[Item], first: int) -> int:
    """Where a doubt begins that leads to an index: "there might be a" crack."""
    stop = _back(row, first, _SMALL)
    start = _back(row, stop, _MAY_BE, qualified=False)
    doubted = any(item.is_word(_DOUBTING) for item in row[start:first])
    return start if doubted else first


def _subject_before(row: Sequence[Item], first: int) -> int:
    """Where "it's got a" begins before an index."""
    start = _back(row, first, _SMALL | _VERBS)
    return start - 1 if start and row[start - 1].is_word(_SUBJECTS) else first


def _place_before(row: Sequence[Item], first: int) -> int:
    """Where "on the" tank begins, "rubber on the" pedal or "one of the" mirrors."""
    start = first - 1 if first and row[first - 1].is_word(_POINTING) else first
    if not start or not row[start - 1].is_word(_IN):
        return first
    start -= 1
    if not start or row[start - 1].is_word(_BEFORE_A_CLAUSE):
        return start
    coat = row[start - 1].role == "detail" or row[start - 1].is_word(_COATS)
    if not coat and not row[start].is_word(_OF):
        return first
    return start - 2 if start > 1 and row[start - 2].is_word(_POINTING) else start - 1


def _places_before(row: Sequence[Item], first: int) -> int:
    """Where a place opens the clause ("on the left, down low, the fairing")."""
    start = first
    while start and (row[start - 1].role in _PLACES or row[start - 1].is_word(_TO_A_PLACE)):
        start -= 1
    while start < first and row[start].is_word(_MARKS):
        start += 1
    placed = any(item.role in _PLACES for item in row[start:first])
    opens = not start or row[start - 1].is_word(_BEFORE_A_CLAUSE)
    return start if placed and opens and not row[start].is_word(_WALKING) else first


def _back(row: Sequence[Item], stop: int, small: Container[str], *, qualified: bool = True) -> int:
    """How far back some plain words, and qualifiers, reach without a gap."""
    while stop and (
        (row[stop - 1].role == "word" and row[stop - 1].id in small)
        or (qualified and row[stop - 1].role in _AMOUNTS)
    ):
        stop -= 1
    return stop
