"""Spoken numbers, sizes and areas: "an inch and a half", "two or three", "size of a dime".

Whole numbers in words are read by text2num; fractions, ranges and the units of the trade here.
Sizes are in millimetres, areas in percent; of a range the larger end is taken.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from spacy.language import Language
from spacy.tokens import Doc
from text_to_num import text2num

from pipeline.understand.plain import words
from pipeline.understand.terms import Item
from pipeline.understand.tokens import pieces

# Millimetres in each unit. The inch is 25.4 mm exactly (yard and pound agreement of 1 July 1959,
# NIST SP 811 App. B); foot, yard and mil follow from it.
UNITS_MM = {
    "inch": 25.4, "inches": 25.4, "in": 25.4, '"': 25.4, "foot": 304.8, "feet": 304.8, "ft": 304.8,
    "yard": 914.4, "yards": 914.4, "mil": 0.0254, "mils": 0.0254, "thou": 0.0254,
    "mm": 1.0, "millimeter": 1.0, "millimeters": 1.0, "millimetre": 1.0, "millimetres": 1.0,
    "mil.": 1.0, "cm": 10.0, "centimeter": 10.0, "centimeters": 10.0,
    "centimetre": 10.0, "centimetres": 10.0,
}  # fmt: skip
_LONGEST_MM = 2500.0  # nothing on a machine has a longer flaw: "I rolled it ten feet"
_FAR_UNITS = frozenset(("foot", "feet", "ft", "yard", "yards"))
_FRACTIONS = {
    "half": 1 / 2, "halves": 1 / 2, "quarter": 1 / 4, "quarters": 1 / 4,
    **{name + plural: 1 / of for plural in ("", "s") for name, of in (
        ("third", 3), ("fourth", 4), ("fifth", 5), ("sixth", 6), ("seventh", 7), ("eighth", 8),
        ("ninth", 9), ("tenth", 10), ("sixteenth", 16), ("thirty second", 32), ("sixty fourth", 64),
    )},
}  # fmt: skip
_ONES = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
]  # fmt: skip
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
NUMBER_WORDS = frozenset([*_ONES, *_TENS, "hundred", "thousand"])

_NUM = rf"(?:\d+(?:[.,]\d+)*(?:/\d+)?|(?:{'|'.join(sorted(NUMBER_WORDS, key=len, reverse=True))}))"
# The digits after "point", one by one; a number is one too ("point twenty five").
_DECIMALS = rf"(?:(?:oh|zero) )*{_NUM}(?: (?:oh|{'|'.join(_ONES[:10])}))*"
_FRACTION = rf"(?:{'|'.join(sorted(_FRACTIONS, key=len, reverse=True))})"
# A quantity: "two and a half", "three quarters", "half a", "1 1/2", "couple of", "a", "point five".
_QUANTITY = (
    rf"(?:(?:{_NUM}(?: and)? )*{_NUM}(?: point {_DECIMALS})?(?: and (?:a |an |one )?{_FRACTION})?"
    rf"(?: {_FRACTION})?(?: of)?(?: an?)?"
    rf"|(?:a |an |one )?{_FRACTION}(?: of)?(?: an?)?|(?:a )?couple(?: of)?|(?:a )?pair of"
    rf"|an?|point {_DECIMALS})"
)
_UNIT = rf"(?:{'|'.join(re.escape(u) for u in sorted(UNITS_MM, key=len, reverse=True))})"
_RANGE = r"(?: or so)? (?:or|to|by|maybe|-|–)(?: maybe| about)? "
_SIZE = re.compile(
    rf"(?<!\S)(?:(?P<low>{_QUANTITY}){_RANGE})?(?:(?P<high>{_QUANTITY}) )?(?P<unit>{_UNIT})(?!\S)"
    rf"(?: and (?:a |an )?(?P<tail>(?:{_NUM} )?{_FRACTION})(?!\S))?"
    rf"(?: by (?P<by>{_QUANTITY})(?= [.,;]|$))?"  # "nine inches by four"
    # "Three feet away", "an inch below the seam" say where something is.
    r"(?! (?:away|back|off|out|from|below|above|behind|beyond|past|ahead|inside|apart|left|right)"
    r"(?!\S))"
)
_FEET = re.compile(
    rf"(?<!\S)(?P<feet>(?:{_NUM} )*{_NUM}|a) (?:foot|feet|ft) (?:and )?"
    rf"(?P<inches>(?:{_NUM} )*{_NUM}(?: and (?:a )?{_FRACTION})?) inch(?:es)?(?!\S)"
)
_PERCENT = re.compile(
    rf"(?<!\S)(?:(?P<low>{_QUANTITY}){_RANGE})?(?P<high>{_QUANTITY}) (?:percent|per cent|%)(?!\S)"
)
_SHARE = re.compile(
    rf"(?<!\S)(?<!other )(?P<share>(?:a |an |one |(?:{_NUM}) )?(?:{_FRACTION}))"
    r" (?:of )?(?:the(?! size)|it|it's|its|that|this|each|them|'em)(?!\S)"
    r"|(?<!\S)(?:about|maybe|roughly|nearly|almost|over|only) (?P<alone>half)(?= [.,;!?]|$)"
)
_FULL = re.compile(r"(?<!\S)a (?:good|full|solid) $")
_COUNT = re.compile(
    rf"(?<!\S)(?:one , two(?P<counting>(?: , {_NUM})*)"  # "one, two, three chips", aloud
    rf"|(?:(?P<low>{_NUM}) (?:or|to|maybe) (?:maybe )?)?(?P<high>(?:{_NUM} )*{_NUM})"
    rf"|(?P<pair>(?:a )?couple(?: of)?|(?:a )?pair of|two|(?:half )?(?:a )?dozen))(?!\S)"
)


# One of them is in every length, but for figures before "in", and in every area.
_UNIT_WORDS = frozenset(unit.split(" ")[0] for unit in UNITS_MM) - {"in"}
_SHARE_WORDS = frozenset(word for name in _FRACTIONS for word in name.split(" ")) | {
    "percent", "per", "%",
}  # fmt: skip
_LONGEST_NUMBER = 80  # letters; what is longer is no number that anybody means


@dataclass(frozen=True, slots=True)
class Found:
    """An amount in a sentence's words: what it is, its value, and where (word indexes)."""

    role: str
    value: float
    start: int
    end: int


