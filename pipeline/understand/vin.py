"""Vehicle identification numbers: spelling words to characters, and the check digit.

Rules: 49 CFR part 565 (content, Table III values, Table IV weights). Spelling words: ICAO Annex 10
and ITU Radio Regulations App. 14 as in SERA.14020 Table S14-2; the police list of APCO 1941-1974;
"B as in boy" with any word.
"""

import re
from collections.abc import Iterator, Sequence

from pipeline.understand.plain import words

_VALUES = {
    **{str(digit): digit for digit in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7, "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}  # fmt: skip
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
# Characters whose names sound alike in English (the "E set" and its kin; from memory).
_SOUND_ALIKE = ("BCDEGPTVZ3", "AHJK8", "FSX", "MN", "59")
_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"

_SPELLING = words(
    "alfa alpha bravo charlie delta echo foxtrot golf hotel india juliett juliet kilo lima mike "
    "november oscar papa quebec romeo sierra tango uniform victor whiskey whisky xray yankee zulu "
    "adam boy charles david edward frank george henry ida john king lincoln mary nora ocean paul "
    "queen robert sam tom union william young zebra michael baker peter nancy yellow dog easy "
    "mic poppa"  # as recognisers write Mike and Papa
)
_DIGITS = {
    "zero": "0", "oh": "0", "nought": "0", "one": "1", "wun": "1", "two": "2", "three": "3",
    "tree": "3", "four": "4", "fower": "4", "five": "5", "fife": "5", "six": "6", "seven": "7",
    "eight": "8", "ait": "8", "nine": "9", "niner": "9",
}  # fmt: skip
# Digits and letters as they may be written that are more often ordinary words.
_SOUND_ALIKE_DIGITS = {"won": "1", "too": "2", "to": "2", "for": "4", "ate": "8"}
_TEENS = {
    "ten": "10", "eleven": "11", "twelve": "12", "thirteen": "13", "fourteen": "14",
    "fifteen": "15", "sixteen": "16", "seventeen": "17", "eighteen": "18", "nineteen": "19",
}  # fmt: skip
_TENS = {
    "twenty": "2", "thirty": "3", "forty": "4", "fifty": "5", "sixty": "6", "seventy": "7",
    "eighty": "8", "ninety": "9",
}  # fmt: skip
_LETTER_NAMES = {
    "bee": "B", "cee": "C", "dee": "D", "eff": "F", "gee": "G", "aitch": "H", "jay": "J",
    "kay": "K", "el": "L", "ell": "L", "em": "M", "en": "N", "pee": "P", "cue": "Q", "ar": "R",
    "ess": "S", "tee": "T", "tea": "T", "vee": "V", "ex": "X", "zee": "Z", "zed": "Z",
}  # fmt: skip
_SOUND_ALIKE_LETTERS = {"be": "B", "see": "C", "sea": "C", "are": "R", "you": "U", "why": "Y"}
_REPEATS = {"double": 2, "triple": 3}
_SKIP = frozenset((",", "-", ".", "dash", "then", "space", "…", "uh", "um", "and", ":", "again"))


def check_digit(vin: str) -> str:
    """The right character for position 9 of a 17-character VIN, "0" to "9" or "X".

    Raises ValueError for a wrong length or a character that no VIN has (I, O, Q, marks).
    """
    if len(vin) != 17 or any(character not in _VALUES for character in vin):
        raise ValueError("a VIN has 17 characters, digits and letters other than I, O and Q")
    remainder = sum(_VALUES[c] * w for c, w in zip(vin, _WEIGHTS, strict=True)) % 11
    return "X" if remainder == 10 else str(remainder)


def is_valid(vin: str) -> bool:
    """Whether length, characters, check digit and year code (no U, Z, 0) are right."""
    try:
        return check_digit(vin) == vin[8] and vin[9] in _YEAR_CODES
    except ValueError:
        return False


def misheard(vin: str) -> list[str]:
    """The VINs one sound-alike character away from a bad one that have a right check digit.

    They are offered, never put in its place. Empty for a VIN of a wrong length.
    """
    near = (
        vin[:place] + other + vin[place + 1 :]
        for place, character in enumerate(vin)
        for group in _SOUND_ALIKE
        if character in group
        for other in group
        if other != character
    )
    return [candidate for candidate in near if is_valid(candidate)]


def model_years(code: str) -> tuple[int, ...]:
    """The model years 1980-2039 of a position-10 code; empty for a character that is none."""
    index = _YEAR_CODES.find(code)
    return () if index < 0 else (1980 + index, 2010 + index)


def letters_of(tokens: Sequence[str], *, joined: bool) -> Iterator[str]:
    """The characters spelled out at the start of a run of lower-case tokens.

    Stops at the first token that spells nothing. With `joined`, a token of letters and digits
    ("b4471") counts too, as in a stock number; a comma then ends it only before a longer word.
    """
    index = 0
    repeat = 1
    while index < len(tokens):
        if tokens[index] in _SKIP:
            index += 1
        elif tokens[index] in _REPEATS:
            repeat = _REPEATS[tokens[index]]
            index += 1
        else:
            spelled, taken = _spelled(tokens, index, joined)
            if not spelled:
                return
            yield spelled[0] * (repeat - 1) + spelled
            repeat = 1
            alone = taken == 1 and len(tokens[index]) == 1
            index += taken
            if alone:
                index += _said_twice(spelled, tokens, index)


def _said_twice(letter: str, tokens: Sequence[str], index: int) -> int:
    """How many tokens only spell a letter again: "B, bravo" is one B."""
    skipped = index
    while skipped < len(tokens) and tokens[skipped] in _SKIP:
        skipped += 1
    again = skipped < len(tokens) and tokens[skipped] in _SPELLING
    return skipped + 1 - index if again and tokens[skipped][0].upper() == letter else 0


def _spelled(tokens: Sequence[str], index: int, joined: bool) -> tuple[str, int]:
    """What the token at an index spells, empty where nothing, and how many tokens that takes."""
    token = tokens[index]
    following = tokens[index + 1] if index + 1 < len(tokens) else ""
    if token in ("x", "ex") and "ray" in tokens[index + 1 : index + 3]:
        return "X", tokens.index("ray", index) + 1 - index  # "X-ray", "ex ray"
    if len(token) == 1 and token.isalpha():
        return token.upper(), _letter_length(tokens, index)
    if token in _TENS:
        return (
            (_TENS[token] + _DIGITS[following], 2)
            if _is_one(following)
            else (_TENS[token] + "0", 1)
        )
    return _spelled_alone(token, joined), 1


def _is_one(token: str) -> bool:
    return token in _DIGITS and _DIGITS[token] != "0"


def _letter_length(tokens: Sequence[str], index: int) -> int:
    """How many tokens a letter takes: "b", "b as in boy", "b for boy"; "a for" is none."""
    if tokens[index + 1 : index + 2] not in (["as"], ["like"], ["for"]) or index + 2 >= len(tokens):
        return 1
    if tokens[index + 2] == "in":
        return 4
    return 1 if tokens[index] == "a" else 3


def _spelled_alone(token: str, joined: bool) -> str:
    if token in _SPELLING:
        return token[0].upper()
    for table in _TEENS, _DIGITS, _LETTER_NAMES:
        if token in table:
            return table[token]
    if joined:
        return token.upper() if re.fullmatch(r"(?=.*\d)[a-z0-9]+", token) else ""
    if token.isdigit():
        return token
    return _SOUND_ALIKE_DIGITS.get(token) or _SOUND_ALIKE_LETTERS.get(token, "")
