"""From which word on a flaw is told: where the video has to start for its moment to be heard."""

from collections.abc import Container, Sequence

from pipeline.understand.plain import words
from pipeline.understand.talk import EXISTENTIALS, HAVING, PRONOUNS
from pipeline.understand.terms import Item

_TELLING = frozenset(("defect", "no_damage"))
_MARKS, _JOINS = words(", ; : . and"), words("and then also , uh um")
_LEANING = words("that that's which has is")
_SAYING = HAVING | EXISTENTIALS | PRONOUNS
_SMALL = words("a an some the one little bit of any possibly maybe also still this that")
_DOUBTING = words("might may could maybe possibly perhaps possible think believe")
_MAY_BE = _DOUBTING | words("be there there's i looks like it it's that that's is has have the")
_VERBS = words("has have had got is are was been also 's")
_SUBJECTS = words("it it's they they're they've that's this these there there's")
_POINTING = words("the this that its")
_IN = words("on in at of")
_BEFORE_A_CLAUSE = words(", . and but now then so")
_PLACED = frozenset(("part", "side", "position"))
_COATS = words("paint chrome rubber finish coating")


def extent(row: Sequence[Item], items: Sequence[int]) -> Sequence[int]:
    """The items that a flaw is told in, of those it is read from (`items`, its own item first).

    From its own clause on, and with what opens that: who doubts it, "it's got", "on the tank".
    """
    own = _own_clause(row, items)
    first, flaw = min(own), items[0]
    named = any(row[i].role == "part" for i in own)
    opens = _doubted_from(row, first)
    if opens == first and not named:
        opens = _subject_before(row, first)
    if opens == first and first < flaw and row[first].role in _PLACED:
        opens = _place_before(row, first)
    return own if opens == first else [opens, *own]


def _own_clause(row: Sequence[Item], items: Sequence[int]) -> Sequence[int]:
    """The items of a flaw, from its own clause on where another flaw stands before that.

    Of "the tank has a scratch, and it's got a big dent" the dent is told from "it's got" on.
    """
    flaw = items[0]
    told = [i for i in range(min(items), flaw) if row[i].role in _TELLING]
    if not told:
        return items
    start = next((i + 1 for i in range(flaw - 1, told[-1], -1) if row[i].is_word(_MARKS)), None)
    if start is None:
        return items
    while start < flaw and row[start].is_word(_JOINS):
        start += 1
    if row[start].is_word(_LEANING) or not any(i.is_word(_SAYING) for i in row[start:flaw]):
        return items  # "..., which is cracked", "some dings and scratches"
    return [start, *(i for i in items if i >= start)]


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
    """Where "on the" tank begins, or "rubber on the" pedal."""
    start = first - 1 if first and row[first - 1].is_word(_POINTING) else first
    if not start or not row[start - 1].is_word(_IN):
        return first
    start -= 1
    if not start or row[start - 1].is_word(_BEFORE_A_CLAUSE):
        return start
    coat = row[start - 1].role == "detail" or row[start - 1].is_word(_COATS)
    return start - 1 if coat else first


def _back(row: Sequence[Item], stop: int, small: Container[str], *, qualified: bool = True) -> int:
    """How far back some plain words, and qualifiers, reach without a gap."""
    while stop and (
        (row[stop - 1].role == "word" and row[stop - 1].id in small)
        or (qualified and row[stop - 1].role == "qualifier")
    ):
        stop -= 1
    return stop