def number(text: str) -> float | None:
    """The value of a spoken or written number, fraction or mixed number; None where it is none.

    >>> number("two and a quarter"), number("three quarters"), number("1/16"), number("a couple of")
    (2.25, 0.75, 0.0625, 2.0)
    """
    text = re.sub(r"(?: of)?(?: an?)?$", "", text.strip()) or text.strip()
    if len(text) > _LONGEST_NUMBER:
        return None
    for pattern, value in _NUMBERS:
        if match := re.fullmatch(pattern, text):
            return value(match)
    try:
        return float(text2num(text.replace("thousand and ", "thousand "), "en"))
    except ValueError:
        return None


def _mixed(match: re.Match[str]) -> float | None:
    whole, part = number(match["whole"]), number(match["part"])
    return None if whole is None or part is None else whole + part


def _share(match: re.Match[str]) -> float | None:
    if (match["many"] or "").split(" ")[-1] in _TENS and not match["part"].endswith(("s", "r")):
        return None  # "twenty third"
    many = 1.0 if match["many"] is None else number(match["many"])
    return None if many is None else many * _FRACTIONS[match["part"]]


def _pointed(match: re.Match[str]) -> float | None:
    values = [number(word) for word in match["digits"].replace("oh", "zero").split(" ")]
    if len(values) > 1 and all(value is not None and value < 10 for value in values):
        digits = "".join(f"{value:.0f}" for value in values)
    else:
        value = number(match["digits"])
        digits = "" if value is None else f"{value:.0f}"
    whole = number(match["whole"] or "0")
    return None if whole is None or not digits else whole + int(digits) / 10 ** len(digits)


def _teen_hundreds(match: re.Match[str]) -> float | None:
    """ "Twelve hundred and six" is 1206; text2num reads hundreds of one digit only."""
    low = number(match["low"]) if match["low"] else 0.0
    return None if low is None else _ONES.index(match["high"]) * 100 + low


