"""What the talk says about the machine itself: year, make, model, stock number, odometer, VIN.

Kept as spoken, never guessed. The VIN's check digit is that of 49 CFR 565; a bad one is flagged,
never repaired.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.models import Kind, Odometer, Vehicle
from pipeline.understand.amounts import NUMBER_WORDS, number
from pipeline.understand.plain import words
from pipeline.understand.vin import is_valid, letters_of

_HEADER_WORDS = 400
_VIN_LENGTH = 17
_VIN_LEAST = 11
_TEENS = words(
    "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty "
    "forty fifty sixty seventy eighty ninety"
)
_NAME_REACH = 30
_STOCK_REACH = 12
_STOCK_LEAD = words("number no # num 's")
_BEFORE_A_CODE = words(
    "is it's on this here of that for that's will be let me look see uh um , : our the and which "
    "one's"
)
_NOT_AFTER_A_YEAR = words(
    "miles mile hundred thousand percent millimeters millimetres inches kilometers dollars bucks "
    "rpm pounds feet minutes hours years people"
)
_CENTURIES = {"nineteen": 1900, "twenty": 2000}
_NOUGHTS = words("oh o zero aught")
_ONES = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9,
}  # fmt: skip
_MODEL_END = words(
    ". , ; : ? ! with in that and it it's we has stock here for from which is this on at so just "
    "there the a an she he i you our we've got only but of showing who or to if motorcycle bike "
    "atv side snowmobile sled watercraft ski cruiser tourer scooter one 's i'll let's full fully "
    "up color colour painted finished wearing i'm let was came coming today right out loaded see "
    "sitting they these number over sold as by vin mileage odometer still looking uh um"
)


@dataclass(frozen=True)
class _Talk:
    words: list[str]
    lower: list[str]


def read_header(spoken: Sequence[str], kind: Kind) -> Vehicle:
    """The header of a talk, given its tokens in order and in their own spelling."""
    head = list(spoken[:_HEADER_WORDS])
    talk = _Talk(head, [w.lower() for w in head])
    year, make, model = _year_make_model(talk)
    all_lower = [w.lower() for w in spoken]
    vin = _vin(all_lower)
    distance, hours = _odometer(all_lower)
    flags = []
    valid = None
    if vin is not None:
        valid = is_valid(vin)
        if not valid:
            flags.append("vin_check_digit")
    return Vehicle(
        kind=kind, year=year, make=make, model=model, vin=vin, vin_valid=valid,
        stock_number=_stock_number(all_lower), odometer=distance, hours=hours, flags=flags,
    )  # fmt: skip


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


def _year_make_model(talk: _Talk) -> tuple[int | None, str | None, str | None]:
    """The first year with a name beside it; the name follows it, or is the last one before it."""
    for index in range(len(talk.lower)):
        found = spoken_year(talk.lower[index : index + 6])
        if found is None:
            continue
        year, taken = found
        after = index + taken
        if talk.lower[after : after + 1] and talk.lower[after] in _NOT_AFTER_A_YEAR:
            continue
        named = _name_after(talk, after) or _name_before(talk, index)
        if named:
            return year, named[0], " ".join(named[1:]) or None
        return year, None, None
    return None, None, None


def _name_after(talk: _Talk, start: int) -> list[str]:
    """The name that opens at a token; capitals tell it where the text has any."""
    cased = talk.words != talk.lower
    named: list[str] = []
    for word, lower in zip(
        talk.words[start : start + 5], talk.lower[start : start + 5], strict=True
    ):
        if lower in _MODEL_END or (cased and not (word[0].isupper() or word[0].isdigit())):
            break
        named.append(word)
    return named


def _name_before(talk: _Talk, stop: int) -> list[str]:
    """The last two or more capitalised words before a token ("the Sandrell Gopher, 2019")."""
    end = stop
    while end > max(0, stop - _NAME_REACH):
        start = end
        while (
            start
            and talk.words[start - 1][:1].isupper()
            and talk.lower[start - 1] not in _MODEL_END
        ):
            start -= 1
        if end - start >= 2:
            return talk.words[start:end]
        end = min(start, end - 1)
    return []


def _stock_number(lower: Sequence[str]) -> str | None:
    """The code after "stock number"; it must hold a digit, as "in stock and ready" has none."""
    for index, word in enumerate(lower):
        if word != "stock":
            continue
        for start in range(index + 1, min(index + _STOCK_REACH, len(lower))):
            if lower[start] in _STOCK_LEAD or lower[start] in _BEFORE_A_CODE:
                continue
            code = "".join(letters_of(_until_pause(lower, start), joined=True))
            if len(code) > 1 and any(character.isdigit() for character in code):
                return code
            if lower[start - 1] not in _BEFORE_A_CODE:
                break
    return None


def _until_pause(lower: Sequence[str], start: int) -> list[str]:
    """The tokens of a code: up to a full stop, or a comma after which a measure is told."""
    taken: list[str] = []
    for index in range(start, min(start + 24, len(lower))):
        if lower[index] in (".", "?", "!", ";"):
            break
        ahead = lower[index + 1 : index + 9]
        after = lower[index + 1 : index + 3]
        goes_on = after[:1] in (["a"], ["an"], ["the"]) and len(after[-1]) > 1
        year = spoken_year(lower[index + 2 : index + 8]) is not None
        if lower[index] == "," and goes_on and (year or not _numeric(after[-1])):
            break
        if lower[index] == "," and any(w in _UNITS or w in ("thousand", "hundred") for w in ahead):
            break
        taken.append(lower[index])
    return taken


def _vin(lower: Sequence[str]) -> str | None:
    """The characters read out after "VIN": the reading of 17 if there is one, else the longest."""
    for index, word in enumerate(lower):
        if word != "vin" and list(lower[index : index + 2]) != ["identification", "number"]:
            continue
        readings = [
            "".join(letters_of(lower[start : start + 120], joined=False))
            for start in range(index + 1, min(index + 16, len(lower)))
        ]
        whole = [reading[:_VIN_LENGTH] for reading in readings if len(reading) >= _VIN_LENGTH]
        if whole:
            return next((reading for reading in whole if is_valid(reading)), whole[0])
        longest = max(readings, key=len, default="")
        if len(longest) >= _VIN_LEAST:
            return longest
    return None


def _odometer(lower: Sequence[str]) -> tuple[Odometer | None, float | None]:
    distance: Odometer | None = None
    hours: float | None = None
    for index, word in enumerate(lower):
        unit = _UNITS.get(word)
        if unit is None:
            continue
        value = _number_before(lower, index)
        if value is None:
            continue
        if unit == "h":
            if hours is None and _is_engine_hours(lower, index):
                hours = value
        elif distance is None and value >= _LEAST_DISTANCE and not _of_another(lower, index):
            distance = Odometer(value=value, unit=unit)
    if distance is None:
        distance = _odometer_reading(lower)
    return distance, hours


_UNITS = {
    "miles": "mi", "mile": "mi", "kilometers": "km", "kilometres": "km", "km": "km", "kms": "km",
    "hours": "h", "hour": "h",
}  # fmt: skip


def _of_another(lower: Sequence[str], index: int) -> bool:
    """Whether a distance is told of some other machine, or of a warranty or a service."""
    return any(word in _OTHERS for word in lower[max(0, index - 14) : index])


_LEAST_DISTANCE = 10
_HOUR_CUES = words(
    "engine meter clock reads showing shows it's on run total original hobbs with has got only"
)
_NOT_HOURS = words(
    "away drive drove ago later north south east west time within open spent took every"
)
_OTHERS = words("he's buddy warranty within every service serviced older another")


def _is_engine_hours(lower: Sequence[str], index: int) -> bool:
    near = lower[max(0, index - 12) : index + 8]
    after = lower[index + 1 : index + 2]
    told = any(word in _HOUR_CUES for word in near) or (after and after[0] in (",", "."))
    return bool(told) and not any(word in _NOT_HOURS for word in lower[index - 3 : index + 4])


def _number_before(lower: Sequence[str], stop: int) -> float | None:
    """The number right before a token, in digits or words; a point and "and" are part of it."""
    start = stop
    while start and (
        lower[start - 1]
        in (
            "original",
            "actual",
            "total",
            "genuine",
            "documented",
            "engine",
            "honest",
            "showing",
            "highway",
            "true",
        )
    ):
        start -= 1
    end = start
    if list(lower[start - 3 : start]) == ["and", "a", "half"]:
        start -= 3
    while start and (
        lower[start - 1] in NUMBER_WORDS
        or re.fullmatch(r"\d[\d,.]*", lower[start - 1])
        or (
            lower[start - 1] in ("and", "point")
            and start > 1
            and start < end
            and _numeric(lower[start - 2])
        )
        or (
            lower[start - 1] == "," and start < end and lower[start - 2 : start - 1] == ["thousand"]
        )
        or (lower[start - 1] == "a" and start < end and lower[start] == "hundred")
    ):
        start -= 1
    text = " ".join(w for w in lower[start:end] if w != ",")
    if text.startswith("a hundred"):
        text = f"one {text.removeprefix('a ')}"
    if not text:
        return None
    if (paired := _paired(text.split())) is not None:
        return paired
    return _halved(text) if text.endswith("half") else number(text)


def _halved(text: str) -> float | None:
    whole = number(text.removesuffix(" and a half").removesuffix(" and one half"))
    return None if whole is None else whole + 0.5


def _numeric(word: str) -> bool:
    return word in NUMBER_WORDS or bool(re.fullmatch(r"\d[\d,.]*", word))


def _paired(spoken: Sequence[str]) -> float | None:
    """ "forty-two fifty" as 4250, "thirty-one hundred" is left to the ordinary reading."""
    if "hundred" in spoken or "thousand" in spoken or "point" in spoken or "and" in spoken:
        return None
    values = []
    current = 0
    for word in spoken:
        if word not in NUMBER_WORDS:
            return None
        value = int(number(word) or 0)
        if value >= 20:
            values.append(value)
            current = value
        elif current >= 20 and 0 < value < 10:
            values[-1] += value
            current = 0
        else:
            values.append(value)
            current = 0
    if len(values) == 2 and all(10 <= v <= 99 for v in values):
        return float(values[0] * 100 + values[1])
    if len(values) > 2 and all(v < 10 for v in values):
        return float("".join(map(str, values)))
    return None


def _odometer_reading(lower: Sequence[str]) -> Odometer | None:
    """A reading with no unit right after "odometer": miles, as the trade here says it."""
    for index, word in enumerate(lower):
        if word not in ("odometer", "odo"):
            continue
        for stop in range(index + 1, min(index + 16, len(lower) + 1)):
            ended = stop == len(lower) or not (_numeric(lower[stop]) or lower[stop] == "and")
            if ended and stop > index + 1 and _numeric(lower[stop - 1]):
                value = _number_before(lower, stop)
                if value is not None and value >= 10:
                    return Odometer(value=value, unit="mi")
    return None
