"""Codes read out in a talk: the stock number and the VIN."""

from collections.abc import Iterator, Sequence
from itertools import takewhile, zip_longest

from pipeline.understand.amounts import number
from pipeline.understand.meter import MEASURES, is_numeric
from pipeline.understand.model_name import spoken_year
from pipeline.understand.plain import words
from pipeline.understand.talk import COMMON_WORDS
from pipeline.understand.vin import is_valid, letters_of

_VIN_LENGTH = 17
_VIN_LEAST = 11
_VIN_REACH = 16
_DIGITS_OF_A_VIN = 4  # the serial number alone ends in four
_STOCK_REACH = 12
_LONGEST_CODE = 24
_LETTERS_OF_A_CODE = 3
_STOCK_LEAD = words("number no # num 's tag sticker code reads says shows")
_MARKS = words(", . ? ! ; :")
_BEFORE_A_CODE = words(
    "is it's on this here of that for that's will be let me look see uh um , : our the and which "
    "one's"
)


def stock_number(lower: Sequence[str]) -> str | None:
    """The code after "stock number"; it must hold a digit, as "in stock and ready" has none."""
    for index, word in enumerate(lower):
        if word != "stock":
            continue
        for start in range(index + 1, min(index + _STOCK_REACH, len(lower))):
            if lower[start] in _STOCK_LEAD or lower[start] in _BEFORE_A_CODE:
                continue
            code = _code(_until_pause(lower, start))
            if len(code) > 1 and any(character.isdigit() for character in code):
                return code
            if lower[start - 1] not in _BEFORE_A_CODE:
                break
    return None


def _code(tokens: Sequence[str]) -> str:
    """The characters of a code; "seven hundred twelve" is 712."""
    if "hundred" in tokens and all(is_numeric(token) for token in tokens):
        value = number(" ".join(tokens))
        return "" if value is None else f"{value:.0f}"
    return "".join(letters_of([*_apart(tokens)], joined=True))


def _apart(tokens: Sequence[str]) -> Iterator[str]:
    """Letters written together before digits ("rr 17" of "RR17"), one by one."""
    for token, after in zip_longest(tokens, tokens[1:], fillvalue=""):
        short = 1 < len(token) <= _LETTERS_OF_A_CODE and token.isalpha()
        if short and after[:1].isdigit() and token not in COMMON_WORDS:
            yield from token
        else:
            yield token


def _until_pause(lower: Sequence[str], start: int) -> list[str]:
    """The tokens of a code: up to a full stop, or a comma after which a measure is told."""
    taken: list[str] = []
    for index in range(start, min(start + _LONGEST_CODE, len(lower))):
        if lower[index] in (".", "?", "!", ";"):
            break
        ahead = lower[index + 1 : index + 9]
        after = lower[index + 1 : index + 3]
        goes_on = after[:1] in (["a"], ["an"], ["the"]) and len(after[-1]) > 1
        year = spoken_year(lower[index + 2 : index + 8]) is not None
        if lower[index] == "," and goes_on and (year or not is_numeric(after[-1])):
            break
        piece = _piece(lower, index + 1)
        if lower[index] == "," and len(piece) > 1:
            if any(word in MEASURES for word in ahead):
                break
            if taken and is_numeric(piece[0]) and not is_numeric(piece[1]) and len(piece[1]) > 1:
                break  # "nine, oh, five, one owner"
        taken.append(lower[index])
    return taken


def _piece(lower: Sequence[str], start: int) -> list[str]:
    """The tokens up to the next mark."""
    return list(takewhile(lambda token: token not in _MARKS, lower[start:]))


def vin(lower: Sequence[str]) -> str | None:
    """The characters read out after "VIN": the reading of 17 if there is one, else the longest."""
    for index, word in enumerate(lower):
        if word != "vin" and list(lower[index : index + 2]) != ["identification", "number"]:
            continue
        written = next(filter(None, (_written(lower, at) for at in _near(lower, index))), None)
        if written is not None:
            return written
        readings = [
            "".join(letters_of(lower[start : start + 120], joined=False))
            for start in _near(lower, index)
        ]
        whole = [reading[:_VIN_LENGTH] for reading in readings if len(reading) >= _VIN_LENGTH]
        if whole:
            return next((reading for reading in whole if is_valid(reading)), whole[0])
        longest = max(readings, key=len, default="")
        if len(longest) >= _VIN_LEAST:
            return longest
    return None


def _near(lower: Sequence[str], index: int) -> range:
    """Where a VIN announced by the token at an index may begin."""
    return range(index + 1, min(index + _VIN_REACH, len(lower)))


def _written(lower: Sequence[str], start: int) -> str | None:
    """The VIN that a recogniser or a caption wrote in one piece, which is cut into tokens."""
    text = ""
    for token in lower[start : start + _VIN_LENGTH]:
        text += token.upper()
        if len(text) >= _VIN_LENGTH or not token.isalnum():
            break
    digits = sum(character.isdigit() for character in text)
    written = len(text) == _VIN_LENGTH and text.isalnum() and digits >= _DIGITS_OF_A_VIN
    return text if written else None
