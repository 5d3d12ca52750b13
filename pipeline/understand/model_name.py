"""Year, make and model as the speaker names the machine; kept as spoken, never guessed."""

import re
from collections.abc import Sequence
from itertools import takewhile

from pipeline.understand.amounts import number
from pipeline.understand.plain import words

_LONGEST_NAME = 5
_NAME_REACH = 30
_CENTURIES = {"nineteen": 1900, "twenty": 2000}
_NOUGHTS = words("oh o zero aught")
_ONES = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9,
}  # fmt: skip
_TEENS = words(
    "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty "
    "forty fifty sixty seventy eighty ninety"
)
_NOT_AFTER_A_YEAR = words(
    "miles mile hundred thousand percent millimeters millimetres inches kilometers dollars bucks "
    "rpm pounds feet minutes hours years people"
)
_MODEL_END = words(
    ". , ; : ? ! with in that and it it's we has stock here for from which is this on at so just "
    "there the a an she he i you our we've got only but of showing who or to if motorcycle bike "
    "atv side snowmobile sled watercraft ski cruiser tourer scooter one 's i'll let's full fully "
    "up color colour painted finished wearing i'm let was came coming today right out loaded see "
    "sitting they these number over sold as by vin mileage odometer still looking uh um my name "
    "unit edition"
)
# Years said in short ("an oh nine", "a ninety-eight") from this one on are of the last century.
_OLDEST_SHORT_YEAR = 50
_TIRES = words("tire tires tyre tyres")
_TIRE_REACH = 5


def year_make_model(spoken: Sequence[str]) -> tuple[int | None, str | None, str | None]:
    """The first year with a name beside it; the name follows it, or is the last one before it.

    Without one, the first year alone.
    """
    lower = [word.lower() for word in spoken]
    alone: int | None = None
    for index in range(len(lower)):
        found = spoken_year(lower[index : index + 6])
        if found is not None:
            year, taken = found
            after = index + taken
            if lower[after : after + 1] and lower[after] in _NOT_AFTER_A_YEAR:
                continue
            if _is_of_a_tire(lower, index):
                continue
            named = _name_after(spoken, lower, after) or _name_before(spoken, lower, index)
            if named:
                return year, named[0], " ".join(named[1:]) or None
            alone = alone or year
        elif (short := _short_year(lower[index : index + 3])) is not None:
            year, taken = short
            named = _name_after(spoken, lower, index + taken)
            if len(named) > 1 and named[0][:1].isupper():
                return year, named[0], " ".join(named[1:])
    return alone, None, None


def spoken_year(tokens: Sequence[str]) -> tuple[int, int] | None:
    """A model year that the tokens open with, and how many tokens it takes.

    >>> spoken_year(["twenty", "fourteen", "corvane"]), spoken_year(["two", "thousand", "nine"])
    ((2014, 2), (2009, 3))
    """
    if re.fullmatch(r"(?:19|20)\d\d", tokens[0] if tokens else ""):
        return int(tokens[0]), 1
    if list(tokens[:2]) == ["two", "thousand"]:
        lead = 3 if list(tokens[2:3]) == ["and"] else 2
        found = _below_hundred(tokens[lead:])
        return (2000 + found[0], lead + found[1]) if found else (2000, 2)
    century = _CENTURIES.get(tokens[0]) if tokens else None
    rest = tokens[1:]
    if century is None or not rest:
        return None
    if rest[0] in _NOUGHTS:
        lead, found = 2, _below_hundred(rest[1:])
    else:
        lead, found = 1, _below_hundred(rest)
    if found is None or (found[0] < 10) != (lead == 2):
        return None
    return century + found[0], lead + found[1]


def _is_of_a_tire(lower: Sequence[str], index: int) -> bool:
    """Whether a year is that of a tire: "the rear tire is a twenty nineteen"."""
    before = list(takewhile(lambda word: word != ".", reversed(lower[:index])))
    return any(word in _TIRES for word in before[:_TIRE_REACH])


def _short_year(tokens: Sequence[str]) -> tuple[int, int] | None:
    """A year said in short: "oh nine", "ninety-eight"."""
    if tokens[:1] and tokens[0] in _NOUGHTS and tokens[1:2] and tokens[1] in _ONES:
        return 2000 + _ONES[tokens[1]], 2
    found = _below_hundred(tokens)
    if found is None or found[0] < _OLDEST_SHORT_YEAR:
        return None
    return 1900 + found[0], found[1]


def _below_hundred(tokens: Sequence[str]) -> tuple[int, int] | None:
    """A number below a hundred that the tokens open with, and how many tokens it takes."""
    first, second = [*tokens[:2], "", ""][:2]
    if first in _ONES:
        return _ONES[first], 1
    if re.fullmatch(r"\d\d", first):
        return int(first), 1
    if first not in _TEENS:
        return None
    value = int(number(first) or 0)
    return (value + _ONES[second], 2) if first.endswith("ty") and second in _ONES else (value, 1)


def _name_after(spoken: Sequence[str], lower: Sequence[str], start: int) -> list[str]:
    """The name that opens at a token; capitals tell it where the text has any."""
    cased = list(spoken) != list(lower)
    named = _run(spoken[start : start + _LONGEST_NAME], cased)
    if named or not cased or lower[start : start + 1] != [","]:
        return named + _model_number(lower, start + len(named)) if named else []
    make = _run(spoken[start + 1 : start + 1 + _LONGEST_NAME], cased)  # "twenty ten, Corvane, ..."
    after = start + 1 + len(make)
    if len(make) == 1 and lower[after : after + 1] == [","]:
        return make + _run(spoken[after + 1 : after + _LONGEST_NAME], cased)
    return make


def _model_number(lower: Sequence[str], start: int) -> list[str]:
    """The number that a name goes on with, in digits: "two fifty", "nine hundred"."""
    first, second = [*lower[start : start + 2], "", ""][:2]
    if first not in _ONES:
        return []
    rest = (0, 1) if second == "hundred" else _below_hundred(lower[start + 1 : start + 3])
    if rest is None or (second != "hundred" and rest[0] < 10):
        return []
    after = lower[start + 1 + rest[1] : start + 2 + rest[1]]
    counted = bool(after) and (after[0] in _NOT_AFTER_A_YEAR or after[0] in _ONES)
    return [] if counted else [str(100 * _ONES[first] + rest[0])]


def _run(spoken: Sequence[str], cased: bool) -> list[str]:
    """The words of a name that some tokens open with."""
    return list(takewhile(lambda word: _names(word, cased), spoken))


def _names(word: str, cased: bool) -> bool:
    if word.lower() in _MODEL_END:
        return False
    return not cased or word[0].isupper() or word[0].isdigit()


def _name_before(spoken: Sequence[str], lower: Sequence[str], stop: int) -> list[str]:
    """The last two or more capitalised words before a token ("the Sandrell Gopher, 2019")."""
    end = stop
    while end > max(0, stop - _NAME_REACH):
        start = end
        while start and spoken[start - 1][:1].isupper() and lower[start - 1] not in _MODEL_END:
            start -= 1
        if end - start >= 2:
            return [*spoken[start:end], *_model_number(lower, end)]
        end = min(start, end - 1)
    return []