# How a number may be said, most telling first; what is in none is left to text2num.
_NUMBERS: tuple[tuple[str, Callable[[re.Match[str]], float | None]], ...] = (
    (r"an?", lambda _: 1.0),
    (r"(?:a )?(?:couple|pair)", lambda _: 2.0),
    (r"half (?:a )?dozen", lambda _: 6.0),
    (r"(?:a )?dozen", lambda _: 12.0),
    (rf"(?P<whole>.+?) and (?P<part>(?:\w+ ){{0,2}}{_FRACTION})", _mixed),
    (rf"(?:(?P<many>.+?) )??(?P<part>{_FRACTION})", _share),
    (r"(?:(?P<whole>.+?) )?point (?P<digits>.+)", _pointed),
    (
        r"(?:(?P<whole>\d+) )?(?P<part>\d+)/(?P<of>0*[1-9]\d*)",
        lambda m: int(m["whole"] or 0) + int(m["part"]) / int(m["of"]),
    ),
    (r"\d+(?:,\d{3})*(?:\.\d+)?", lambda m: float(m[0].replace(",", ""))),
    (rf"(?P<high>{'|'.join(_ONES[10:])}) hundred(?: and)?(?: (?P<low>.+))?", _teen_hundreds),
)


def find_sizes(said: Sequence[str], sizes_mm: dict[str, float]) -> list[Found]:
    """Lengths in millimetres: numbers with units, and things used as a measure."""
    text = " ".join(said)
    found = []
    measured = any(word in _UNIT_WORDS or word[0].isdigit() for word in said)
    for match in _SIZE.finditer(text) if measured else ():
        if match["unit"] == "in" and not re.search(r"\d$", (match["high"] or "").strip()):
            continue
        alone = match["high"] is None and not match["unit"].startswith("inch")
        far = text[match.end() :].startswith((" long", " wide"))  # "a good foot long"
        if alone and not far and not _FULL.search(text[: match.start()]):
            continue
        ends = [number(match[name]) for name in ("low", "high") if match[name]]
        if match["high"] and ends[-1] is None:  # "the longer one sixty millimeters"
            ends = [number(match["high"].split(" ", 1)[-1])]
        if match["unit"] in _FAR_UNITS and text[: match.start()].endswith(("at ", "from ")):
            continue  # "at thirty feet, who cares"
        values = [value for value in ends if value is not None] or [1.0]
        values.append((number(match["by"]) or 0.0) if match["by"] else 0.0)
        tail = number(match["tail"]) or 0.0 if match["tail"] else 0.0
        # "Ten mil" are millimetres, as is commonly said: of the other unit it would be "ten mils".
        many_mil = match["unit"] == "mil" and max(values) > 1
        unit_mm = 1.0 if many_mil else UNITS_MM[match["unit"]]
        if (max(values) + tail) * unit_mm <= _LONGEST_MM:
            found.append(_at(text, match, "size", (max(values) + tail) * unit_mm))
    for match in _FEET.finditer(text) if measured else ():
        feet, inches = number(match["feet"]), number(match["inches"])
        if feet is not None and inches is not None:
            value = feet * UNITS_MM["foot"] + inches * UNITS_MM["inch"]
            found.append(_at(text, match, "size", value))
    if sizes_mm:
        for match in _things(tuple(sizes_mm)).finditer(text):
            name = next(filter(None, match.group("thing", "sized", "bare", "alone")))
            share = _SHARES_OF_A_SIZE[match["share"]] if match["share"] else 1.0
            found.append(_at(text, match, "size", share * sizes_mm[name]))
    return found


def find_areas(said: Sequence[str]) -> list[Found]:
    """Areas in percent: "about ten percent of", "half of the"."""
    if _SHARE_WORDS.isdisjoint(said):
        return []
    text = " ".join(said)
    found = []
    for match in _PERCENT.finditer(text):
        ends = [number(match[name]) for name in ("low", "high") if match[name]]
        values = [value for value in ends if value is not None and value <= 100]
        if values:
            found.append(_at(text, match, "area", max(values)))
    for match in _SHARE.finditer(text):
        share = number(match["share"] or match["alone"])
        if share is not None and share <= 1:
            found.append(_at(text, match, "area", round(share * 100, 1)))
    return found


def find_counts(said: Sequence[str]) -> list[Found]:
    """Whole numbers, written or spoken, with "a couple" and ranges."""
    text = " ".join(said)
    found = []
    for match in _COUNT.finditer(text):
        if match["counting"] is not None:
            counted = match[0].split(" , ")
            if number(counted[-1]) == len(counted):
                found.append(_at(text, match, "number", len(counted)))
            continue
        value = number(match["pair"] or match["high"])
        if value is not None and value == int(value):
            low = number(match["low"]) if match["low"] else None
            found.append(_at(text, match, "number", max(value, low or 0.0)))
    return found


_SHARES_OF_A_SIZE = {"half": 0.5, "twice": 2.0}


