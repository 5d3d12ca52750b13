"""What the talk says about the machine itself: year, make, model, stock number, odometer, VIN.

Kept as spoken, never guessed. The VIN's check digit is that of 49 CFR 565; a bad one is flagged,
never repaired.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.models import Kind, Odometer, Vehicle
from pipeline.understand.amounts import NUMBER_WORDS, number
from pipeline.understand.talk import words
from pipeline.understand.vin import is_valid, letters_of

_HEADER_WORDS = 400
_TEENS = words(
    "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty "
    "forty fifty sixty seventy eighty ninety"
)
_ONES = {w: i for i, w in enumerate("one two three four five six seven eight nine".split(), 1)}
_MODEL_END = words(
    ". , ; : ? ! with in that and it it's we has stock here for from which is this on at so just "
    "there the a an she he i you our we've got only but of showing who or to if motorcycle bike "
    "atv side snowmobile sled watercraft ski cruiser tourer scooter one 's i'll let's full fully up "
    "color colour painted finished wearing i'm let was came coming today right out loaded see sitting "
    "they these number over sold as by vin mileage odometer still looking uh um"
)
_MILES = re.compile(
    r"(?P<num>(?:(?:\d[\d,.]*|[a-z]+) )+)(?P<unit>miles|mile|kilometers|kilometres|kilometer|kilometre|km|kms|k)\b"
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
    first = tokens[0] if tokens else ""
    if re.fullmatch(r"(?:19|20)\d\d", first):
        return int(first), 1
    if first in ("nineteen", "twenty") and len(tokens) > 1:
        century = 1900 if first == "nineteen" else 2000
        if tokens[1] == "hundred":
            return None
        if tokens[1] in ("oh", "o", "zero", "aught") and len(tokens) > 2 and tokens[2] in _ONES:
            return century + _ONES[tokens[2]], 3
        if tokens[1] in _TEENS:
            if len(tokens) > 2 and tokens[2] in _ONES and tokens[1].endswith("ty"):
                return century + int(number(tokens[1]) or 0) + _ONES[tokens[2]], 3
            return century + int(number(tokens[1]) or 0), 2
        if re.fullmatch(r"\d\d", tokens[1]):
            return century + int(tokens[1]), 2
        return None
    if list(tokens[:2]) == ["two", "thousand"]:
        taken = 2
        rest = list(tokens[2:5])
        if rest[:1] == ["and"]:
            rest, taken = rest[1:], 3
        if rest and rest[0] in _TEENS:
            if rest[0].endswith("ty") and len(rest) > 1 and rest[1] in _ONES:
                return 2000 + int(number(rest[0]) or 0) + _ONES[rest[1]], taken + 2
            return 2000 + int(number(rest[0]) or 0), taken + 1
        if rest and rest[0] in _ONES:
            return 2000 + _ONES[rest[0]], taken + 1
        return 2000, 2
    return None


def _year_make_model(talk: _Talk) -> tuple[int | None, str | None, str | None]:
    for index in range(len(talk.lower)):
        found = spoken_year(talk.lower[index : index + 6])
        if found is None:
            continue
        year, taken = found
        after = index + taken
        if talk.lower[after : after + 1] in (["miles"], ["hundred"], ["thousand"], ["percent"]):
            continue
        named = []
        for word, lower in zip(talk.words[after : after + 6], talk.lower[after : after + 6], strict=True):
            if lower in _MODEL_END:
                break
            named.append(word)
        make = named[0] if named else None
        return year, make, " ".join(named[1:]) or None
    return None, None, None


def _stock_number(lower: Sequence[str]) -> str | None:
    for index in range(len(lower) - 2):
        if lower[index] != "stock" or lower[index + 1] not in ("number", "no", "#", "num"):
            continue
        start = index + 2
        while lower[start : start + 1] and lower[start] in ("is", "it's", "'s", "on", "this", "here", "one", ":", ",", "of", "that", "for", "that's", "will", "be"):
            if lower[start] == "one" and lower[start + 1 : start + 2] not in (["is"], ["here"], [","]):
                break
            start += 1
        code = "".join(letters_of(lower[start : start + 24], joined=True))
        if code:
            return code
    return None


def _vin(lower: Sequence[str]) -> str | None:
    for index, word in enumerate(lower):
        if word not in ("vin", "vin's") and list(lower[index : index + 3]) != ["identification", "number", "is"]:
            continue
        for start in range(index + 1, min(index + 16, len(lower))):
            letters = list(_run(lower, start))
            if len(letters) >= 11:
                return "".join(letters)[:17]
    return None


def _run(lower: Sequence[str], start: int) -> Iterator[str]:
    yield from letters_of(lower[start : start + 120], joined=False)


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
        elif distance is None or value > distance.value:
            distance = Odometer(value=value, unit=unit)
    if distance is None:
        distance = _odometer_reading(lower)
    return distance, hours


_UNITS = {
    "miles": "mi", "mile": "mi", "kilometers": "km", "kilometres": "km", "km": "km", "kms": "km",
    "hours": "h", "hour": "h",
}  # fmt: skip


def _is_engine_hours(lower: Sequence[str], index: int) -> bool:
    near = lower[max(0, index - 12) : index + 8]
    cues = words("engine meter clock reads showing shows it's on run total original hobbs machine ski unit with only just has got at")
    after = lower[index + 1 : index + 2]
    away = words("away drive ago later north south east west to from")
    return any(w in cues for w in near) and not (after and after[0] in away)


def _number_before(lower: Sequence[str], stop: int) -> float | None:
    """The number right before a token, in digits or words; a point and "and" are part of it."""
    start = stop
    while start and (lower[start - 1] in ("original", "actual", "total", "genuine", "documented", "engine", "honest", "showing", "highway", "true")):
        start -= 1
    end = start
    while start and (
        lower[start - 1] in NUMBER_WORDS
        or re.fullmatch(r"\d[\d,.]*", lower[start - 1])
        or (lower[start - 1] in ("and", "point", ",", "a") and start - 1 > 0 and _numeric(lower[start - 2]) and start < end)
        or (lower[start - 1] == "a" and start < end and lower[start] == "hundred")
    ):
        start -= 1
    text = " ".join(w for w in lower[start:end] if w != ",")
    if not text:
        return None
    if (paired := _paired(text.split())) is not None:
        return paired
    return number(text.replace("a hundred", "one hundred"))


def _numeric(word: str) -> bool:
    return word in NUMBER_WORDS or bool(re.fullmatch(r"\d[\d,.]*", word))


def _paired(spoken: Sequence[str]) -> float | None:
    """"forty-two fifty" as 4250, "thirty-one hundred" is left to the ordinary reading."""
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
