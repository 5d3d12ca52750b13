"""What odometer and hour meter show, as spoken."""

import re
from collections.abc import Sequence
from itertools import takewhile

from pipeline.models import Odometer
from pipeline.understand.amounts import NUMBER_WORDS, number
from pipeline.understand.plain import words

_UNITS = {
    "miles": "mi", "mile": "mi", "kilometers": "km", "kilometres": "km", "km": "km", "kms": "km",
    "hours": "h", "hour": "h",
}  # fmt: skip
MEASURES = frozenset((*_UNITS, "thousand", "hundred"))
_LEAST_DISTANCE = 10
_LEAST_ON_THE_CLOCK = 100
_BETWEEN = words("original actual total genuine documented engine honest showing highway true")
_HOUR_CUES = words(
    "engine meter clock reads showing shows it's on run total original hobbs with has got only"
)
_NOT_HOURS = words(
    "away drive drove ago later north south east west time within open spent took every"
)
_OF_ANOTHER = words("he's buddy warranty within every service serviced older another")
_DIALS = words("odometer odo mileage")
_ON_THE_CLOCK = (["on", "the", "clock"], ["on", "the", "odometer"], ["on", "the", "odo"])
_DIAL_REACH = 16


def meters(lower: Sequence[str]) -> tuple[Odometer | None, float | None]:
    """Distance and running hours told in lower-case tokens; None for what is not."""
    distance: Odometer | None = None
    hours: float | None = None
    for index, word in enumerate(lower):
        unit = _UNITS.get(word)
        value = _number_before(lower, index) if unit else None
        if value is None:
            continue
        if unit == "h":
            if hours is None and _is_engine_hours(lower, index):
                hours = value
        elif distance is None and value >= _LEAST_DISTANCE and not _is_of_another(lower, index):
            distance = Odometer(value=value, unit=unit)
    distance = distance or _reading_after_dial(lower) or _reading_on_the_clock(lower)
    return distance, hours if hours is not None else _hour_meter(lower)


def is_numeric(word: str) -> bool:
    """Whether a token is a number, in words or digits."""
    return word in NUMBER_WORDS or bool(re.fullmatch(r"\d[\d,.]*", word))


def _is_of_another(lower: Sequence[str], index: int) -> bool:
    """Whether a distance is told of some other machine, or of a warranty or a service."""
    said = takewhile(lambda word: word not in ".?!", reversed(lower[max(0, index - 14) : index]))
    return any(word in _OF_ANOTHER for word in said)


def _is_engine_hours(lower: Sequence[str], index: int) -> bool:
    near = lower[max(0, index - 12) : index + 8]
    after = lower[index + 1 : index + 2]
    told = any(word in _HOUR_CUES for word in near) or (after and after[0] in (",", "."))
    around = lower[max(0, index - 3) : index + 4]
    return bool(told) and not any(word in _NOT_HOURS for word in around)


def _reading_after_dial(lower: Sequence[str]) -> Odometer | None:
    """A reading with no unit after "odometer" or "mileage": miles, as the trade here says it."""
    for index, word in enumerate(lower):
        told = word == "miles" and lower[index + 1 : index + 2] in (["are"], ["is"])
        if word in _DIALS or told:
            value = _number_within(lower, index + 1)
            if value is not None and value >= _LEAST_DISTANCE:
                return Odometer(value=value, unit="mi")
    return None


def _reading_on_the_clock(lower: Sequence[str]) -> Odometer | None:
    """A reading with no unit before "on the clock"."""
    for index in range(len(lower) - 2):
        if list(lower[index : index + 3]) in _ON_THE_CLOCK:
            value = _number_before(lower, index)
            if value is not None and value >= _LEAST_ON_THE_CLOCK:
                return Odometer(value=value, unit="mi")
    return None


def _hour_meter(lower: Sequence[str]) -> float | None:
    """A reading with no unit after "hour meter"."""
    for index in range(len(lower) - 1):
        if lower[index] in ("hour", "hours", "hobbs") and lower[index + 1] == "meter":
            return _number_within(lower, index + 2)
    return None