@lru_cache
def _things(names: tuple[str, ...]) -> re.Pattern[str]:
    """The pattern of "size of a dime", "dime sized", "no bigger than a golf ball"."""
    thing = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))
    lead = (
        r"(?:(?:size|length|width|diameter) of|sized? like|as (?:big|large|long|wide) as"
        r"|about like|bigger than|larger than|longer than|smaller than|wider than"
        r"|(?:big|large|long) as|no more than|like|(?:footprint|area) of"
        r"|(?:cover|covered|hide|conceal)(?: it| that| them| itself)? (?:with|by|under|beneath))"
        r" (?:(?:about|maybe|roughly) )?(?:a |an |the |your |my )?"
    )
    return re.compile(
        rf"(?<!\S)(?:(?:(?P<share>half|twice) the )?{lead}(?P<thing>(?:{thing}))s?"
        rf"|(?P<sized>(?:{thing})) (?:sized?|shaped|long|wide|sort of sized?|would (?:hide|cover))"
        rf"|(?:about|maybe|roughly|call it|call that|say|probably|perhaps) an?"
        rf" (?P<bare>(?:{thing}))"
        rf"|(?<=, )(?P<alone>(?:{thing}))(?= [.,;]|$))(?!\S)"  # "a dent, golf ball"
    )


def _at(text: str, match: re.Match[str], role: str, value: float) -> Found:
    start = text.count(" ", 0, match.start())
    return Found(role, round(value, 4), start, start + match[0].count(" ") + 1)


@Language.component("amounts", requires=["doc._.items"], assigns=["doc._.items"])
def amounts(doc: Doc) -> Doc:
    """Joins the words of each amount to one item of role `size`, `area` or `number`."""
    # Named as the talk is cut: "driver's license" is three tokens.
    sizes_mm = {" ".join(pieces(name)): mm for name, mm in doc._.lexicon.sizes_mm.items()}
    doc._.items = [_joined(row, sizes_mm) for row in doc._.items]
    return doc


def _joined(row: list[Item], sizes_mm: dict[str, float]) -> list[Item]:
    said = [item.text.replace(" ", "_") for item in row]
    openers = _openers(tuple(sizes_mm))
    if not any(word in openers or word[0].isdigit() for word in said):
        return row
    found = sorted(_apart(row, said, sizes_mm), key=lambda amount: amount.start)
    joined: list[Item] = []
    index = 0
    for amount in found:
        first, last = row[amount.start], row[amount.end - 1]
        text = " ".join(item.text for item in row[amount.start : amount.end])
        joined += row[index : amount.start]
        joined.append(Item(amount.role, repr(amount.value), first.start, last.end, text))
        index = amount.end
    return joined + row[index:]


def _apart(row: Sequence[Item], said: Sequence[str], sizes_mm: dict[str, float]) -> Iterator[Found]:
    """The amounts of a row that do not overlap: the longest measures first, then counts."""
    taken: set[int] = set()
    measures = [*find_areas(said), *find_sizes(said, sizes_mm)]
    measures.sort(key=lambda found: found.start - found.end)
    for found in [*measures, *find_counts(said)]:
        span = range(found.start, found.end)
        solid = any(  # an idiom, "half the time", measures nothing
            row[i].role in ("part", "defect", "side", "position") or row[i].id == "~" for i in span
        )
        if not solid and taken.isdisjoint(span) and not _is_pronoun(said, found):
            taken.update(span)
            yield found


@lru_cache
def _openers(things: tuple[str, ...]) -> frozenset[str]:
    """The words one of which every amount in words has; "in" is a unit only after digits."""
    first_words = {thing.split(" ")[0] for thing in things}
    units = UNITS_MM.keys() - {"in"}
    return NUMBER_WORDS | units | {*_FRACTIONS, "couple", "pair", "dozen", *first_words}


_BEFORE_ONE = words(
    "this that the other left right front rear which each every any no another same bottom top "
    "first second last next big little small"
)
_AFTER_ONE = words("on of in is has here there thing more other that off from with")


def _is_pronoun(said: Sequence[str], found: Found) -> bool:
    """Whether "one" stands for a thing ("this one", "the left one"), not for a number."""
    if said[found.start : found.end] != ["one"]:
        return False
    if found.end == len(said) or not said[found.end][0].isalpha():
        return True
    before = said[found.start - 1] if found.start else ""
    return before in _BEFORE_ONE or said[found.end].split("_")[0] in _AFTER_ONE
