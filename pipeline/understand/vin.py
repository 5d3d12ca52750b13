"""Vehicle identification numbers: spelling words to characters, and the check digit.

Rules: 49 CFR part 565 (content, Table III values, Table IV weights). Spelling words: ICAO Annex 10
and ITU Radio Regulations App. 14 as in SERA.14020 Table S14-2; the police list of APCO 1941-1974;
"B as in boy" with any word.
"""

import re
from collections.abc import Iterator, Sequence

_VALUES = {
    **{str(digit): digit for digit in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7, "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}  # fmt: skip
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"

_SPELLING = (
    "alfa alpha bravo charlie delta echo foxtrot golf hotel india juliett juliet kilo lima mike "
    "november oscar papa quebec romeo sierra tango uniform victor whiskey whisky xray yankee zulu "
    "adam boy charles david edward frank george henry ida john king lincoln mary nora ocean paul "
    "queen robert sam tom union william young zebra michael baker peter nancy yellow dog easy"
).split()
_DIGITS = {
    "zero": "0", "oh": "0", "nought": "0", "one": "1", "won": "1", "two": "2", "too": "2", "to": "2",
    "three": "3", "tree": "3", "four": "4", "for": "4", "fower": "4", "five": "5", "fife": "5",
    "six": "6", "seven": "7", "eight": "8", "ate": "8", "nine": "9", "niner": "9",
}  # fmt: skip
_TEENS = dict(zip(
    "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split(),
    map(str, range(10, 20)), strict=True,
))  # fmt: skip
_TENS = dict(
    zip("twenty thirty forty fifty sixty seventy eighty ninety".split(), range(20, 100, 10), strict=True)
)
_LETTER_NAMES = {
    "bee": "B", "be": "B", "cee": "C", "see": "C", "sea": "C", "dee": "D", "eff": "F", "gee": "G",
    "aitch": "H", "jay": "J", "kay": "K", "el": "L", "ell": "L", "em": "M", "en": "N", "pee": "P",
    "cue": "Q", "are": "R", "ar": "R", "ess": "S", "tee": "T", "tea": "T", "you": "U", "vee": "V",
    "ex": "X", "why": "Y", "zee": "Z", "zed": "Z",
}  # fmt: skip
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
        token = tokens[index]
        following = tokens[index + 1] if index + 1 < len(tokens) else ""
        if token in _SKIP:
            index += 1
            continue
        if token in ("double", "triple"):
            repeat = 2 if token == "double" else 3
            index += 1
            continue
        spelled, taken = _spelled(tokens, index, following, joined)
        if not spelled:
            return
        yield spelled * repeat
        repeat = 1
        index += taken


def _spelled(tokens: Sequence[str], index: int, following: str, joined: bool) -> tuple[str, int]:
    token = tokens[index]
    if len(token) == 1 and token.isalpha():
        if following in ("as", "like", "for") and index + 2 < len(tokens):
            skip = 3 if tokens[index + 2] == "in" else 2
            if token == "a" and skip == 2:
                return token.upper(), 1
            return token.upper(), skip + 1
        return token.upper(), 1
    if token in _TENS:
        if following in _DIGITS and following not in ("zero", "oh", "to", "for", "too", "ate", "won"):
            return str(_TENS[token] + int(_DIGITS[following])), 2
        return str(_TENS[token]), 1
    if token in _TEENS:
        return _TEENS[token], 1
    if token in _DIGITS and (token not in ("to", "for", "too", "won", "ate") or not joined):
        return _DIGITS[token], 1
    if token in _SPELLING:
        return token[0].upper(), 1
    if token == "x" or (token == "ray" and index):
        return "X", 1
    if token in _LETTER_NAMES and not (joined and token in ("see", "you", "are", "be", "why", "sea")):
        return _LETTER_NAMES[token], 1
    if token.isdigit():
        return token, 1
    if joined and re.fullmatch(r"(?=.*\d)[a-z0-9]+", token):
        return token.upper(), 1
    return "", 1
