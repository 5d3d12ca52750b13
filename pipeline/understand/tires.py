"""Tire date codes as spoken ("date code thirty-two nineteen"), and a tire's age on a day.

49 CFR 574.5: the last four digits of a tire's identification number are the week and the year in
which it was made; four since 2000 (64 FR 36807), three before, with the year's last digit alone.
"""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from pipeline.models import Position, TireDate
from pipeline.understand.plain import words
from pipeline.understand.vin import letters_of

_CUES = words("dot dated")
_TIRES = words("tire tires tyre tyres")
_SENTENCE_ENDS = words(". ? ! ;")
_CLAUSE_ENDS = words(", : and")
_POSITIONS: dict[str, Position] = {"front": "front", "rear": "rear", "back": "rear"}
_REACH_BACK, _REACH_FORWARD = 8, 20
_WEEKS = range(1, 54)
_DAYS_A_YEAR = 365.2425


def tire_dates(lower: Sequence[str]) -> list[TireDate]:
    """The date codes told in lower-case tokens, each with the position of its tire if said."""
    told = []
    for span in dated_spans(lower):
        position: Position | None = None
        for clause in _clauses(lower[span.start : span.stop]):
            here = next((_POSITIONS[word] for word in clause if word in _POSITIONS), None)
            position = here or position
            code = _code(clause)
            if code and (here or _is_of_a_tire(clause)):
                told.append(read_code(code, position))
    return told


def dated_spans(lower: Sequence[str]) -> Iterator[range]:
    """The stretches of tokens that speak of date codes, so that nothing else is read there."""
    free = 0
    for index in range(len(lower)):
        after = lower[index + 1] if index + 1 < len(lower) else ""
        if index < free or not _opens_a_cue(lower[index], after):
            continue
        start = index
        while start > max(free, index - _REACH_BACK) and lower[start - 1] not in _SENTENCE_ENDS:
            start -= 1
        stop = index
        while stop < min(len(lower), index + _REACH_FORWARD) and lower[stop] not in _SENTENCE_ENDS:
            stop += 1
        if lower[index] != "dated" or not _TIRES.isdisjoint(lower[start:stop]):
            free = stop
            yield range(start, stop)


def read_code(code: str, position: Position | None = None) -> TireDate:
    """A code of four digits, or three of before 2000; an impossible week leaves both unread.

    >>> read_code("2319").week, read_code("2319").year, read_code("439").year
    (23, 2019, None)
    """
    week: int | None = int(code[:2])
    year = 2000 + int(code[2:]) if len(code) == 4 else None
    if week not in _WEEKS:
        week = year = None
    return TireDate(code=code, week=week, year=year, position=position)


def age_years(tire: TireDate, on: date) -> float | None:
    """Years from a tire's week to a day; None where the year is not told or is yet to come.

    Week 1 is taken for the first full one, from Sunday to Saturday.
    """
    if tire.year is None or tire.week is None:
        return None
    new_year = date(tire.year, 1, 1)
    first_sunday = new_year + timedelta(days=(6 - new_year.weekday()) % 7)
    days = (on - first_sunday - timedelta(weeks=tire.week - 1)).days
    return days / _DAYS_A_YEAR if days >= 0 else None


def _opens_a_cue(word: str, after: str) -> bool:
    return word in _CUES or (word == "date" and after.startswith(("code", "stamp")))


def _is_of_a_tire(clause: Sequence[str]) -> bool:
    """Whether a clause speaks of a tire or of a date code."""
    cued = any(_opens_a_cue(*pair) for pair in zip(clause, [*clause[1:], ""], strict=True))
    return cued or not _TIRES.isdisjoint(clause)


def _clauses(tokens: Sequence[str]) -> Iterator[Sequence[str]]:
    start = 0
    for index, word in enumerate([*tokens, ","]):
        if word in _CLAUSE_ENDS:
            yield tokens[start:index]
            start = index + 1


def _code(clause: Sequence[str]) -> str | None:
    """The three or four digits of a clause: "thirty-two nineteen", "oh three oh one", "3219"."""
    for start in range(len(clause)):
        figures: list[str] = []
        for figure in letters_of(clause[start:], joined=True):
            if not figure.isdigit():
                break
            figures.append(figure)
        if not figures:
            continue
        if "hundred" in clause[start : start + 3]:  # "thirty-five hundred" is 3500
            figures.append("00")
        if len(figures) == 2 and len(figures[0]) == 1 and len(figures[1]) == 2:
            figures[0] = f"0{figures[0]}"  # "three nineteen"
        code = "".join(figures)
        return code if len(code) in (3, 4) else None
    return None