def _number_within(lower: Sequence[str], start: int) -> float | None:
    """The first number at most some tokens after a start."""
    for stop in range(start + 1, min(start + _DIAL_REACH, len(lower) + 1)):
        pause = list(lower[stop - 1 : stop + 1]) == ["thousand", ","]
        goes_on = pause or (stop < len(lower) and (is_numeric(lower[stop]) or lower[stop] == "and"))
        ended = stop == len(lower) or not goes_on
        if ended and is_numeric(lower[stop - 1]):
            return _number_before(lower, stop)
    return None


def _number_before(lower: Sequence[str], stop: int) -> float | None:
    """The number right before a token, in digits or words; a point and "and" are part of it."""
    start = stop
    while start and lower[start - 1] in _BETWEEN:
        start -= 1
    if start > 2 and lower[start - 1] == "." and _in_a_row(lower[max(0, start - 4) : start - 1]):
        start -= 1  # "12,430 400 and 30. miles"
    end = start
    if list(lower[start - 3 : start]) == ["and", "a", "half"]:
        start -= 3
    while start and _goes_back(lower, start, end):
        start -= 1
    text = " ".join(word for word in lower[start:end] if word != ",")
    return _value(f"one {text.removeprefix('a ')}" if text.startswith("a hundred") else text)


def _in_a_row(words: Sequence[str]) -> bool:
    """Whether a number ends some tokens that is not the first of them."""
    return is_numeric(words[-1]) and any(is_numeric(word) for word in words[:-1])


def _goes_back(lower: Sequence[str], start: int, end: int) -> bool:
    """Whether the token before `start` belongs to the number that ends at `end`."""
    before = lower[start - 1]
    if is_numeric(before):
        return True
    if start == end:
        return False
    return (
        (before in ("and", "point") and start > 1 and is_numeric(lower[start - 2]))
        or (before == "and" and lower[start - 2] == "," and is_numeric(lower[start - 3]))
        or (before == "," and lower[start] == "and")
        or (before == "," and lower[start - 2 : start - 1] == ["thousand"])
        or (before == "a" and lower[start] == "hundred")
    )


def _value(text: str) -> float | None:
    """The value of a reading, also as dials are read: "forty-two fifty", "eight seven four two"."""
    if not text:
        return None
    for read in _in_pieces, _paired:
        if (value := read(text.split())) is not None:
            return value
    if text.endswith("half"):
        whole = number(text.removesuffix(" and a half").removesuffix(" and one half"))
        return None if whole is None else whole + 0.5
    value = number(text)
    if value is not None:
        return value
    high, thousand, low = text.partition(" thousand ")
    many, rest = number(high), _value(low.removeprefix("and ")) if thousand else None
    return None if many is None or rest is None or rest >= 1000 else many * 1000 + rest


def _in_pieces(spoken: Sequence[str]) -> float | None:
    """As recognisers write one long number in pieces, or twice: "41,600 and 8", "18,078 18,760"."""
    values = [number(word) for word in spoken if word != "and"]
    if len(values) < 2 or not spoken[0][0].isdigit() or None in values:
        return None
    known = [value for value in values if value is not None]
    at = max((at for at, value in enumerate(known) if value >= 1000), default=0)
    head, rest = known[at], sum(known[at + 1 :])
    step = 1000 if head % 1000 == 0 else 100
    if head >= 100 and head % step == 0 and rest < step:
        return head + rest
    return head if head >= 1000 and rest < 1000 else None


def _paired(spoken: Sequence[str]) -> float | None:
    """ "Forty-two fifty" is 4250, "two twenty" 220; "thirty-one hundred" is read elsewhere."""
    if not {"hundred", "thousand", "point", "and"}.isdisjoint(spoken):
        return None
    values: list[int] = []
    current = 0
    for word in spoken:
        if word not in NUMBER_WORDS:
            return None
        value = int(number(word) or 0)
        if current >= 20 and 0 < value < 10:
            values[-1] += value
            current = 0
        else:
            values.append(value)
            current = value if value >= 20 else 0
    if len(values) == 2 and 10 <= values[1] <= 99 and 0 < values[0] <= 99:
        return float(values[0] * 100 + values[1])
    if len(values) > 2 and all(value < 10 for value in values):
        return float("".join(map(str, values)))
    return None
